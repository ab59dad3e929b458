"""Is the history the one that was? The vault against its witness, and against a copy elsewhere."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.verify.outcome import LostHistory, Problem, Verified
from vault.model.errors import Damaged, Unreadable, VaultError
from vault.store.clock import time_text
from vault.store.git.history import commits_between, is_ancestor, merge_bases
from vault.store.index.recorded import recorded_between
from vault.store.index.rows import Snapshot
from vault.store.proof.witness import FILE, Witness, WitnessLine, expected_id, read_witness

if TYPE_CHECKING:
    from vault.store.vault import Vault

_COMMIT = re.compile(rb"\b[0-9a-f]{40}\b")


def check_witness(vault: Vault, against: Path | None, outcome: Verified) -> None:
    """Hold the history against the vault's witness, and `against` a copy kept elsewhere.

    What is found goes to the outcome. Raises Unreadable for a copy that is none.
    """
    try:
        outcome.witness = read_witness(vault.repository.path / FILE)
    except Damaged as error:
        outcome.problems.append(_problem("witness", str(error)))
    else:
        _check_own(vault, outcome)
    if against is not None:
        _check_copy(vault, against, outcome)


def _problem(where: str, details: str) -> Problem:
    return Problem("witness", where, details)


def _check_own(vault: Vault, outcome: Verified) -> None:
    witness, name = outcome.witness, expected_id(vault.repository)
    if witness is None:
        if name is not None:
            details = "the witness is gone: somebody deleted it, and with it the proof of the past"
            outcome.problems.append(_problem(FILE, details))
        else:
            outcome.remarks.append(
                "There is no witness here, as in a copy of a vault; --against holds the history "
                "against that of the original."
            )
        return
    if name is not None and witness.id != name:
        outcome.problems.append(_problem(FILE, "this is the witness of another vault"))
    if name is None:
        outcome.remarks.append(
            "Git's settings of this vault do not name its witness, as they do from its first line "
            "on: a process was stopped just then, or somebody changed them. This puts it back: "
            f"git --git-dir VAULT config axisvault.witness {witness.id}"
        )
    if witness.broken is not None:
        outcome.problems.append(_problem(FILE, f"the witness was changed: {witness.broken}"))
    tips = _as_it_stood(vault, witness.tips)
    held = _check_tips(vault, tips, "witness", outcome)
    if tips and tips[-1].tip != vault.tip and tips[-1].tip in held:
        outcome.remarks.append(
            "The newest commits are not in the witness yet: a process was stopped just after it "
            "wrote, or git was used directly."
        )


def _check_copy(vault: Vault, path: Path, outcome: Verified) -> None:
    try:
        content = path.read_bytes()
    except OSError as error:
        raise Unreadable(f"it cannot be read: {error.strerror}", file=str(path)) from error
    if not content.lstrip().startswith(b"{"):
        tips = _written_down(content)
        if not tips:
            raise Unreadable("it holds neither a witness nor a commit id", file=str(path))
        _check_tips(vault, tips, str(path), outcome)
        return
    copy = read_witness(path)
    if copy is None:
        return
    if copy.broken is not None:
        outcome.problems.append(_problem(str(path), f"the copy was changed: {copy.broken}"))
    if outcome.witness is not None and (details := _difference(outcome.witness, copy)) is not None:
        outcome.problems.append(_problem(FILE, details))
    _check_tips(vault, _as_it_stood(vault, copy.tips), str(path), outcome)


def _as_it_stood(vault: Vault, lines: Sequence[WitnessLine]) -> Sequence[WitnessLine]:
    """The lines without those of what others recorded meanwhile, on top of the tip looked at."""
    tip = vault.repository.tip()
    if tip == vault.tip or not is_ancestor(vault.repository, vault.tip, tip):
        return lines
    later = set(commits_between(vault.repository, vault.tip, tip))
    return [line for line in lines if line.tip not in later]


def _written_down(content: bytes) -> list[WitnessLine]:
    """Commit ids that somebody wrote down, in order, as lines of a witness."""
    return [
        WitnessLine(number, commit.decode(), "the day it was written down", commit)
        for number, commit in enumerate(_COMMIT.findall(content))
    ]


def _difference(own: Witness, copy: Witness) -> str | None:
    """Where the vault's witness is not the copy, or that with more lines."""
    for copied, line in zip(copy.lines, own.lines, strict=False):
        if copied.text != line.text:
            return f"the vault's witness is another one from line {copied.number + 1} on"
    if len(copy.lines) > len(own.lines):
        return f"the vault's witness ends at line {len(own.lines)}; the copy goes on"
    return None


def _check_tips(
    vault: Vault, lines: Sequence[WitnessLine], where: str, outcome: Verified
) -> set[str]:
    """Name the first tip that is no part of the history any more; returns those that are."""
    tips = [line.tip for line in lines if line.tip is not None]
    wanted, history = set(tips), commits_between(vault.repository, None, vault.tip)
    held = {commit for commit in history if commit in wanted}  # few of many
    missing = next((line for line in lines if line.tip not in held), None)
    if missing is not None:
        lost = _lost_since(vault, missing, tips)
        outcome.problems.append(_problem(where, lost.details))
        outcome.lost = outcome.lost or lost
    return held


def _lost_since(vault: Vault, line: WitnessLine, tips: Sequence[str]) -> LostHistory:
    details = (
        f"the history was rewritten or cut short: commit {(line.tip or '')[:10]}, which was its "
        f"newest on {line.at}, is no part of it any more"
    )
    first = _first_lost(vault, tips)
    if first is None:
        return LostHistory(details, None, None, None)
    axis = str(first.address)
    details += "; the first that is missing is "
    try:
        taken = time_text(first.record.taken_at)
    except VaultError:
        return LostHistory(f"{details}one of {axis}", first.id, axis, None)
    return LostHistory(f"{details}that of {axis} of {taken}", first.id, axis, taken)


def _first_lost(vault: Vault, tips: Sequence[str]) -> Snapshot | None:
    """The first snapshot that only the newest of some tips has, where git has that still."""
    newest = next(
        (tip for tip in reversed(tips) if vault.repository.resolve(tip) is not None), None
    )
    if newest is None:
        return None
    try:
        base = next(iter(merge_bases(vault.repository, newest, vault.tip)), None)
    except VaultError:
        base = None
    try:
        for address, commit, blob in recorded_between(vault.repository, base, newest):
            return Snapshot(1, address, commit, vault.repository.blob(blob) or b"")
    except VaultError:
        return None
    return None
