"""What workers are given in tests: jobs that end badly, importable by other processes."""

import os
import signal
import time
from pathlib import Path

from scheduler.many import SiteJob, SiteOutcome
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
