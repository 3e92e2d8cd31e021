"""A small server of feeds for the home network and for trial; not for the open internet.

What it sends stands in ``feed_app``; here is what needs neither of the libraries that serve,
since the other commands do not load them.
"""

import socket
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

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


def server_of(root: Path, host: str, log: Callable[[str], None]) -> "uvicorn.Server":
    """A server of a folder, ready to ``run`` on a socket that listens at ``host``.

    ``log`` takes one line for each request, from any thread.
    """
    import uvicorn

    from scheduler.ways_out.feed_app import HEADERS, FeedProtocol, application

    config = uvicorn.Config(
        application(root, host, log),
        http=FeedProtocol,
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
