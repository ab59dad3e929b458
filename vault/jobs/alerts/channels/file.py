"""File: one JSON line after the other, for whatever collects log files."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.alerts.channels import NotSent, sends

if TYPE_CHECKING:
    from vault.model.alert_channels import FileChannel
    from vault.model.alerts import Alert
    from vault.store.local.secrets import Secrets

_TAIL = 1 << 18
"""Octets at the end in which a line that is there already is looked for."""


@sends("file")
def send(channel: FileChannel, alert: Alert, secrets: Secrets, site: str) -> str | None:
    """Append the line and see it onto the disk, unless it was and we died before noting it."""
    path = Path(channel.path).expanduser()
    if secrets.holds(path):
        raise NotSent(f"{path} lies in the vault, which keeps no logs: name a file outside")
    if not secrets.may_write(path):
        raise NotSent(
            f"{path} lies below no folder that was named on this computer: axisvault alerts "
            f"confirm {channel.name} --below FOLDER"
        )
    if not path.parent.is_dir():
        raise NotSent(f"the folder {path.parent} does not exist")
    if path.exists() and not path.is_file():
        raise NotSent(f"{path} is no file")
    content = {"site": site, **alert.as_mapping()}
    line = json.dumps(content, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "replace")
    handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o640)
    with open(handle, "r+b", buffering=0) as file:  # noqa: PTH123 (a handle, not a path)
        end = _end_of(file.seek(0, os.SEEK_END), handle)
        if line in end.split(b"\n")[:-1]:
            return None
        # A line that was torn by a crash must not swallow this one.
        text = (b"\n" if end and not end.endswith(b"\n") else b"") + line + b"\n"
        if file.write(text) != len(text):
            raise NotSent(f"no room on the disk of {path}")
        os.fsync(handle)
    return None


def _end_of(size: int, handle: int) -> bytes:
    os.lseek(handle, max(0, size - _TAIL), os.SEEK_SET)
    return os.read(handle, _TAIL)
