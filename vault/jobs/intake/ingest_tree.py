"""Taking many exports in, from a folder with or without a manifest."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.export.content import read_content
from vault.jobs.intake.manifest import MANIFEST, planned_by_folders, planned_by_manifest
from vault.jobs.intake.read_for_axis import families_of
from vault.jobs.intake.take_in_once import take_in_once
from vault.model.errors import Unavailable, Unreadable, VaultError
from vault.model.internal_errors import internal_error
from vault.store.clock import microseconds
from vault.store.git import packing
from vault.store.recorder import Recorder, recording

if TYPE_CHECKING:
    from vault.jobs.intake.planned import Planned
    from vault.model.names import Address
    from vault.store.vault import FamilyFile, Vault

# Written in portions: a process that dies loses at most one, and memory stays flat.
_PORTION = 500
_HOUSEKEEPING_FROM = 200
Progress = Callable[[int, int], None]


@dataclass(slots=True)
class TreeIngested:
    """What became of a tree of exports."""

    taken: int = 0
    already_there: int = 0
    unchanged: int = 0
    axes: set[Address] = field(default_factory=set)
    failures: list[VaultError] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    def add(self, part: TreeIngested) -> None:
        """Add what became of a part."""
        self.taken += part.taken
        self.already_there += part.already_there
        self.unchanged += part.unchanged
        self.axes |= part.axes
        self.failures += part.failures
        self.warnings += part.warnings


def ingest_tree(
    vault: Vault,
    folder: Path,
    by: str,
    manifest: Path | None = None,
    progress: Progress = lambda done, total: None,
) -> TreeIngested:
    """Take in every export that the manifest names, or that lies in `machine/axis/`.

    Exports are recorded in the order they were taken. One that cannot be taken in is reported and
    does not hold up the others; one that the vault has already is left out.
    """
    outcome = TreeIngested()
    planned = _planned(folder, by, manifest, outcome)
    done = 0

    def step(count: int) -> None:
        nonlocal done
        done += count
        progress(done, len(planned))

    step(0)
    with vault.writing():
        families = families_of(vault)
        for portion in _portions(planned):
            for taken in _taken_portion(vault, portion, families, step):
                outcome.add(taken)
        if outcome.taken >= _HOUSEKEEPING_FROM:
            _pack(vault, outcome)
    outcome.warnings += alert(vault, outcome.axes)
    return outcome


def _planned(folder: Path, by: str, manifest: Path | None, outcome: TreeIngested) -> list[Planned]:
    """Every export that can be planned, in the order they were taken."""
    if not folder.is_dir():
        raise Unreadable("there is no such folder", file=str(folder))
    if manifest is None and (folder / MANIFEST).is_file():
        manifest = folder / MANIFEST
    failed = outcome.failures.append
    if manifest is not None:
        exports = planned_by_manifest(manifest, by, failed)
    else:
        exports = planned_by_folders(folder, by, failed)
    return sorted(exports, key=lambda planned: microseconds(planned.expected_time))


def _portions(planned: list[Planned]) -> Iterator[list[Planned]]:
    for start in range(0, len(planned), _PORTION):
        yield planned[start : start + _PORTION]


def _taken_portion(
    vault: Vault,
    portion: list[Planned],
    families: Mapping[str, FamilyFile],
    step: Callable[[int], None],
) -> Iterator[TreeIngested]:
    """Record a portion; where the program itself fails at one of it, the others without that."""
    outcome, done = TreeIngested(), 0
    try:
        with recording(vault) as recorder:
            for export in portion:
                _take(vault, recorder, export, families, outcome)
                done += 1
                step(1)
    except VaultError:
        raise
    except Exception as error:
        step(-done)  # nothing of it was recorded
        if len(portion) == 1:
            step(1)
            yield TreeIngested(failures=[internal_error(error, str(portion[0].path))])
            return
        middle = len(portion) // 2
        for half in (portion[:middle], portion[middle:]):
            yield from _taken_portion(vault, half, families, step)
    else:
        yield outcome


def _take(
    vault: Vault,
    recorder: Recorder,
    planned: Planned,
    families: Mapping[str, FamilyFile],
    outcome: TreeIngested,
) -> None:
    try:
        content = read_content(planned.path)
        ingested = take_in_once(vault, recorder, planned, content, families)
    except Unavailable:  # the vault's fault, not the file's
        raise
    except VaultError as error:
        outcome.failures.append(error)
        return
    if ingested is None:
        outcome.already_there += 1
        return
    outcome.taken += 1
    outcome.unchanged += ingested.unchanged
    outcome.axes.add(ingested.snapshot.address)
    outcome.warnings += [f"{planned.path}: {warning}" for warning in ingested.warnings]


def _pack(vault: Vault, outcome: TreeIngested) -> None:
    try:
        packing.housekeeping(vault.repository)
    except VaultError as error:  # everything is in; the vault is only larger than need be
        outcome.warnings.append(f"the vault could not be packed: {error}")
