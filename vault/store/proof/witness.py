"""The witness: every tip that a vault ever had, outside of git, each line naming the one before.

A history that is rewritten as a whole is sound in itself; only somebody who remembers how it was
can tell. The witness lies beside the index, is only ever appended to, and is never rebuilt. Git's
own settings of the vault name it, so that one that was deleted or exchanged is missed; a clone has
neither settings nor witness, and begins one of its own.
"""

from __future__ import annotations

import json
import os
import secrets
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vault.model.errors import Damaged, Unavailable
from vault.store.clock import now, time_text

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

FILE = "axisvault/witness.jsonl"
_SETTING = "axisvault.witness"


@dataclass(frozen=True, slots=True)
class WitnessLine:
    """A tip, when it was seen first, the line as it is kept, and its SHA-256."""

    number: int
    tip: str | None
    at: str
    text: bytes

    @property
    def digest(self) -> str:
        """What the next line has to name."""
        return sha256(self.text).hexdigest()


@dataclass(frozen=True, slots=True)
class Witness:
    """All lines of a witness; `broken` says what of it is not as it was written."""

    id: str
    lines: tuple[WitnessLine, ...]
    broken: str | None = None

    @property
    def head(self) -> str | None:
        """SHA-256 of the newest line: stands for all of them."""
        return self.lines[-1].digest if self.lines else None

    @property
    def tips(self) -> list[WitnessLine]:
        """Lines that name a tip."""
        return [line for line in self.lines if line.tip is not None]


def expected_id(repository: Repository) -> str | None:
    """Name of the witness that the vault's git settings know; None for a clone."""
    return repository.setting(_SETTING)


def expect(repository: Repository, name: str | None) -> None:
    """Have the vault's git settings name a witness, as those of the vault it is a recovery of."""
    if name is not None:
        repository.keep_setting(_SETTING, name)


def advance(repository: Repository, old: str | None, new: str) -> None:
    """Move the branch from one commit to another, and remember that.

    Raises Unavailable if somebody moved it meanwhile, or it or the witness cannot be written;
    Damaged where the witness is none any more.
    """
    repository.advance(old, new)
    remember(repository, new)


def remember(repository: Repository, tip: str) -> None:
    """Append a tip, durably.

    Raises Unavailable where it cannot be written, Damaged where the witness is none any more.

    What a process that was killed left unfinished at the end is cut off first.
    """
    path = repository.path / FILE
    try:
        path.parent.mkdir(exist_ok=True)
        if not path.exists():
            if expected_id(repository) is not None:
                return  # it was deleted: a new one would hide that
            _begin(repository, path)
        with path.open("rb+") as file:
            last, end = _last(file.seek(0, os.SEEK_END), file)
            if last.get("tip") == tip:
                return
            file.seek(end)
            file.truncate()
            known = sha256(json.dumps(last, separators=(",", ":")).encode()).hexdigest()
            line = {"n": int(last["n"]) + 1, "at": time_text(now()), "tip": tip, "before": known}
            file.write(_encoded(line))
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise Unavailable(
            f"the change is recorded, but the witness cannot be written: {error}",
            hint="axisvault verify says what is wrong",
        ) from error
    except (ValueError, KeyError, TypeError) as error:
        raise Damaged(
            "the change is recorded, but the witness is empty or garbage",
            file=str(path),
            hint="axisvault verify says what to restore from where",
        ) from error


def _begin(repository: Repository, path: Path) -> None:
    name = secrets.token_hex(16)
    path.write_bytes(_encoded({"n": 0, "at": time_text(now()), "id": name}))
    repository.keep_setting(_SETTING, name)


def _encoded(line: dict[str, Any]) -> bytes:
    return json.dumps(line, separators=(",", ":")).encode() + b"\n"


def _last(size: int, file: Any) -> tuple[dict[str, Any], int]:
    """The last whole line, and where it ends."""
    start = max(0, size - 1024)
    file.seek(start)
    content = file.read()
    end = content.rfind(b"\n") + 1
    begin = content.rfind(b"\n", 0, end - 1) + 1
    return json.loads(content[begin:end]), start + end


def read_witness(path: Path) -> Witness | None:
    """Read a witness; None where there is none. Lines after the first broken one do not count.

    Raises Damaged for a file that is no witness at all.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise Damaged(f"the witness cannot be read: {error.strerror}", file=str(path)) from error
    lines: list[WitnessLine] = []
    name = ""
    for number, text in enumerate(content.split(b"\n")[:-1]):  # an unfinished line does not count
        before = lines[-1].digest if lines else None
        try:
            line = json.loads(text)
            whole = line["n"] == number and line.get("before") == before
            whole = whole and _encoded(line) == text + b"\n"
            if number == 0:
                name = str(line["id"])
            tip = None if number == 0 else str(line["tip"])
            at = str(line["at"])
        except (ValueError, KeyError, TypeError):
            whole = False
        if not whole:
            if number == 0:
                raise Damaged("this is no witness of ours", file=str(path), line=1)
            return Witness(name, tuple(lines), f"line {number + 1} is not as it was written")
        lines.append(WitnessLine(number, tip, at, text))
    if not lines:
        raise Damaged("this is no witness of ours", file=str(path), line=1)
    return Witness(name, tuple(lines))
