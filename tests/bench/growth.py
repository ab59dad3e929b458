"""How what people ask grows with the number of axes in a vault: one table, a column a size.

A question is the same at every size, so its cost should be too: what grows with the fleet and not
with the question shows in the last column. Every question works on a copy of its vault, in the
order of the table; those of `spread` and of the whole site's drift are about more axes in a larger
vault.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from itertools import count, cycle
from pathlib import Path
from typing import Any

from tests.bench import bulk
from tests.bench.measure import own_peak_memory, seconds
from tests.bench.stage import BY, PARAMETERS, Stage
from vault.jobs.baseline.answers import ANSWERS
from vault.jobs.baseline.drift import drift
from vault.jobs.inspect.find import find
from vault.jobs.inspect.history import parameter_history
from vault.jobs.inspect.show import shown_parameters
from vault.jobs.inspect.spread import spread
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.jobs.sync.sync import take
from vault.jobs.verify.incremental import remember_verified, verify_new
from vault.model.golden import Approval, Golden
from vault.model.names import Address
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.golden_text import golden_text
from vault.store.git import packing
from vault.store.vault import Vault
from webui.app import create_app

SIZES = (300, 1000, 3000, 10_000)
VISITS = 2
_RUNS = 3
_DRIFTED_EVERY = 20  # axes: the first of two exports is approved there, else the second
_TYPED = "machine-001/axis-1"
_NEW_SNAPSHOTS = 10


@dataclass(frozen=True, slots=True)
class Asked:
    """A question and what it took at each size; `unit` is `s` or `B`."""

    question: str
    unit: str
    by_size: dict[int, float] = field(default_factory=dict)

    @property
    def growth(self) -> float:
        """What it took at the largest size over what it took at the smallest."""
        return self.by_size[max(self.by_size)] / self.by_size[min(self.by_size)]


def measured(folder: Path, sizes: Sequence[int]) -> list[Asked]:
    """Ask everything at every size. Vaults that lie in the folder already are used again."""
    table: dict[str, Asked] = {}
    for size in sorted(sizes):
        print(f"making a vault of {size:,} axes …", file=sys.stderr)
        made = fleet(folder, size)
        with _copied(made, folder / f"asked-{size}") as path:
            for question, unit, taken in _Questions(path, size).answered():
                print(f"  {question}: {_shown(taken, unit)}", file=sys.stderr)
                table.setdefault(question, Asked(question, unit)).by_size[size] = taken
    return list(table.values())


def as_json(table: Sequence[Asked]) -> dict[str, Any]:
    """One document for all questions."""
    return {
        "questions": [
            {
                "question": asked.question,
                "unit": asked.unit,
                "by_size": {str(size): taken for size, taken in asked.by_size.items()},
                "growth": asked.growth,
            }
            for asked in table
        ]
    }


def as_text(table: Sequence[Asked]) -> str:
    """A table in columns, for people and for Markdown."""
    sizes = sorted(table[0].by_size)
    lines = [f"| question | {' | '.join(f'{size:,} axes' for size in sizes)} | growth |"]
    lines.append("|---" * (len(sizes) + 2) + "|")
    for asked in table:
        cells = " | ".join(_shown(asked.by_size[size], asked.unit) for size in sizes)
        lines.append(f"| {asked.question} | {cells} | {asked.growth:.1f} |")
    return "\n".join(lines)


def _shown(value: float, unit: str) -> str:
    if unit == "B":
        return f"{value / 1e6:.0f} MB"
    return f"{value:.1f} s" if value >= 10 else f"{value * 1000:.1f} ms"


def fleet(folder: Path, size: int) -> Path:
    """A vault of so many axes, packed, where every axis is approved and some have drifted."""
    path = folder / f"axes-{size}"
    if path.exists():
        return path
    tree = Stage(folder, quick=False).ingested_tree(f"making-{size}", size, VISITS)
    with Vault.open(tree.vault) as vault, vault.writing():
        changes = {
            layout.golden_file(address): golden_text(_approved(vault, address, number))
            for number, address in enumerate(vault.index.axes())
        }
        vault.write_files(changes, "Everything is approved\n", BY)
        packing.housekeeping(vault.repository)
    with Vault.open(tree.vault) as vault:
        drift(vault)
        remember_verified(vault)
    shutil.rmtree(tree.exports)
    return tree.vault.rename(path)


def _approved(vault: Vault, address: Address, number: int) -> Golden:
    snapshot = vault.index.nth_latest(address, int(number % _DRIFTED_EVERY == 0))
    if snapshot is None:
        raise RuntimeError(f"{address} has no such snapshot")
    return Golden(Approval(snapshot.id, vault.tip, BY, now(), "bench"))


@contextmanager
def _copied(vault: Path, place: Path) -> Iterator[Path]:
    shutil.copytree(vault, place)
    try:
        yield place
    finally:
        shutil.rmtree(place)


class _Questions:
    """What is asked of one vault, one question after the other."""

    def __init__(self, path: Path, size: int) -> None:
        self._path, self._size = path, size
        self._rows = bulk.parameters(PARAMETERS)
        self._taken = count(3 * bulk.AXES_PER_MACHINE)  # axes that get an export: each once
        self._address = Address("machine-002", "axis-03")
        self._client = create_app(path, is_local=True).test_client()

    def answered(self) -> Iterator[tuple[str, str, float]]:
        """Each question with its unit and what it took."""
        for said, (status, *command) in _COMMANDS.items():
            peak = own_peak_memory("--vault", self._path, *command, status=status)
            yield f"peak memory: {said}", "B", peak
        with Vault.open(self._path) as vault:
            for question, ask in self._reading(vault).items():
                yield question, "s", self._best(ask)
            for question, ask in self._writing(vault).items():
                yield question, "s", ask()
            yield from self._syncing(vault)

    def _best(self, ask: Callable[[], object], before: Callable[[], object] = int) -> float:
        ask()
        times = []
        for _ in range(_RUNS):
            before()
            times.append(seconds(ask))
        return min(times)

    def _reading(self, vault: Vault) -> dict[str, Callable[[], object]]:
        address, keys = self._address, cycle(_TYPED[:n] for n in range(2, len(_TYPED) + 1))
        return {
            "site page, nothing changed": lambda: self._get("/"),
            "search while typing, a whole name": lambda: [
                self._get("/api/v1/search", text=next(keys)) for _ in _TYPED[1:]
            ],
            "show an axis": lambda: shown_parameters(resolve(vault, str(address))),
            "axis page": lambda: self._get(f"/axis/{address}"),
            "compare with the one before": lambda: compare_states(
                resolve(vault, f"{address}@previous"), resolve(vault, str(address))
            ),
            "history of a parameter": lambda: list(
                parameter_history(vault, address, "following_error_window")
            ),
            "find a value that few have": lambda: find(
                vault, "following_error_window", "> 99.9 mm", only_now=True
            ),
            "spread of a machine": lambda: spread(vault, "machine-002/*"),
            "spread of one axis a machine": lambda: spread(vault, "*/axis-03"),
            "drift of a machine, first asked": lambda: self._drift_anew(vault, "machine-002"),
            "drift of an axis, first asked": lambda: self._drift_anew(vault, str(address)),
        }

    def _writing(self, vault: Vault) -> dict[str, Callable[[], float]]:
        return {
            "ingest of an export": lambda: self._best(self._make_ingest(vault, self._next_export)),
            # Once: the second one would be as the first, which the guard says.
            "ingest of a factory-fresh drive": lambda: seconds(
                self._make_ingest(vault, self._fresh_export)
            ),
            "site page after an ingest": lambda: self._best(
                lambda: self._get("/"), self._make_ingest(vault, self._next_export)
            ),
            "drift of all after a machine's exports": lambda: self._best(
                lambda: self._drift_of_all(vault), lambda: self._visit_machine(vault)
            ),
        }

    def _syncing(self, vault: Vault) -> Iterator[tuple[str, str, float]]:
        remember_verified(vault)
        other = self._path.with_name(f"{self._path.name}-other")
        with _copied(self._path, other), Vault.open(other) as theirs:
            self._ingest_some(theirs)
            self._make_ingest(vault, self._next_export)()  # so that both have to be joined
            yield "sync of ten snapshots", "s", seconds(lambda: take(vault, str(other), BY))
        yield "verify --new after that", "s", seconds(lambda: self._verify_new(vault))
        remember_verified(vault)
        self._ingest_some(vault)
        yield "verify --new of ten snapshots", "s", seconds(lambda: self._verify_new(vault))

    def _get(self, address: str, **query: str) -> None:
        if self._client.get(address, query_string=query).status_code != 200:
            raise RuntimeError(f"{address} is not shown")

    def _drift_anew(self, vault: Vault, place: str) -> None:
        ANSWERS.forget()
        drift(vault, place)

    def _drift_of_all(self, vault: Vault) -> None:
        vault.refresh()
        if not any(axis.status == "drifted" for axis in drift(vault)):
            raise RuntimeError("nothing has drifted")

    def _visit_machine(self, vault: Vault) -> None:
        for _ in range(bulk.AXES_PER_MACHINE):
            self._make_ingest(vault, self._next_export)()

    def _ingest_some(self, vault: Vault) -> None:
        for _ in range(_NEW_SNAPSHOTS):
            self._make_ingest(vault, self._next_export)()

    def _verify_new(self, vault: Vault) -> None:
        if problems := verify_new(vault).problems:
            raise RuntimeError(f"the vault is not as it was recorded: {problems[:3]}")

    def _next_export(self) -> bulk.Export:
        return list(bulk.exports_of(self._rows, next(self._taken), VISITS + 1))[-1]

    def _fresh_export(self) -> bulk.Export:
        return bulk.as_delivered(self._rows, next(self._taken), date(2025, 5, 1))

    def _make_ingest(
        self, vault: Vault, export_of: Callable[[], bulk.Export]
    ) -> Callable[[], object]:
        def one() -> None:
            export = export_of()
            path = self._path.with_name(f"{self._path.name}-{export.path.name}")
            path.write_bytes(export.content)
            vault.refresh()
            who = parse_visit(BY, taken_at=str(export.day))
            ingest(vault, path, Address(export.machine, export.axis), who)
            path.unlink()

        return one


_COMMANDS: dict[str, tuple[Any, ...]] = {  # with the status they leave with
    "show an axis": (0, "show", "machine-002/axis-03"),
    "drift of a machine": (1, "drift", "machine-002"),
    "find a value that few have": (0, "find", "following_error_window", "--value", "> 99.9 mm"),
}
