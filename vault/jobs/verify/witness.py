"""Is the history the one that was? The vault against its witness, and against a copy elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from vault.model.errors import Damaged, Unreadable, VaultError
from vault.store.clock import time_text
from vault.store.git.history import commits_between, merge_bases
from vault.store.index.recorded import recorded_between
from vault.store.index.rows import Snapshot
from vault.store.proof.witness import FILE, Line, Witness, name_of, read_witness

if TYPE_CHECKING:
    from vault.store.vault import Vault

_TIP = re.compile(rb"\b[0-9a-f]{40}\b")


@dataclass(frozen=True, slots=True)
class Gone:
    """What the history does not hold any more: since when, and the first snapshot of it."""

    details: str
    snapshot: str | None
    axis: str | None
    taken_at: str | None


@dataclass(slots=True)
class Testimony:
    """What the witness says: problems and remarks in words, and the first thing that is gone."""

    problems: list[tuple[str, str]]
    remarks: list[str]
    gone: Gone | None = None
    witness: Witness | None = None


def hear_witness(vault: Vault, against: Path | None = None) -> Testimony:
    """Hold the history against the vault's witness, and `against` a copy kept elsewhere.

    Raises Unreadable for a copy that is none.
    """
    heard = Testimony([], [])
    _own(vault, heard)
    if against is not None:
        _copy(vault, against, heard)
    return heard


def _held(vault: Vault, lines: Sequence[Line]) -> set[str]:
    """The tips of some lines that the history has: it is long, they are few."""
    tips = {line.tip for line in lines}
    return {one for one in commits_between(vault.repository, None, vault.tip) if one in tips}


def _own(vault: Vault, heard: Testimony) -> None:
    known = name_of(vault.repository)
    try:
        witness = heard.witness = read_witness(vault.repository.path / FILE)
    except Damaged as error:
        heard.problems.append(("witness", str(error)))
        return
    if witness is None:
        if known is not None:
            said = "the witness is gone: somebody deleted it, and with it the proof of the past"
            heard.problems.append((FILE, said))
        else:
            heard.remarks.append(
                "There is no witness here, as in a copy of a vault; --against holds the history "
                "against that of the original."
            )
        return
    if known is not None and witness.id != known:
        heard.problems.append((FILE, "this is the witness of another vault"))
    if witness.broken is not None:
        heard.problems.append((FILE, f"the witness was changed: {witness.broken}"))
    tips = witness.tips
    history = _held(vault, tips)
    _missing(vault, tips, history, "witness", heard)
    if tips and tips[-1].tip != vault.tip and tips[-1].tip in history:
        heard.remarks.append(
            "The newest commits are not in the witness yet: a process was stopped just after it "
            "wrote, or git was used directly."
        )


def _missing(
    vault: Vault, lines: Sequence[Line], history: set[str], where: str, heard: Testimony
) -> None:
    """The first tip that is no part of the history any more."""
    for line in lines:
        if line.tip is None or line.tip in history:
            continue
        first = _first_lost(vault, [one.tip for one in lines if one.tip is not None])
        said = (
            f"the history was rewritten or cut short: commit {line.tip[:10]}, which was its newest "
            f"on {line.at}, is no part of it any more"
        )
        snapshot = axis = taken = None
        if first is not None:
            snapshot, axis = first.id, str(first.address)
            try:
                taken = time_text(first.record.taken_at)
                said += f"; the first that is missing is that of {axis} of {taken}"
            except VaultError:
                said += f"; the first that is missing is one of {axis}"
        heard.problems.append((where, said))
        heard.gone = heard.gone or Gone(said, snapshot, axis, taken)
        return


def _first_lost(vault: Vault, tips: Sequence[str]) -> Snapshot | None:
    """The first snapshot that only the newest of some tips has, where git has that still."""
    tip = next((one for one in reversed(tips) if vault.repository.resolve(one) is not None), None)
    if tip is None:
        return None
    try:
        base = next(iter(merge_bases(vault.repository, tip, vault.tip)), None)
    except VaultError:
        base = None
    try:
        for address, commit, blob in recorded_between(vault.repository, base, tip):
            return Snapshot(1, address, commit, vault.repository.blob(blob) or b"")
    except VaultError:
        return None
    return None


def _copy(vault: Vault, path: Path, heard: Testimony) -> None:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise Unreadable(f"it cannot be read: {error.strerror}", file=str(path)) from error
    if not content.lstrip().startswith(b"{"):
        tips = list(_printed(content))
        if not tips:
            raise Unreadable("it holds neither a witness nor a commit id", file=str(path))
        _missing(vault, tips, _held(vault, tips), str(path), heard)
        return
    copy = read_witness(path)
    if copy is None:
        return
    if copy.broken is not None:
        heard.problems.append((str(path), f"the copy was changed: {copy.broken}"))
    own = heard.witness
    if own is not None:
        for one, other in zip(copy.lines, own.lines, strict=False):
            if one.text != other.text:
                said = f"the vault's witness is another one from line {one.number + 1} on"
                heard.problems.append((FILE, said))
                break
        else:
            if len(copy.lines) > len(own.lines):
                said = f"the vault's witness ends at line {len(own.lines)}; the copy goes on"
                heard.problems.append((FILE, said))
    _missing(vault, copy.tips, _held(vault, copy.tips), str(path), heard)


def _printed(content: bytes) -> Iterator[Line]:
    """Commit ids that somebody wrote down, in order."""
    for number, found in enumerate(_TIP.findall(content)):
        yield Line(number, found.decode(), "the day it was written down", found)
