"""A question to a service that is slow, cut off, out of order, elsewhere, or too large."""

import gzip
import socket
import time
from importlib.metadata import version

import pytest

from scheduler.fetched import Asker, FetchError
from tests.fetched.services import (
    Answer,
    Weather,
    broken_off,
    http,
    one_line,
    slow,
    trickling,
    weather,
)

FINE = http(200, '{"fine": 1}')


def asked(service: Weather, **patience: object) -> bytes:
    with service.asker(**patience) as ask:
        return ask.get(ask.search, {"q": "a,b"}).content


def refused(service: Weather, **patience: object) -> str:
    with pytest.raises(FetchError) as error:
        asked(service, **patience)
    return one_line(str(error.value))


def test_the_public_addresses_are_encrypted() -> None:
    with Asker() as ask:
        assert ask.search == "https://www.ncei.noaa.gov/access/services/search/v1/data"
        assert ask.values == "https://www.ncei.noaa.gov/access/services/data/v1"
        assert ask.forecast == "https://api.met.no/weatherapi/locationforecast/2.0/compact"


def test_who_asks_is_said_and_no_proxy_is_taken_from_the_environment(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for name in ("http_proxy", "HTTP_PROXY", "ALL_PROXY", "all_proxy"):
        monkeypatch.setenv(name, "http://127.0.0.1:9")  # where nothing listens
    with weather({"/search": [FINE]}) as service:
        assert asked(service) == b'{"fine": 1}'
        (question,) = service.questions("/search")
    assert (
        question["user-agent"]
        == f"scheduler/{version('scheduler')} (open-source; contact in readme)"
    )
    assert question["q"] == "a,b"


@pytest.mark.parametrize("status", [400, 401, 403, 404, 410])
def test_what_is_refused_is_not_asked_again(status: int) -> None:
    with weather({"/search": [http(status, "<html>no</html>"), FINE]}) as service:
        assert f"answers {status}" in refused(service)
        assert len(service.heard) == 1
    assert service.slept == []


@pytest.mark.parametrize("status", [429, 500, 503])
def test_it_waits_and_asks_again_where_that_may_help(status: int) -> None:
    with weather({"/search": [http(status), http(status), FINE]}) as service:
        assert asked(service) == b'{"fine": 1}'
    assert service.slept == [2.0, 8.0]


@pytest.mark.parametrize(("status", "words"), [(429, "too many questions"), (502, "out of order")])
def test_it_gives_up_in_plain_words(status: int, words: str) -> None:
    with weather({"/search": [http(status)]}) as service:
        assert words in refused(service)
        assert len(service.heard) == 3


def test_a_service_may_say_how_long_to_wait_but_not_for_ever() -> None:
    with weather({"/search": [http(429, Retry_After="20"), FINE]}) as service:
        assert asked(service) == b'{"fine": 1}'
    assert service.slept == [20.0]
    with weather({"/search": [http(429, Retry_After="86400"), FINE]}) as service:
        assert "too many questions" in refused(service)
    assert service.slept == []


def test_a_slow_service_is_waited_for_three_times() -> None:
    with weather({"/search": [slow(0.5)]}) as service:
        assert "no whole answer in time" in refused(service, read_s=0.1)
        assert len(service.heard) == 3
    assert service.slept == [2.0, 8.0]


@pytest.mark.parametrize("answer", [trickling, slow(5.0)])
def test_all_questions_have_a_deadline_together(answer: Answer) -> None:
    begin = time.monotonic()
    with weather({"/search": [answer]}) as service:
        assert "no whole answer in time" in refused(service, all_s=0.5)
    assert time.monotonic() - begin < 3


@pytest.mark.parametrize(
    "answer",
    [
        broken_off('{"fine"'),
        b"",
        b"nonsense\r\n\r\n",
        http(200, "x" * 50, Content_Encoding="gzip"),
    ],
)
def test_an_answer_that_breaks_off_is_asked_for_again(answer: bytes) -> None:
    with weather({"/search": [answer, FINE]}) as service:
        assert asked(service) == b'{"fine": 1}'
    with weather({"/search": [answer]}) as service:
        assert "broke off its answer" in refused(service)
        assert len(service.heard) == 3


def test_a_packed_answer_is_unpacked() -> None:
    packed = http(200, gzip.compress(b"values"), Content_Encoding="gzip")
    with weather({"/search": [packed]}) as service:
        assert asked(service) == b"values"


@pytest.mark.parametrize("packed", [False, True])
def test_an_answer_that_is_far_too_large_is_not_read_to_its_end(packed: bool) -> None:
    body = bytes(3_000_000)
    huge = http(200, gzip.compress(body), Content_Encoding="gzip") if packed else http(200, body)
    with weather({"/search": [huge]}) as service:
        assert "more than 1000000 bytes" in refused(service, most_bytes=1_000_000)
        assert len(service.heard) == 1


def test_a_redirect_within_the_host_is_followed() -> None:
    with weather({"/search": [http(301, Location="/values?q=1")], "/values": [FINE]}) as service:
        assert asked(service) == b'{"fine": 1}'


def test_a_redirect_to_another_place_is_not_followed() -> None:
    with weather({"/": [FINE]}) as other:
        for place in (f"{other.url}/", "//example.org/", "ftp://127.0.0.1/", "https://127.0.0.1/"):
            with weather({"/search": [http(302, Location=place)]}) as service:
                assert "sends to another place" in refused(service)
        assert len(other.heard) == 0


def test_redirects_in_a_circle_come_to_an_end() -> None:
    with weather({"/search": [http(302, Location="/search")]}) as service:
        assert "without end" in refused(service)
        assert len(service.heard) == 4


def test_without_a_network_there_is_one_plain_line_at_once() -> None:
    with socket.create_server(("127.0.0.1", 0)) as door:
        port = door.getsockname()[1]
    with Asker(search=f"http://127.0.0.1:{port}/") as ask, pytest.raises(FetchError) as error:
        ask.get(ask.search, {})
    assert "127.0.0.1 cannot be reached; is there a network?" in one_line(str(error.value))


def test_unchanged_is_an_answer_only_to_who_asked_for_changes() -> None:
    with weather({"/search": [http(304)]}) as service:
        assert "answers 304" in refused(service)
        with service.asker() as ask:
            assert ask.get(ask.search, {}, {"If-Modified-Since": "x"}).status == 304
