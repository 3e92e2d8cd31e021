"""Pages in a folder: what is ours is kept up to date, what is not is never touched."""

from collections.abc import Sequence
from pathlib import Path

import pytest

from scheduler.files import SHARED_FILE
from scheduler.pages import Page, drawn_pages, owner_pages, season_picture
from scheduler.reasons import SeasonPlan
from scheduler.ways_out import ForeignPageError
from scheduler.ways_out.page_files import write_page_files


@pytest.fixture
def pages(klipskadu: SeasonPlan) -> tuple[Page, ...]:
    return drawn_pages(owner_pages(klipskadu))


def write_pages(pages: Sequence[Page], picture: bytes, folder: Path) -> int:
    return write_page_files(pages, {"season.svg": picture}, folder, SHARED_FILE)


def test_pages_are_written_once_and_then_left_as_they_are(
    klipskadu: SeasonPlan, pages: tuple[Page, ...], tmp_path: Path
) -> None:
    picture = season_picture(klipskadu)
    assert write_pages(pages, picture, tmp_path) == 2 * len(pages) + 1
    stamps = {path: path.stat().st_mtime_ns for path in tmp_path.iterdir()}
    assert write_pages(pages, picture, tmp_path) == 0
    assert {path: path.stat().st_mtime_ns for path in tmp_path.iterdir()} == stamps


def test_pages_of_plots_and_days_that_are_gone_go(
    klipskadu: SeasonPlan, pages: tuple[Page, ...], tmp_path: Path
) -> None:
    picture = season_picture(klipskadu)
    write_pages(pages, picture, tmp_path)
    kept = [page for page in pages if page.name not in ("plot-vlei", pages[-1].name)]
    assert len(kept) == len(pages) - 2
    write_pages(kept, picture, tmp_path)
    names = {f"{page.name}{end}" for page in kept for end in (".html", ".json")}
    assert {path.name for path in tmp_path.iterdir()} == names | {"season.svg"}


@pytest.mark.parametrize("name", ["index.html", "season.json", "season.svg"])
def test_what_somebody_else_put_there_is_never_touched(
    name: str, klipskadu: SeasonPlan, pages: tuple[Page, ...], tmp_path: Path
) -> None:
    mine = [tmp_path / name, tmp_path / "day-2027-05-01.txt", tmp_path / "day-2020-01-01.html"]
    for path in mine:
        path.write_text("my own", encoding="utf-8")
    with pytest.raises(ForeignPageError, match=name):
        write_pages(pages, season_picture(klipskadu), tmp_path)
    assert sorted(tmp_path.iterdir()) == sorted(mine)
    mine[0].unlink()
    write_pages(pages, season_picture(klipskadu), tmp_path)
    assert [path.read_text(encoding="utf-8") for path in mine[1:]] == ["my own", "my own"]
