"""What of a parameter set goes into a drive, and what never does; definitions are invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from example_machines import FAMILIES
from vault.meaning.loading import never_loaded, only_fitted, transfer, worst_first
from vault.model.datatypes import BY_NAME
from vault.model.export import Scalar
from vault.model.normalise import Definition, family_definitions
from vault.model.parameters import Parameter
from vault.store.files.edited_files import read_family


def definition(code: str = "x", kind: str = "UNSIGNED16", **more: Any) -> Definition:
    usual: dict[str, Any] = {
        "name": code, "role": None, "data_type": BY_NAME[kind], "scale": Decimal(1),
        "unit": None, "choices": {},
    }  # fmt: skip
    return Definition(code, **{**usual, **more})


def parameter(
    value: Scalar, code: str = "x", unit: str | None = None, label: str | None = None
) -> Parameter:
    return Parameter(code, code, value, value, None, unit, label)


def one(target: Parameter, there: Definition, kept: Definition | None = None) -> Any:
    (row,) = transfer([target], {target.code: kept or there}, {there.code: there})
    return row


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({}, None),
        ({"access": "ro"}, "read_only"),
        ({"access": "const"}, "read_only"),
        ({"volatile": True}, "live"),
        ({"group": "identity"}, "identity"),
        ({"safety": True}, "safety"),
        ({"group": "safety"}, "safety"),
        ({"role": "safe_limited_speed"}, "safety"),
        ({"role": "position_actual_value"}, "live"),
        ({"role": "serial_number"}, "identity"),
        # A safety function that is read-only or live is one first of all.
        ({"safety": True, "access": "ro"}, "safety"),
        ({"safety": True, "volatile": True}, "safety"),
    ],
)
def test_what_is_never_prepared(more: dict[str, Any], why: str | None) -> None:
    assert never_loaded(definition(**more)) == why
    row = one(parameter(5), definition(**more))
    assert (row.why_never, row.loaded is None) == (why, why is not None)
    assert row.status == ("exact" if why is None else "never")


def test_no_dictionary_of_the_example_prepares_a_safety_function() -> None:
    """Every parameter that a dictionary puts into the group safety, by each firmware."""
    seen = 0
    for path in sorted(FAMILIES.glob("*.yaml")):
        family = read_family(path.read_bytes(), path.name)
        for firmware in ("1.0.0", "3.0.2", "9.9.9"):
            for known in family_definitions(family, firmware).values():
                if known.group == "safety":
                    assert never_loaded(known) == "safety"
                    seen += 1
    assert seen > 20


def test_a_firmware_without_the_parameter_is_no_equivalent() -> None:
    (row,) = transfer([parameter(5)], {"x": definition()}, {})
    assert (row.status, row.loaded) == ("no_equivalent", None)
    assert row.reason == "the fitted firmware has no such parameter"


def test_a_value_of_another_step_is_written_anew() -> None:
    """2.5 in steps of 0.1 is 25, in steps of 0.01 it is 250."""
    before, after = (definition(scale=Decimal(s), unit="mm") for s in ("0.1", "0.01"))
    target = Parameter("x", "x", Decimal("2.5"), 25, None, "mm")
    row = one(target, after, before)
    assert (row.status, row.loaded.raw) == ("exact", 250)


def test_a_value_in_another_unit_is_converted() -> None:
    target = Parameter("x", "x", Decimal("2.5"), 25, None, "mm")
    row = one(target, definition(unit="um", kind="UNSIGNED32"))
    assert (row.status, row.loaded.raw, row.loaded.unit) == ("exact", 2500, "um")


def test_units_that_do_not_compare_need_a_decision() -> None:
    row = one(parameter(5, unit="mm"), definition(unit="r/min"))
    assert (row.status, row.loaded) == ("decision", None)
    assert "it is in r/min there" in row.reason


def test_what_lies_beyond_the_range_is_left_out_and_the_limit_offered() -> None:
    row = one(parameter(500, unit="mm"), definition(unit="mm", high=Decimal(300)))
    assert (row.status, row.loaded, row.offered.raw) == ("out_of_range", None, 300)
    assert "the nearest that the drive takes is 300 mm" in row.reason


def test_a_rounded_value_says_by_how_much() -> None:
    target = Parameter("x", "x", Decimal("2.504"), 2504, None, "mm")
    row = one(target, definition(unit="mm", scale=Decimal("0.01")))
    assert (row.status, row.loaded.raw) == ("rounded", 250)
    assert row.reason == "rounded to 2.5 mm: -0.004 mm off, -0.4 of a step"


def test_a_choice_goes_by_its_meaning() -> None:
    there = definition(choices={1: "Ramp", 7: "coast"})
    assert one(parameter(2, label="Coast"), there).loaded.raw == 7
    unknown = one(parameter(2, label="Hold"), there)
    assert (unknown.status, unknown.loaded) == ("decision", None)
    assert one(parameter(7), there).loaded.raw == 7


def test_text_stays_text() -> None:
    assert one(parameter("lift"), definition(kind="VISIBLE_STRING")).loaded.raw == "lift"
    assert one(parameter("lift"), definition()).status == "decision"


def test_settings_that_only_the_drive_has_are_told_but_not_what_is_never_loaded() -> None:
    there = {d.code: d for d in (definition("a"), definition("b"), definition("c", access="ro"))}
    assert [d.code for d in only_fitted([parameter(1, "a")], there)] == ["b"]


def test_rows_stand_worst_first() -> None:
    roles = {"a": "node_address", "b": "brake_used", "c": "profile_velocity", "d": None}
    known = {c: definition(c) for c in roles}
    targets = [replace(parameter(1, c), role=role) for c, role in roles.items()]
    rows = transfer(targets, known, known)
    assert [row.target.code for row in worst_first(rows)] == ["b", "d", "c", "a"]


CHOICES = {1: "Index pulse", 2: "Switch", 3: "switch"}


@pytest.mark.parametrize(
    ("target", "status", "raw", "said"),
    [
        (parameter(7, label="Index Pulse"), "exact", 1, ""),
        (parameter(2, label="Switch"), "exact", 2, ""),  # of two of that name its own number
        (parameter(3, label="Switch"), "exact", 3, ""),
        (parameter(7, label="Switch"), "decision", None, "none of the 3 choices there"),
        (parameter(1, label="Here"), "decision", None, 'is called "Here"'),
        (parameter(2), "exact", 2, ""),
        (parameter(Decimal("2.5")), "decision", None, "a choice there, a number here"),
        (parameter("two"), "decision", None, "text on one side, a number on the other"),
    ],
)
def test_a_choice_is_found_by_its_name_and_then_by_its_number(
    target: Parameter, status: str, raw: int | None, said: str
) -> None:
    row = one(target, definition(choices=CHOICES))
    assert row.status == status
    assert said in row.reason
    assert (row.loaded.raw if row.loaded is not None else None) == raw


def test_a_row_shows_what_is_loaded_else_what_was_wanted() -> None:
    loaded = one(parameter(5, unit="mm"), definition(unit="um"))
    assert (loaded.shown, loaded.shown.value) == (loaded.loaded, 5000)
    never = one(parameter(5), definition(access="ro"))
    assert never.shown == never.target
    assert never.was_set
    assert never.reason == "the drive sets it itself"


def test_settings_of_another_family_are_matched_by_role() -> None:
    there = {"p": definition("p", role="brake_used"), "q": definition("q", role="polarity")}
    known = replace(parameter(1, "q"), role="brake_used")
    assert [d.code for d in only_fitted([known], there, by_role=True)] == ["q"]
    assert [d.code for d in only_fitted([known], there)] == ["p"]


@pytest.mark.parametrize(
    ("value", "kind", "reason"),
    [
        (Decimal("2.5"), "UNSIGNED16", "rounded to 2 mm: -0.5 mm off, -0.5 of a step"),
        (Decimal("2.25"), "UNSIGNED16", "rounded to 2 mm: -0.25 mm off, -0.25 of a step"),
        (70000, "UNSIGNED16", "beyond the range there; the nearest that the drive takes is 65,535"),
        (-1, "UNSIGNED16", "beyond the range there; the nearest that the drive takes is 0 mm"),
    ],
)
def test_what_a_drive_cannot_hold_says_by_how_much(value: Scalar, kind: str, reason: str) -> None:
    row = one(parameter(value, unit="mm"), definition(kind=kind, unit="mm"))
    assert row.reason.startswith(reason)
    assert row.status == ("rounded" if "rounded" in reason else "out_of_range")
    assert (row.offered is None) is (row.status == "rounded")


def test_a_choice_where_there_is_none_needs_a_decision() -> None:
    row = one(parameter(1, label="On"), definition())
    assert (row.status, row.loaded) == ("decision", None)
    assert "none of the 0 choices" in row.reason
