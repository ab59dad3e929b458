"""The rows of the table. A row is a function from the stage to two figures, and its reach."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from statistics import median

from tests.bench import bulk, references
from tests.bench.measure import (
    axisvault,
    in_turn,
    program,
    seconds,
    size_on_disk,
)
from tests.bench.stage import BY, PARAMETERS, Stage
from vault.jobs.baseline.answers import ANSWERS
from vault.jobs.baseline.drift import drift
from vault.jobs.inspect.history import parameter_history
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

_SAMPLE = 99  # files of the reference that is measured on a part and scaled
# What counts as flat for five times the exports: the list of what is to be taken in is kept, about
# 1 kB a file, and caches fill up.
FLAT = 1.25


@dataclass(frozen=True, slots=True)
class Reach:
    """How large ours may be: as a share of the other figure, and in its own unit."""

    share: float
    ceiling: float | None = None


@dataclass(frozen=True, slots=True)
class Figures:
    """Ours and the other; `unit` is `s` or `B`. `note` says what a reader must know."""

    ours: float
    against: float
    unit: str = "s"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the table before it is measured."""

    name: str
    work: str
    against: str
    reach: Reach
    measure: Callable[[Stage], Figures]


ROWS: dict[str, Row] = {}
Measure = Callable[[Stage], Figures]


def row(name: str, work: str, against: str, reach: Reach) -> Callable[[Measure], Measure]:
    """Add a row to the table."""

    def add(measure: Measure) -> Measure:
        ROWS[name] = Row(name, work, against, reach, measure)
        return measure

    return add


def faster(times: float) -> Reach:
    """Reach: so many times faster."""
    return Reach(1 / times)


def within(times: float) -> Reach:
    """Reach: at most so many times as much."""
    return Reach(times)


@row(
    "compare",
    "compare two 1,000-parameter snapshots, warm",
    "load both YAML with ruamel.yaml (C) and DeepDiff",
    faster(50),
)
def compare_warm(stage: Stage) -> Figures:
    pair = stage.pair
    with Vault.open(pair.vault) as vault:

        def ours() -> None:
            left = resolve(vault, f"{pair.address}@previous")
            compared = compare_states(left, resolve(vault, str(pair.address)))
            if not compared.comparison.changes:
                raise RuntimeError("no difference was found")

        return Figures(
            *in_turn(ours, lambda: references.load_and_diff(pair.left, pair.right), stage.runs)
        )


@row(
    "compare-cold",
    "axisvault compare, cold start",
    "a bare script that loads both and DeepDiffs, cold",
    within(1),
)
def compare_cold(stage: Stage) -> Figures:
    pair = stage.pair
    script = stage.folder / "load_and_diff.py"
    script.write_text(references.LOAD_AND_DIFF)
    ours = axisvault(
        "--vault", pair.vault, "compare", f"{pair.address}@previous", str(pair.address)
    )
    return Figures(
        *in_turn(
            lambda: program(*ours),
            lambda: program(sys.executable, script, pair.left, pair.right),
            stage.runs,
        )
    )


@row("help", "axisvault --help, cold start", 'python -c "import click"', within(2))
def help_cold(stage: Stage) -> Figures:
    return Figures(
        *in_turn(
            lambda: program(*axisvault("--help")),
            lambda: program(sys.executable, "-c", "import click"),
            stage.runs,
        )
    )


@row(
    "ingest",
    "ingest one export, warm",
    "git add + git commit of the same files by the git program",
    within(1.5),
)
def ingest_one(stage: Stage) -> Figures:
    axes = 30
    tree = stage.ingested_tree("ingest", axes, 1)
    work = stage.cloned(tree.vault, "ingest-work")
    later = bulk.exports(bulk.parameters(PARAMETERS), axes, 2)
    exports = [export for number, export in enumerate(later) if number % 2]
    turn = count()
    with Vault.open(tree.vault) as vault:

        def ours() -> None:
            export = exports[next(turn)]
            path = stage.folder / export.path.name
            path.write_bytes(export.content)
            address = Address(export.machine, export.axis)
            who = parse_visit(BY, taken_at=str(export.day))
            times.append(seconds(lambda: ingest(vault, path, address, who)))
            changed.append(_put_files(vault, address, work))

        def against() -> None:
            program("git", "add", "--all", changed[-1], folder=work)
            program("git", "commit", "--quiet", "--message=one export", folder=work)

        times: list[float] = []
        changed: list[Path] = []
        _, other = in_turn(ours, against, min(stage.runs, axes - 1))
    return Figures(median(times[1:]), other)


def _put_files(vault: Vault, address: Address, work: Path) -> Path:
    """Put an axis's files into a work tree as the vault has them; returns their folder."""
    for entry in vault.repository.list(vault.tip, layout.folder(address), recursive=True):
        place = work / entry.path
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(vault.read_required(entry.path, vault.tip))
    return work / layout.folder(address)


@row(
    "ingest-tree",
    "ingest-tree, ten exports of each axis",
    "per file: csv, ruamel dump, GitPython add and commit",
    faster(5),
)
def ingest_tree(stage: Stage) -> Figures:
    tree = stage.tree
    every = max(1, tree.number // _SAMPLE)
    sample = tree.files[::every][:_SAMPLE]
    reference = references.FileByFile(stage.folder / "file-by-file")
    # The average file finds half of the axes there.
    half = {_axis_of(file, tree.exports): file for file in tree.files[: tree.number // 2]}
    reference.take_at_once(half, bulk.HEADINGS)

    def take(file: Path) -> None:
        reference.take(file, _axis_of(file, tree.exports), bulk.HEADINGS)

    times = [seconds(lambda file=file: take(file)) for file in sample]  # type: ignore[misc]
    reference.close()
    note = f"{tree.number:,} exports, one run; other side scaled from {len(sample)} files"
    return Figures(tree.seconds, median(times) * tree.number, note=note)


def _axis_of(export: Path, exports: Path) -> str:
    machine, axis, _ = export.relative_to(exports).parts
    return f"{machine}/{axis}"


@row(
    "memory",
    "peak memory of ingest-tree, ten exports of each axis",
    "the same with two exports of each axis",
    Reach(FLAT, ceiling=300e6),
)
def memory(stage: Stage) -> Figures:
    tree, short = stage.tree, stage.short_tree
    note = f"{tree.number:,} against {short.number:,} exports; under 300 MB and flat"
    return Figures(tree.peak_bytes, short.peak_bytes, "B", note)


@row(
    "disk-git",
    "vault on disk after housekeeping, twenty exports of each axis: git's part",
    "the exports zipped one by one",
    within(0.4),
)
def disk_of_git(stage: Stage) -> Figures:
    return _on_disk(stage, size_on_disk(stage.fleet / "objects"))


@row(
    "disk-index",
    "the same vault: the derived index, all entered",
    "the exports zipped one by one",
    within(0.2),
)
def disk_of_index(stage: Stage) -> Figures:
    with Vault.open(stage.fleet) as vault:
        vault.index.fill_values()
        _drifted(vault)  # enters what it found of every axis
    files = (stage.fleet / "axisvault").glob("index.sqlite*")
    return _on_disk(stage, sum(file.stat().st_size for file in files))


def _on_disk(stage: Stage, ours: int) -> Figures:
    number, zipped = stage.fleet_tree.number, stage.fleet_zipped
    note = f"{number:,} exports; each {ours // number:,} B, zipped {zipped // number:,} B"
    return Figures(ours, zipped, "B", note)


@row(
    "drift",
    "drift of a fleet, first look, one axis in twenty drifted",
    "load every pair with ruamel.yaml (C) and DeepDiff",
    faster(200),
)
def drift_first(stage: Stage) -> Figures:
    with Vault.open(stage.fleet) as vault:
        times = []
        for _ in range(min(stage.runs, 5)):
            vault.index.forget_assessments()
            ANSWERS.forget()
            times.append(seconds(lambda: _drifted(vault)))
        axes = vault.index.axes()
        sample = axes[:: max(1, len(axes) // _SAMPLE)]
        others = [seconds(lambda a=a: _load_pair(vault, a)) for a in sample]  # type: ignore[misc]
        note = f"{len(axes):,} axes; other side scaled from the median of {len(sample)} pairs"
        return Figures(median(times), median(others) * len(axes), note=note)


def _drifted(vault: Vault) -> None:
    if not any(axis.status == "drifted" for axis in drift(vault)):
        raise RuntimeError("nothing has drifted")


def _load_pair(vault: Vault, address: Address) -> None:
    path = layout.parameters_file(address)
    approval = vault.golden(address).approval
    if approval is None:
        raise RuntimeError(f"{address} has no baseline")
    references.diff_texts(
        vault.read_required(path, approval.snapshot), vault.read_required(path, vault.tip)
    )


@row(
    "history",
    "history of one parameter of one axis",
    "git log -p on its file, with a commit graph",
    faster(10),
)
def history(stage: Stage) -> Figures:
    with Vault.open(stage.fleet) as vault:
        address = vault.index.axes()[-1]
        log = ("log", "-p", vault.tip, "--", layout.parameters_file(address))
        plain = ("git", "-c", "commitGraph.readChangedPaths=false", *log)
        ours, other = in_turn(
            lambda: list(parameter_history(vault, address, "following_error_window")),
            lambda: program(*plain, folder=stage.fleet),
            stage.runs,
        )
        filtered = median(
            seconds(lambda: program("git", *log, folder=stage.fleet)) for _ in range(stage.runs)
        )
        note = (
            f"{vault.index.count():,} snapshots in the vault; with the changed-path filters that "
            f"the vault has, git takes {1000 * filtered:.1f} ms"
        )
        return Figures(ours, other, note=note)
