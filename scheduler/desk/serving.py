"""A small server for this machine and the home network; not for the open internet.

What it sends stands in ``web``; here is what needs neither of the libraries that serve, since
the other commands do not load them.
"""

import socket
from collections.abc import Callable
from typing import TYPE_CHECKING

from scheduler.desk.links import Links
from scheduler.desk.site_desk import SiteDesk

if TYPE_CHECKING:
    import uvicorn


def listening(host: str, port: int) -> socket.socket:
    """A socket that waits for readers.

    Args:
        host: name or address to listen at; of ``LOOPBACK`` for this machine alone.
        port: 0 takes any that is free.

    Raises:
        OSError: the port is taken, or the host is none of this machine.
        ValueError: the host cannot be a name.
    """
    door = socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET)
    try:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind((host, port))
        door.listen()
    except (OSError, ValueError):
        door.close()
        raise
    return door


def server_of(
    desk: SiteDesk, links: Links, host: str, log: Callable[[str], None], *, open_to_all: bool
) -> "uvicorn.Server":
    """The desk, ready to ``run`` on a socket that listens at ``host``.

    ``log`` takes one line for each request, from any thread. Whoever asks may have a session
    where it is open to all; else the private link of the desk is needed.
    """
    import uvicorn

    from scheduler.desk.web import HEADERS, DeskProtocol, application

    config = uvicorn.Config(
        application(desk, links, host, log, open_to_all=open_to_all),
        http=DeskProtocol,
        ws="none",
        lifespan="off",
        loop="asyncio",
        log_config=None,
        log_level="critical",  # the library's own log names addresses
        access_log=False,
        server_header=False,
        headers=HEADERS,
        timeout_graceful_shutdown=1,
    )
    return uvicorn.Server(config)
