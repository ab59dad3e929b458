"""Secrets: read where they lie when they are needed, kept out of everything that is shown."""

from __future__ import annotations

import base64
import os
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import quote

from vault.model.errors import Unreadable

if TYPE_CHECKING:
    from vault.model.alert_channels import Secret

_LARGEST = 1 << 16


class Secrets:
    """Reads secrets from the environment and from files outside a vault.

    `folders` are those below which channels may write. It remembers what it read, so that
    `redacted` can take it out of a text again.
    """

    def __init__(
        self,
        vault: Path,
        environment: Mapping[str, str] | None = None,
        folders: Collection[Path] = (),
    ) -> None:
        self.vault, self._folders = vault, folders
        self._environment = os.environ if environment is None else environment
        self._read: set[str] = set()

    def read(self, secret: Secret) -> str:
        """The secret itself. Raises Unreadable, naming the place and never the content."""
        if secret.env is not None:
            place = f"the environment variable {secret.env}"
            content = self._environment.get(secret.env)
            if content is None:
                raise Unreadable(f"{place} is not set where alerts are sent")
        else:
            place = f"the secret's file {secret.file}"
            content = self._in_file(Path(secret.file or ""), place)
        content = content.strip()
        if not content:
            raise Unreadable(f"{place} is empty")
        if not content.isprintable():
            raise Unreadable(f"{place} holds more than one line of text")
        self._read.add(content)
        return content

    def _in_file(self, path: Path, place: str) -> str:
        path = path.expanduser()
        if not path.is_absolute():
            raise Unreadable(f"{place}: write the whole path, from the root")
        if self.holds(path):
            raise Unreadable(f"{place} lies in the vault, where everybody may read it; move it out")
        try:
            with path.open("rb") as file:
                return file.read(_LARGEST).decode("utf-8-sig")
        except OSError as error:
            raise Unreadable(f"{place} cannot be read: {error.strerror}") from error
        except UnicodeDecodeError:
            raise Unreadable(f"{place} is not UTF-8 text") from None

    def may_write(self, path: Path) -> bool:
        """Say whether a path lies below a folder that was named here, links followed."""
        place = path.resolve()
        return any(place.is_relative_to(folder) for folder in self._folders)

    def holds(self, path: Path) -> bool:
        """Say whether a path leads into the vault, links followed."""
        return path.resolve().is_relative_to(self.vault.resolve())

    def redacted(self, text: str) -> str:
        """The text with everything that was read as a secret taken out, in plain or encoded."""
        for secret in sorted(self._read.copy(), key=len, reverse=True):
            encoded = base64.b64encode(secret.encode()).decode().rstrip("=")
            for form in (secret, quote(secret, safe=""), quote(secret), encoded):
                text = text.replace(form, "***")
        return text
