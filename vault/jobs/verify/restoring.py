"""What to restore a damaged vault from: its own newest whole state, a copy, or a backup."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

from vault.jobs.verify.outcome import Problem, Verified
from vault.model.errors import Damaged, VaultError
from vault.store.git.folder import garbage_in_packed
from vault.store.git.repository import BRANCH
from vault.store.git.rescue import whole_state
from vault.store.proof.witness import FILE, Witness, read_witness

_MOST_STATES = 50
_ELSEWHERE = (
    "A vault that is whole comes from a copy (axisvault create NEW-FOLDER --copy OTHER, which has "
    "no accounts and no messages) or from a backup (axisvault recover FILE NEW-FOLDER). Keep the "
    "damaged folder until that one verifies."
)
_GIT = ("git", "branch")


def verified_unopened(folder: Path, error: Damaged) -> Verified:
    """The outcome for a vault that could not even be opened."""
    outcome = Verified()
    outcome.problems.append(Problem("branch", error.file or BRANCH, error.message))
    try:
        outcome.witness = read_witness(folder / FILE)
    except VaultError as broken:
        outcome.problems.append(Problem("witness", FILE, str(broken)))
    return outcome


def restoring(folder: Path, outcome: Verified) -> list[str]:
    """What to do where git lost something, or the witness did; empty where nothing is to be done.

    Each is a sentence for people, with what to type.
    """
    told: list[str] = []
    if any(problem.kind in _GIT for problem in outcome.problems):
        told += _own_state(folder, outcome.witness)
        told.append(_ELSEWHERE)
    if any(problem.kind == "witness" for problem in outcome.problems) and outcome.lost is None:
        told.append(
            f"A witness that is whole comes from a copy of {folder / FILE} that was kept "
            "elsewhere, or from a backup: axisvault recover FILE NEW-FOLDER. axisvault verify "
            "--against holds the history against it."
        )
    return told


def _own_state(folder: Path, witness: Witness | None) -> list[str]:
    tips = [line for line in witness.tips if line.tip] if witness is not None else []
    newest = list(islice(reversed(tips), _MOST_STATES))
    found = whole_state(folder, (line.tip or "" for line in newest))
    if found is None:
        return ["No state that the witness names is whole in this folder."]
    at = next(line.at for line in newest if line.tip == found)
    since = "" if newest[0].tip == found else " What was recorded after it is not whole here."
    has_garbage = garbage_in_packed(folder) is not None
    packed = f"move {folder / 'packed-refs'} out of the way, " if has_garbage else ""
    return [
        f"The newest state that is whole here is {found} of {at}.{since} To go on from it, have "
        f"{folder / 'HEAD'} hold the line 'ref: {BRANCH}' and {folder / BRANCH} the line "
        f"'{found}', {packed}then: axisvault --vault {folder} reindex"
    ]
