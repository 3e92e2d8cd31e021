"""A keyring of the ``keyring`` library that keeps its passwords in a file, for the tests."""

import json
import os
from pathlib import Path

from keyring.backend import KeyringBackend


class FileKeyring(KeyringBackend):
    """Chosen by ``PYTHON_KEYRING_BACKEND``; its file by ``KEY_FILE``."""

    priority = 1  # the library asks of each keyring whether it can be used

    def _all(self) -> dict[str, str]:
        path = Path(os.environ["KEY_FILE"])
        kept: dict[str, str] = json.loads(path.read_text("utf-8")) if path.exists() else {}
        return kept

    def get_password(self, service: str, username: str) -> str | None:
        return self._all().get(f"{service}/{username}")

    def set_password(self, service: str, username: str, password: str) -> None:
        kept = self._all() | {f"{service}/{username}": password}
        Path(os.environ["KEY_FILE"]).write_text(json.dumps(kept), encoding="utf-8")

    def delete_password(self, service: str, username: str) -> None:
        raise NotImplementedError
