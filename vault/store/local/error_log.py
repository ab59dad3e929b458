"""The log of internal errors, a line each: in `axisvault/errors.log` beside the repository."""

from __future__ import annotations

import logging
import os
import sys
from typing import TYPE_CHECKING

from vault.model.internal_errors import LOG
from vault.store.clock import now, time_text

if TYPE_CHECKING:
    from pathlib import Path

FILE = "errors.log"
_MOST_BYTES = 1024 * 1024  # then it becomes errors.log.old


def log_errors_in(state: Path, *, also_here: bool = False) -> None:
    """Have internal errors logged beside a repository; with `also_here` on stderr too.

    Where there is no such folder, or it cannot be written, they go to stderr.
    """
    for handler in [one for one in LOG.handlers if isinstance(one, _ErrorLog)]:
        LOG.removeHandler(handler)
    LOG.addHandler(_ErrorLog(state, also_here))
    LOG.propagate = False


class _ErrorLog(logging.Handler):
    def __init__(self, state: Path, also_here: bool) -> None:
        super().__init__(logging.ERROR)
        self._file, self._also_here = state / FILE, also_here

    def emit(self, record: logging.LogRecord) -> None:
        line = f"{time_text(now())} {record.getMessage()}\n"
        try:
            self._append(line)
            is_written = True
        except OSError:
            is_written = False
        if self._also_here or not is_written:
            print(f"axisvault: {line}", end="", file=sys.stderr, flush=True)

    def _append(self, line: str) -> None:
        if self._file.exists() and self._file.stat().st_size > _MOST_BYTES:
            self._file.replace(self._file.with_suffix(".log.old"))
        flags = os.O_WRONLY | os.O_APPEND | os.O_CREAT
        handle = os.open(self._file, flags, 0o600)  # exports may be quoted in it
        with os.fdopen(handle, "ab") as file:
            file.write(line.encode("utf-8", "replace"))
