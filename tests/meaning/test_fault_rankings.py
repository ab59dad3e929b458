"""What the audit suspects, held against worked rankings that a practitioner can read and correct.

The rankings are in `fault_rankings.yaml`, with the reason for each place; judgement is common
practice, no source. Axes and values are invented.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from copy import deepcopy
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.state.compare import built
from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.meaning.faults import Suspect, read_fault, suspects
from vault.meaning.record_entries import key_of
from vault.meaning.surrounding_consequences import explained
from vault.meaning.surroundings import surroundings
from vault.model.axis import AxisRecord
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.parameters_text import parameters_text
from vault.store.files.yaml_text import load

FILE = Path(__file__).with_name("fault_rankings.yaml")
_CHOICE, _NUMBER = re.compile(r"(.+) \((\d+)\)"), re.compile(r"(-?\d+(?:\.\d+)?)(?: (\S+))?")


@cache
def rankings() -> dict[str, Any]:
    content: dict[str, Any] = load(FILE.read_text(), str(FILE))
    return content


def named(situation: Mapping[str, Any]) -> str:
    return f"{situation['fault']} {situation['axis']}: {situation['case']}"


def parameter(role: str, written: object) -> Parameter:
    """`Yes (1)` is a choice, `60 mm` a quantity, anything else text."""
    text = str(written)
    if choice := _CHOICE.fullmatch(text):
        number = int(choice[2])
        return Parameter(role, role, number, number, role, None, choice[1])
    if quantity := _NUMBER.fullmatch(text):
        value = Decimal(quantity[1]) if "." in quantity[1] else int(quantity[1])
        return Parameter(role, role, value, value, role, quantity[2])
    return Parameter(role, role, text, text, role)


def view(axis: Mapping[str, Any], written: Mapping[str, object]) -> AxisView:
    parameters = [parameter(role, value) for role, value in written.items()]
    record = AxisRecord.model_validate({"schema": "axisvault/axis/1", **axis["record"]})
    text = parameters_text(ParameterSet(parameters))
    written_record = str(axis["record"]).encode()
    return AxisView("x", text, axis_text=written_record, read_axis=lambda _: record)


def rewrite(record: dict[str, Any], key: str, before: str, after: str) -> None:
    """Change an entry of an axis record; `-` stands for none."""
    *sections, name = key.split(".")
    section: Any = record
    for part in sections:
        section = section.setdefault(part, {}) if isinstance(section, dict) else section[int(part)]
    assert str(section.get(name, "-")) == before, f"{key} is {section.get(name)} on that axis"
    section.pop(name, None)
    if after != "-":
        section[name] = load(after, key) if after[0].isalnum() or after[0] in "-[{" else after


def suspected(fault: str, left: AxisView, right: AxisView) -> list[Suspect]:
    """What can explain a standard fault between two states, with their axis records."""
    one, other = (built(side.axis) for side in (left, right))
    around = explained(surroundings(one, other), left.axis, right.axis)
    return suspects(compare(left, right).changes, read_fault(fault, None), left, right, around)


def ranked(situation: Mapping[str, Any]) -> list[Suspect]:
    """What the audit suspects: both states built, compared, and asked."""
    axis = rankings()["axes"][situation["axis"]]
    left, right = dict(axis["set"]), dict(axis["set"])
    record = deepcopy(axis["record"])
    for role, change in situation["changes"].items():
        before, after = change.split(" -> ")
        assert str(left[role]) == before, f"{role} is {left[role]} on that axis"
        right[role] = after
    for key, change in situation.get("record", {}).items():
        rewrite(record, key, *change.split(" -> "))
    views = view(axis, left), view({"record": record}, right)
    return suspected(situation["fault"], *views)


@pytest.mark.parametrize("situation", rankings()["situations"], ids=named)
def test_the_audit_suspects_what_a_practitioner_would(situation: Mapping[str, Any]) -> None:
    found = ranked(situation)
    told = "\n".join(f"{s.score:.3f} {s.name}: {s.why}" for s in found)
    assert [s.name for s in found] == list(situation["order"]), told
    why = {s.name: s.why for s in found}
    for role, text in situation.get("says", {}).items():
        assert text in why[role]


def test_every_change_of_a_situation_has_its_place() -> None:
    for situation in rankings()["situations"]:
        placed = [*situation["order"], *situation.get("none", {})]
        assert len(placed) == len(set(placed)), named(situation)
        changed = {*situation["changes"], *map(key_of, situation.get("record", {}))}
        assert set(placed) >= changed, named(situation)  # others were shifted


FAULTS = (
    "8611h", "8400h", "8612h", "3210h", "3220h", "2310h", "7121h", "7305h", "8130h", "5441h",
    "4310h",
)  # fmt: skip
DISCRETE = {
    "motor_pole_pairs", "encoder_direction", "polarity", "homing_method", "node_address",
    "bit_rate", "supply_phases", "brake_used", "braking_resistor_used", "encoder_type",
    "digital_outputs_mask", "digital_input_inverted.3",
}  # fmt: skip
"""What is another thing, and not more or less of one."""


@pytest.mark.parametrize("fault", FAULTS)
def test_there_are_situations_enough_of_each_fault(fault: str) -> None:
    """One with a change of the machine, and one where discrete changes compete with thresholds."""
    some = [one for one in rankings()["situations"] if one["fault"] == fault]
    assert len(some) >= 3
    assert any(one.get("record") for one in some)
    assert any(
        DISCRETE & set(one["order"]) and len(set(one["order"]) - DISCRETE) > 0 for one in some
    )
