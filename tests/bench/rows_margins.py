"""Rows about margins: a comparison that tells which moved, and those of many axes."""

from __future__ import annotations

from pathlib import Path

from example_machines import __file__ as example
from tests.bench import references
from tests.bench.load import looks_at_git
from tests.bench.measure import in_turn, seconds
from tests.bench.rows import Figures, faster, row, within
from tests.bench.stage import BY, Pair, Stage
from vault.jobs.inspect.spread import margin_spread
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family, set_axis
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State, resolve
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

_PLANT = Path(example).parent
_HOIST = Address("kiln-loader", "hoist")
"""An axis whose record says what margins ask for; that of the bulk set has none."""

_PARAMETERS = 300
_SETTINGS = ("2020-04-21-commissioning.txt", "2025-10-15-routine.txt")
_DUMMY = "1\tpad-{0:03d}\tSetting {0}\t{0}\t\t\t\t0\trw\r\n"


@row(
    "compare-margins",
    f"a whole comparison with margins, warm, {_PARAMETERS} parameters",
    "load both YAML with ruamel.yaml (C) and DeepDiff",
    faster(10),
)
def compare_margins(stage: Stage) -> Figures:
    pair = _pair(stage.folder)
    with Vault.open(pair.vault) as vault:

        def ours() -> None:
            left = resolve(vault, f"{_HOIST}@first")
            compared = compare_states(left, resolve(vault, str(_HOIST)))
            if not compared.comparison.margins:
                raise RuntimeError("no margin moved")

        differ = len(compare_states(*_sides(vault)).comparison.news)
        return Figures(
            *in_turn(ours, lambda: references.load_and_diff(pair.left, pair.right), stage.runs),
            note=f"the example plant's {_HOIST}, first and latest: {differ} settings differ",
        )


def _sides(vault: Vault) -> tuple[State, State]:
    return resolve(vault, f"{_HOIST}@first"), resolve(vault, str(_HOIST))


def _pair(folder: Path) -> Pair:
    """A vault of the hoist alone, with settings that say nothing up to the wanted number."""
    place = folder / "margins"
    kept = folder / "hoist-left.yaml", folder / "hoist-right.yaml"
    with Vault.create(place, "Bench", BY) as vault:
        add_family(vault, _PLANT / "families/larch.yaml", BY)
        set_axis(vault, _HOIST, _PLANT / f"machines/{_HOIST}.yaml", BY)
        for name, file in zip(_SETTINGS, kept, strict=True):
            export = folder / name
            text = (_PLANT / f"exports/{_HOIST}/{name}").read_bytes().decode("utf-16")
            lacking = _PARAMETERS - 157
            text += "".join(_DUMMY.format(number) for number in range(lacking))
            export.write_bytes(text.encode("utf-16"))
            found = ingest(vault, export, _HOIST, parse_visit(BY))
            if found.parameters != _PARAMETERS:
                raise RuntimeError(f"{found.parameters} parameters")
            content = vault.read_required(layout.parameters_file(_HOIST), found.snapshot.id)
            file.write_bytes(content)
    return Pair(place, _HOIST, *kept)


@row(
    "margins",
    "margins of all axes side by side, none changed since the last look",
    "git rev-parse HEAD, ten times",
    within(1),
)
def margins_of_all(stage: Stage) -> Figures:
    with Vault.open(stage.fleet) as vault:
        axes = len(vault.index.axes())
        first = seconds(lambda: margin_spread(vault, "*"))

        def ours() -> None:
            vault.refresh()
            if len(margin_spread(vault, "*").axes) != axes:
                raise RuntimeError("an axis is missing")

        note = f"{axes:,} axes; the first look took {first:.1f} s"
        return Figures(*in_turn(ours, lambda: looks_at_git(stage.fleet), stage.runs), note=note)
