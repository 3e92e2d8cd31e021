"""The desk's pages over HTTP: who gets in, what a form must carry, what stays text."""

import http.client
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from urllib.parse import urlencode

import html5lib
import openpyxl
import pytest

from scheduler.desk.links import KEY_FILE, links_in
from scheduler.desk.web import MOST_BYTES, policy_of
from scheduler.holding import read_holding
from scheduler.pages import drawn_pages, owner_pages
from scheduler.reasons import SeasonPlan
from tests.sites import AS_OF, edit, new_site, planned
from tests.ways_out.servers import OwnServer, serving

HOSTILE = "</title><script>alert('x')</script><img src=//evil.example/x>"


@dataclass(frozen=True)
class Reply:
    status: int
    headers: Mapping[str, str]
    text: str
    cookie: str  # what the reader would send from now on; empty where none was set


def ask(
    own: OwnServer,
    path: str,
    form: Mapping[str, str] | None = None,
    *,
    cookie: str = "",
    method: str = "",
    body: bytes | None = None,
) -> Reply:
    connection = http.client.HTTPConnection("127.0.0.1", own.port, timeout=60)
    sent = urlencode(form).encode() if form is not None else body
    headers = {"Cookie": cookie} if cookie else {}
    connection.request(method or ("GET" if sent is None else "POST"), path, sent, headers)
    reply = connection.getresponse()
    told = dict(reply.getheaders())
    text = reply.read().decode()
    connection.close()
    return Reply(reply.status, told, text, told.get("set-cookie", "").partition(";")[0])


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OwnServer]:
    """The desk of a small site as on the home network."""
    top = tmp_path_factory.mktemp("desk")
    site = new_site(top / "site")
    (top / "calendars").mkdir()
    with serving(top / "calendars", site=site) as own:
        own.desk.write_again()
        yield own


@pytest.fixture(scope="module")
def cookie(server: OwnServer) -> str:
    return ask(server, f"/{server.links.desk}/").cookie


def token_in(reply: Reply) -> str:
    found = re.search(r'name="token" value="([^"]+)"', reply.text)
    assert found is not None
    return found[1]


def fields_of(reply: Reply) -> dict[str, str]:
    """The hidden fields of the form that keeps a change."""
    pairs = re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', reply.text)
    return {name: unescape(value) for name, value in pairs}


def test_without_the_private_link_there_is_nothing(server: OwnServer) -> None:
    for path in ("/", "/index.html", "/happened.html", "/season.svg", "/season.json", "/x/"):
        reply = ask(server, path)
        assert (reply.status, reply.text, reply.cookie) == (404, "", ""), path
    assert ask(server, "/index.html", cookie=f"{server.links.cookie}=a.b").status == 404
    assert server.links.token("desk") != server.links.desk, "a calendar of that name is none"


def test_the_private_link_begins_a_session_that_scripts_and_other_sites_cannot_use(
    server: OwnServer,
) -> None:
    reply = ask(server, f"/{server.links.desk}/")
    assert (reply.status, reply.headers["location"]) == (303, "/")
    assert {"HttpOnly", "SameSite=lax"} <= set(reply.headers["set-cookie"].split("; "))
    assert ask(server, "/", cookie=reply.cookie).status == 200
    restarted = links_in(server.desk.calendars)
    assert restarted.is_session(reply.cookie.partition("=")[2]), "it outlasts a restart"


def test_new_links_end_the_old_ones(tmp_path: Path) -> None:
    old = links_in(tmp_path)
    session = old.new_session()
    assert links_in(tmp_path) == old
    new = links_in(tmp_path, renew=True)
    assert not new.is_session(session)
    assert new.desk != old.desk
    assert new.token("work") != old.token("work")
    assert links_in(tmp_path) == new


def test_the_key_is_for_its_owner_alone(server: OwnServer) -> None:
    assert (server.desk.calendars / KEY_FILE).stat().st_mode & 0o077 == 0


def test_every_page_of_the_desk_is_valid_html_under_a_strict_policy(
    server: OwnServer, cookie: str
) -> None:
    names = [f"{name}.html" for name in owner_pages(server.desk.plan())]
    assert len(names) > 15
    for name in ("happened.html", "stock.html", *names[:9]):
        reply = ask(server, f"/{name}", cookie=cookie)
        assert reply.status == 200, name
        html5lib.HTMLParser(strict=True).parse(reply.text)
        policy = reply.headers["content-security-policy"]
        assert policy == policy_of(reply.text.encode())
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert "script" not in policy
        assert reply.headers["cache-control"] == "private, no-cache"
    assert ask(server, "/index.json", cookie=cookie).text.startswith("{")
    assert ask(server, "/season.svg", cookie=cookie).text.startswith("<svg")


def test_no_page_has_a_style_that_the_policy_would_stop(branasol: SeasonPlan) -> None:
    pages = drawn_pages(owner_pages(branasol))
    assert len(pages) > 40
    for page in pages:
        assert b' style="' not in page.html, page.name
        assert page.html.count(b"<style>") == 1, page.name


def test_a_form_of_another_page_is_refused(server: OwnServer, cookie: str) -> None:
    """A page elsewhere can post, but knows no token; another session's is none of this one."""
    form = {"kind": "rain", "first": "2027-09-01"}
    good = token_in(ask(server, "/happened.html", cookie=cookie))
    other = ask(server, f"/{server.links.desk}/").cookie
    assert other != cookie
    before = {p: p.read_bytes() for p in server.desk.folder.iterdir()}
    for path in ("/try", "/keep", "/write"):
        assert ask(server, path, form, cookie=cookie).status == 403
        assert ask(server, path, {**form, "token": "x"}, cookie=cookie).status == 403
        assert ask(server, path, {**form, "token": good}, cookie=other).status == 403
        refused = ask(server, path, {**form, "token": good})
        assert refused.status == 403
        assert "load its page again" in refused.text
    assert {p: p.read_bytes() for p in server.desk.folder.iterdir()} == before
    assert ask(server, "/try", {**form, "token": good}, cookie=cookie).status == 200


def test_forms_that_are_none_or_too_large_are_refused(server: OwnServer, cookie: str) -> None:
    assert ask(server, "/try", body=b"\xff\xfe", cookie=cookie).status == 400
    assert ask(server, "/try", body=b"a" * (MOST_BYTES + 1), cookie=cookie).status == 413
    many = b"&".join(b"a=1" for _ in range(60_000))
    assert ask(server, "/try", body=many, cookie=cookie).status == 400
    token = token_in(ask(server, "/happened.html", cookie=cookie))
    assert ask(server, "/elsewhere", {"token": token}, cookie=cookie).status == 404


def test_what_is_unclear_comes_back_in_words_and_as_text(server: OwnServer, cookie: str) -> None:
    token = token_in(ask(server, "/happened.html", cookie=cookie))
    form = {"token": token, "kind": "away", "person": HOSTILE}
    reply = ask(server, "/try", form, cookie=cookie)
    assert reply.status == 422
    assert "Nobody of the crew is called" in reply.text
    assert "<script" not in reply.text
    assert "<img" not in reply.text
    form = {"token": token, "kind": "rain", "first": "2027-09-01", "why": HOSTILE, HOSTILE: "x"}
    reply = ask(server, "/try", form, cookie=cookie)
    assert reply.status == 200
    assert "<script" not in reply.text
    html5lib.HTMLParser(strict=True).parse(reply.text)


def test_a_calendar_and_a_persons_pages_need_their_own_link_alone(server: OwnServer) -> None:
    plan = server.desk.plan()
    name = plan.placed.holding.crew.person[-1].name
    feed = next(p.stem for p in server.desk.calendars.glob("person-*.ics"))
    front = ask(server, server.link(feed))
    assert front.status == 200
    assert front.cookie == ""
    assert f"{server.link(feed)}{feed}.ics" in front.text
    days = re.findall(r'href="(day-[\d-]+\.html)"', front.text)
    assert days, name
    assert ask(server, server.link(feed) + days[0]).status == 200
    for path in ("season.html", "happened.html", "stock.html", "work.ics", "plot-first-plot.html"):
        assert ask(server, server.link(feed) + path).status == 404, path
    assert ask(server, server.link("work") + "index.html").status == 404
    assert 'method="post"' not in front.text


def test_the_front_page_gives_each_calendar_its_private_address(
    server: OwnServer, cookie: str
) -> None:
    text = ask(server, "/", cookie=cookie).text
    names = sorted(path.stem for path in server.desk.calendars.glob("*.ics"))
    assert len(names) >= 5
    for name in names:
        address = f"http://127.0.0.1:{server.port}{server.link(name)}{name}.ics"
        assert address in text
        assert ask(server, f"{server.link(name)}{name}.ics").status == 200
    assert "Test Hill (invented): work" in text


def test_a_change_kept_by_somebody_else_is_shown_anew_and_nothing_is_lost(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    (tmp_path / "calendars").mkdir()
    with serving(tmp_path / "calendars", site=site, open_to_all=True) as own:
        cookies = [ask(own, "/").cookie for _ in range(2)]
        answers = []
        for day, cookie in zip(("2027-03-02", "2027-03-03"), cookies, strict=True):
            token = token_in(ask(own, "/happened.html", cookie=cookie))
            form = {"token": token, "kind": "rain", "first": day}
            answers.append(fields_of(ask(own, "/try", form, cookie=cookie)))
        first = ask(own, "/keep", answers[0], cookie=cookies[0])
        assert (first.status, first.headers["location"]) == (303, "/happened.html")
        second = ask(own, "/keep", answers[1], cookie=cookies[1])
        assert second.status == 409
        assert "changed meanwhile" in second.text
        again = ask(own, "/keep", fields_of(second), cookie=cookies[1])
        assert again.status == 303
        twice = ask(own, "/keep", answers[0], cookie=cookies[0])
        assert twice.status == 422, "a second tap keeps nothing twice"
        closed = [c.first.day for c in read_holding(site, AS_OF).plan.says.closed]
        assert closed == [2, 3]
        kept = ask(own, "/happened.html", cookie=cookies[0]).text
        assert kept.count("<h2>Kept ") == 2


def test_files_with_faults_are_told_on_the_page(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    (tmp_path / "calendars").mkdir()
    with serving(tmp_path / "calendars", site=site, open_to_all=True) as own:
        edit(site, "site.toml", 'id = "test-hill"', 'id = "Test <b>Hill"')
        reply = ask(own, "/")
        assert reply.status == 503
        assert "site.toml" in reply.text
        assert "<b>Hill" not in reply.text


def test_hostile_names_stay_text_on_the_desk(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    edit(site, "site.toml", 'name = "Test Hill (invented)"', f'name = "{HOSTILE}"')
    edit(site, "plots.toml", 'name = "First plot"', f'name = "{HOSTILE}"')
    edit(site, "crew.toml", 'name = "Ilka"', f'name = "{HOSTILE}"')
    assert planned(site).placed.holding.site.name == HOSTILE
    (tmp_path / "calendars").mkdir()
    with serving(tmp_path / "calendars", site=site, open_to_all=True) as own:
        for name in ("index", "happened", "stock", "season", "plot-first-plot"):
            text = ask(own, f"/{name}.html").text
            assert "evil.example" in text or name == "stock"
            assert "<script" not in text
            assert "<img" not in text


def test_a_fault_of_the_program_is_owned_up_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "calendars").mkdir()
    lines: list[str] = []
    site = new_site(tmp_path / "site")
    with serving(tmp_path / "calendars", log=lines.append, site=site, open_to_all=True) as own:
        monkeypatch.setattr(own.desk, "waiting", lambda: 1 / 0)
        reply = ask(own, "/")
    assert reply.status == 500
    assert "a fault of scheduler, not of your files: ZeroDivisionError" in reply.text
    assert lines == ["GET 500: " + reply.text.removeprefix("This is ").removesuffix(".")]


def test_a_stock_in_a_workbook_is_edited_where_it_is(tmp_path: Path) -> None:
    site = new_site(tmp_path / "site")
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (("plot", "plant", "count"), ("first-plot", "apple", 4)):
        sheet.append(row)
    book.save(site / "stock.xlsx")
    (site / "stock.csv").unlink()
    (tmp_path / "calendars").mkdir()
    with serving(tmp_path / "calendars", site=site, open_to_all=True) as own:
        front = ask(own, "/")
        assert front.status == 200
        assert "stock.html" not in front.text
        assert ask(own, "/stock.html").status == 404
