"""What is drawn is written in the words that the program reads: keys, units, names of roles."""

from __future__ import annotations

import ast
from pathlib import Path

from tests.oracle.cases import draw
from vault.behaviour.behave import load_themes
from vault.behaviour.facts import FACTS
from vault.model import role_table, role_table_drive
from vault.model.axis import AxisRecord


def names(tables: dict[str, str]) -> set[str]:
    return {row.split()[0] for rows in tables.values() for row in rows.splitlines() if row.strip()}


def test_every_drawn_record_is_an_axis_record() -> None:
    for case in draw(1, 300):
        record = AxisRecord.model_validate({"schema": "axisvault/axis/1", **case.record})
        assert not record.unknown


def test_every_setting_is_a_role_the_standard_has_no_object_for() -> None:
    drawn = {role.partition(".")[0] for case in draw(1, 300) for role in case.settings}
    assert drawn <= names(role_table_drive.ROWS)


def test_every_object_is_one_of_the_standard() -> None:
    known = set()
    for rows in role_table.ROWS.values():
        for row in filter(str.strip, rows.splitlines()):
            index, _, sub = row.split()[1].partition(":")
            known.add(f"0x{index}:{int(sub or 0):02X}")
    drawn = {address for case in draw(1, 300) for address in case.objects}
    assert drawn <= known


_FACT_OF = {
    "travel error k": "travel ratio",
    "travel error k {}": "travel ratio",
    "following error window": "way of a following error trip",
    "steady lag at {} speed": "lag at profile speed",
    "steady lag at profile speed": "lag at profile speed",
    "way in that time": "way in the following error time-out",
    "overrun at homing": "overrun of the homing switch",
    "time of the ramp": "time of the deceleration ramp",
    "distance of the software limits": "travel between the limits",
    "software limit beyond the hard stop": "room behind the software limits",
    "stroke between hard stops": "room behind the software limits",
    "highest speed": "commanded speed",
    "maximum speed": "commanded speed",
    "speed of the axis": "commanded speed",
    "motor speed": "speed at rated motor speed",
    "motor speed for a command": "travel ratio",
    "speed at the same motor speed": "speed at rated motor speed",
    "calibration": "travel ratio",
    "shift of every command": "travel ratio",
    "ratio of the {} factor": "travel ratio",
    "shift of every position": "way of a motor turn",
    "drop while nothing holds": "drop from a stand",
    "way of {}": "way of a quick stop",
    "time of {}": "time of a quick stop",
    "way of the stop": "way of a quick stop",
    "time of the stop": "time of a quick stop",
    "{} at the torque limit": "acceleration at the torque limit",
    "torque limit": "torque to hold the load",
    "torque to lift on the ramp": "torque to lift the load",
    "thrust": "thrust at the limit",
    "torque at the output": "thrust at the limit",
    "way before a switch is noticed": "way of a quick stop",
    "way until it is noticed": "way when the link is lost",
    "way in the difference": "way when the link is lost",
    "time bridged": "way when the link is lost",
    "velocity loop over position loop": "bandwidth of the velocity loop",
    "{} loop bandwidth ratio": "bandwidth of the velocity loop",
    "DC link at high mains": "highest voltage at rest",
    "power of a descent": "power that the duty gives back",
    "energy the DC link takes": "energy that the DC link takes",
    "time of the moves": "r.m.s. torque of the duty",
    "end of the moves": "r.m.s. torque of the duty",
    "way of the moves": "r.m.s. torque of the duty",
    "fastest move": "commanded speed",
    "highest commanded speed": "commanded speed",
    "fall of what nothing holds": "drop from a stand",
    "increments counted": "travel ratio",
    "increments fitted": "travel ratio",
}
"""Figures of sentences, and the fact that they are, or that is reckoned in the same way."""
_NO_MOTION = {
    "cycle", "have", "need", "floor", "stroke", "quantity", "p.name", "parameter.name",
    "reason.name", "{}: {}", "words", "limit", "limit moved by", "as fitted", "homing method",
    "inputs with {}", "{} bits fitted", "interval of the drive", "task period", "bus cycle",
    "update interval", "data {}", "current limit", "current at the torque limit",
    "motor rated current", "drive rated current", "{} over nameplate", "{} over fitted",
    "phases fed", "power of a pump or fan", "torque per ampere", "corner frequency",
    "notch frequency",
}  # fmt: skip
"""What is stated and not reckoned, told by a margin's own name, or a textbook's ratio of two."""
_OF_BOTH_SIDES_AND_TRIALS = {
    "allowed", "apart", "beyond the end", "bus cycle of the drive", "called(cycle[0])",
    "called(one.parameter)", "called(own.parameter)", "called(parameter)",
    "called(told.parameter)", "called(worst.parameter)", "commanded", "controller: {}",
    "counts in a unit of way", "counts of the controller", "direction by axis.yaml",
    "direction of the controller", "drop", "ends.name", "held against", "home offset",
    "homing direction of the controller", "homing method of the controller",
    "interval of set points", "limit.name", "measured", "multi-turn bits", "own.name",
    "position loop by the controller", "position loop by the mode", "ratio", "speed",
    "spread of home", "their way", "torque against the brake", "user unit by axis.yaml",
    "user unit of the controller",
    "values of the controller in its unit", "way by set and record", "way of a count",
    "{} of the controller",
}  # fmt: skip
"""What the controller's set says beside the drive's, and what was measured in a trial.

Nothing moves in these: they are held by cases with their arithmetic, in tests/meaning/checks
(test_controller_*) and tests/jobs/trials. What is expected of a trial is a fact of its own.
"""
_MAKERS = {"figure", "finding", "finding_in_turns", "finding_in_revolutions", "Finding"}


def printed() -> set[str]:
    """Names of all figures of sentences, with {} for what is filled in."""
    meaning = Path(__file__).parents[2] / "vault" / "meaning"
    calls = [
        node
        for path in meaning.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args
    ]
    return {_name(call.args[0]) for call in calls if ast.unparse(call.func) in _MAKERS}


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Constant):
        return str(node.value)
    if isinstance(node, ast.JoinedStr):
        return "".join(str(p.value) if isinstance(p, ast.Constant) else "{}" for p in node.values)
    return ast.unparse(node)


def test_every_quantity_that_a_sentence_prints_is_known_to_the_oracle() -> None:
    load_themes()
    known = set(FACTS) | set(_FACT_OF) | _NO_MOTION | _OF_BOTH_SIDES_AND_TRIALS
    assert not printed() - known
    assert set(_FACT_OF.values()) <= set(FACTS)
