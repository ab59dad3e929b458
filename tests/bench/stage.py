"""What the rows work on: vaults of bulk exports, made on first use in a temporary folder."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from tests.bench import bulk, references
from tests.bench.measure import axisvault, peak_memory, program, seconds
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family
from vault.model.golden import Approval, Golden
from vault.model.names import Address
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.golden_text import golden_text
from vault.store.files.parameters_text import parameter_lines
from vault.store.git import packing
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

PARAMETERS = 300
BY = "Bench <bench@localhost>"
_VISITS = 10
_YEARS_OF_VISITS = 20
_DRIFTED_EVERY = 20  # axes of the fleet: one in so many has drifted
_AXES, _AXES_QUICK = 1000, 30


@dataclass(frozen=True, slots=True)
class Tree:
    """A folder of exports, and the vault that `ingest-tree` made of it."""

    exports: Path
    vault: Path
    number: int
    seconds: float
    peak_bytes: int

    @property
    def files(self) -> list[Path]:
        """The exports in the order of their axes."""
        return sorted(self.exports.glob("*/*/*"))


@dataclass(frozen=True, slots=True)
class Pair:
    """A vault whose one axis has two snapshots, and both parameters.yaml as files."""

    vault: Path
    address: Address
    left: Path
    right: Path


@dataclass(frozen=True)
class Stage:
    """The folder of a run and its extent."""

    folder: Path
    quick: bool

    @property
    def runs(self) -> int:
        """Runs of which the median counts."""
        return 5 if self.quick else 15

    @cached_property
    def pair(self) -> Pair:
        """Two snapshots of 1,000 parameters."""
        rows = bulk.parameters(1000)
        address = Address("machine-001", "axis-01")
        left, right = self.folder / "left.yaml", self.folder / "right.yaml"
        with self._new_vault("pair", rows) as vault:
            for export, kept in zip(bulk.exports(rows, 1, 2), (left, right), strict=True):
                path = self.folder / export.path.name
                path.write_bytes(export.content)
                found = ingest(vault, path, address, parse_visit(BY, taken_at=str(export.day)))
                parameters = vault.read_required(layout.parameters_file(address), found.snapshot.id)
                kept.write_bytes(parameters)
            return Pair(vault.repository.path, address, left, right)

    @cached_property
    def tree(self) -> Tree:
        """The bulk set: ten exports of each axis."""
        return self.ingested_tree("tree", _AXES_QUICK if self.quick else _AXES, _VISITS)

    @cached_property
    def short_tree(self) -> Tree:
        """As many axes as in `tree`, with a fifth of the exports."""
        return self.ingested_tree("short-tree", _AXES_QUICK if self.quick else _AXES, _VISITS // 5)

    @cached_property
    def fleet_tree(self) -> Tree:
        """What the fleet was made of: twenty exports of each axis."""
        axes = _AXES_QUICK if self.quick else _AXES
        return self.ingested_tree("fleet", axes, _YEARS_OF_VISITS)

    @cached_property
    def fleet_zipped(self) -> int:
        """Bytes of the fleet's exports, zipped one by one."""
        return sum(map(references.zipped, self.fleet_tree.files))

    @cached_property
    def fleet(self) -> Path:
        """A vault of many visits, packed, where every axis is approved and some have drifted."""
        path = self.fleet_tree.vault
        with Vault.open(path) as vault, vault.writing():
            changes = {
                layout.golden_file(address): golden_text(_approved(vault, address, number))
                for number, address in enumerate(vault.index.axes())
            }
            vault.write_files(changes, "Everything is approved\n", BY)
            packing.housekeeping(vault.repository)
        return path

    def ingested_tree(self, name: str, axes: int, visits: int) -> Tree:
        """Write exports and take them in with one command."""
        rows = bulk.parameters(PARAMETERS)
        exports = self.folder / f"{name}-exports"
        bulk.write_tree(exports, rows, axes, visits)
        with self._new_vault(name, rows) as vault:
            path = vault.repository.path
        command = axisvault("--vault", path, "ingest-tree", exports)
        peak: list[int] = []
        spent = seconds(lambda: peak.append(peak_memory(*command)))
        with Vault.open(path) as vault:
            taken = vault.index.count()
        if taken != axes * visits:
            raise RuntimeError(f"{taken} of {axes * visits} exports were taken in")
        return Tree(exports, path, taken, spent, peak[0])

    def _new_vault(self, name: str, rows: list[bulk.Row]) -> Vault:
        dictionary = self.folder / f"{name}-{bulk.FAMILY}.yaml"
        dictionary.write_text(bulk.family_text(rows))
        path = self.folder / name
        vault = Vault.create(path, "Bench", BY)
        add_family(vault, dictionary, BY)
        return vault

    def cloned(self, vault: Path, name: str) -> Path:
        """A work tree with the same files as a vault."""
        place = self.folder / name
        program("git", "clone", "--quiet", "--no-hardlinks", vault, place)
        return place


def _approved(vault: Vault, address: Address, number: int) -> Golden:
    """The latest snapshot, or for some axes the newest one with other settings."""
    snapshots = list(vault.index.newest_first(address))
    chosen = snapshots[0]
    if number % _DRIFTED_EVERY == 0:
        chosen = next(s for s in snapshots if _settings(vault, s) != _settings(vault, snapshots[0]))
    return Golden(Approval(chosen.id, vault.tip, BY, now(), "bench"))


def _settings(vault: Vault, snapshot: Snapshot) -> list[str]:
    path = layout.parameters_file(snapshot.address)
    lines = parameter_lines(vault.read_required(path, snapshot.id), path)
    return [line for line in lines if not line.startswith("  live/")]
