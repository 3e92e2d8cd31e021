"""What workers are given in tests: jobs that end badly, importable by other processes."""

import os
import signal
import sys
import threading
import time
from datetime import UTC, datetime
from pathlib import Path

from scheduler.many import SiteJob, SiteOutcome, outcomes_here
from scheduler.many.site_job import done


def killed_where_it_says_so(job: SiteJob) -> SiteOutcome:
    """Die in the middle, for sites whose folder is named so; else an outcome at once."""
    if "deadly" in job.folder.name:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.05)
    return SiteOutcome(str(job.folder), 0, "done")


def killed_once(job: SiteJob) -> SiteOutcome:
    """Die the first time that a site is tried; a file beside it remembers."""
    mark = Path(f"{job.folder}.tried")
    if not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return done(job)


def raises_where_it_says_so(job: SiteJob) -> SiteOutcome:
    """Raise, for sites whose folder is named so; a job should never do that."""
    if job.folder.name == "odd":
        raise RuntimeError("odd")
    return SiteOutcome(str(job.folder), 0, "done")


def waits_for_ever(job: SiteJob) -> SiteOutcome:
    """Say in a file which process does it, and never end."""
    mark = job.folder / "mark"
    mark.write_text(str(os.getpid()), encoding="utf-8")
    mark.rename(job.folder / "begun")
    threading.Event().wait()
    raise AssertionError("nobody ends this wait")


if __name__ == "__main__":
    where = Path(sys.argv[1])
    now = datetime(2027, 2, 1, tzinfo=UTC)
    waiting = SiteJob("check", where, now.date(), where, now, limit_s=600.0)
    list(outcomes_here([waiting], 1, waits_for_ever))
