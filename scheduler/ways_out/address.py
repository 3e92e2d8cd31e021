"""Web addresses: as people type them, checked; where our own server is found."""

import ipaddress
import re
import socket

import httpx

from scheduler.words import clean

LOOPBACK = ("127.0.0.1", "::1", "localhost")
EVERYWHERE = ("", "0.0.0.0", "::")  # noqa: S104  # what listens on every network
MAX_SHOWN = 100  # characters of an address that a refusal repeats
_NAME = re.compile(r"(?=.{1,253}$)[a-z0-9_-]{1,63}(\.[a-z0-9_-]{1,63})*\.?")  # RFC 1123 2.1


def web_address(text: str) -> httpx.URL:
    """An address of a host and a path, with other letters encoded (RFC 3986, RFC 5891).

    Raises:
        ValueError: it is none, in words for the person who typed it.

    >>> str(web_address("https://example.org/Uxía/"))
    'https://example.org/Ux%C3%ADa/'
    """
    # what may hold a password is not repeated
    shown = "the address" if "@" in text else repr(clean(text, MAX_SHOWN, lines=False))
    try:
        url = httpx.URL(text)
    except (httpx.InvalidURL, ValueError) as error:
        raise ValueError(f"{shown} is no web address that can be read") from error
    if url.scheme not in ("http", "https") or not url.host:
        raise ValueError(f"{shown} is no web address; write it as https://example.org/calendar/")
    if url.userinfo:
        raise ValueError(
            "the address has more in it than a host and a path: a user or password; "
            "give them apart from it"
        )
    if url.query or url.fragment or re.search(r"[\s<>\"'?#\\]", text):
        raise ValueError(f"{shown} has more in it than a host and a path")
    if not _is_host(url.raw_host.decode("ascii")):
        raise ValueError(f"{shown} is no web address: there can be no such host")
    if url.port is not None and not 0 < url.port < 2**16:
        raise ValueError(f"{shown} is no web address: ports go from 1 to 65535")
    return url


def _is_host(host: str) -> bool:
    try:
        return bool(ipaddress.ip_address(host))
    except ValueError:
        return _NAME.fullmatch(host) is not None


def address_of(host: str, port: int) -> str:
    """Where readers find the server; one that listens everywhere by its address at home.

    >>> address_of("::1", 8008), address_of("10.0.0.7", 8008)
    ('http://[::1]:8008/', 'http://10.0.0.7:8008/')
    """
    name = home_address() if host in EVERYWHERE else f"[{host}]" if ":" in host else host
    return f"http://{name}:{port}/"


def home_address() -> str:
    """The address under which others at home find this machine; its name where it has none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as door:
            door.connect(("192.0.2.1", 9))  # chooses a way out; nothing is sent (RFC 5737)
            return str(door.getsockname()[0])
    except OSError:
        return socket.gethostname()
