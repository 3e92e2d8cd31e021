"""Private links and sessions of the desk, from one secret key that outlasts a restart.

Whoever knows a link has what it leads to, and nothing else. No link can be worked out from
another: each is a keyed digest of what it leads to (HMAC, RFC 2104).
"""

import hmac
import secrets
from base64 import urlsafe_b64encode
from dataclasses import dataclass
from pathlib import Path

from scheduler.files import PRIVATE_FILE, locked, write_whole

KEY_FILE = ".desk-key"
KEY_BYTES = 32
TOKEN_BYTES = 24  # 192 bits, 32 letters


@dataclass(frozen=True)
class Links:
    """What follows from the key."""

    key: bytes

    def token(self, leads_to: str) -> str:
        """The part of a private link that names a calendar."""
        return self._digest("link", leads_to)

    @property
    def desk(self) -> str:
        """The part of the private link of the desk; no calendar can have the same."""
        return self._digest("desk", "")

    @property
    def cookie(self) -> str:
        """Name of the cookie: desks of several sites on one machine keep their sessions apart."""
        return f"desk-{self._digest('cookie', '')[:8]}"

    def new_session(self) -> str:
        """A session for one more reader."""
        name = secrets.token_urlsafe(TOKEN_BYTES)
        return f"{name}.{self._digest('session', name)}"

    def is_session(self, told: str) -> bool:
        """Whether the desk has begun a session."""
        name, _, proof = told.partition(".")
        return _same(proof, self._digest("session", name))

    def form_token(self, session: str) -> str:
        """What a form of a session carries, so that no other page can post in its name."""
        return self._digest("form", session)

    def is_form_token(self, told: str, session: str) -> bool:
        """Whether a form came from a page of that session."""
        return _same(told, self.form_token(session))

    def _digest(self, use: str, of: str) -> str:
        digest = hmac.digest(self.key, f"{use} {of}".encode(), "sha256")
        return urlsafe_b64encode(digest[:TOKEN_BYTES]).decode()


def _same(told: str, known: str) -> bool:
    return hmac.compare_digest(told.encode(), known.encode())


def links_in(folder: Path, *, renew: bool = False) -> Links:
    """The links of a site, whose key lies beside its calendars; it is made where there is none.

    Args:
        folder: of the calendars; must exist.
        renew: end all links and sessions that were given out.

    Raises:
        BusyError: another program keeps writing there.
        OSError: the key cannot be read or written.
    """
    path = folder / KEY_FILE
    with locked(folder):
        key = b"" if renew or not path.exists() else path.read_bytes()
        if len(key) != KEY_BYTES:
            key = secrets.token_bytes(KEY_BYTES)
            write_whole(path, key, PRIVATE_FILE)
    return Links(key)
