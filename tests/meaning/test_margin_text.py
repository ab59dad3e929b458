"""How margins are told: order, ratios that are not rounded over the edge, the reader's units."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from math import inf
from pathlib import Path

import pytest

from vault.behaviour.behave import load_themes, margins_of
from vault.behaviour.facts import MARGINS, Bound, Figure, Held, Margin, ratio_of
from vault.jobs.state.selectors import resolve, view_of
from vault.meaning.margin_text import (
    hedges_in,
    held_text,
    ordered,
    protects_here,
    ratio_text,
    standing,
    standing_of,
    summary,
    title_of,
)
from vault.meaning.missing_words import is_record_key, to_enter
from vault.meaning.reader import reading_in
from vault.model import roles
from vault.model.axis import AxisRecord
from vault.store.vault import Vault

ROOM = Margin("stop_room", "stop", "protects", 0.025, 0.02, "m", 1.25, "exact", "a against b")


def named(name: str, ratio: float | None, *, protects: bool = True) -> Margin:
    return replace(
        ROOM, name=name, ratio=ratio, kind="protects" if protects else "availability",
        bound="exact" if ratio is not None else "unknown",
    )  # fmt: skip


def test_what_protects_comes_first_then_what_keeps_running_then_what_cannot_be_told() -> None:
    found = ordered(
        [
            named("a", None), named("b", 0.2, protects=False), named("c", 3.0), named("d", 0.9),
            named("e", None, protects=False), named("f", inf, protects=False),
        ]
    )  # fmt: skip
    assert [margin.name for margin in found] == ["d", "c", "b", "f", "a", "e"]


def test_what_is_equal_stands_in_the_order_of_themes_and_then_of_names() -> None:
    """The order that modules were imported in says nothing."""
    equal = [
        replace(named(name, ratio), theme=theme)
        for ratio in (None, 2.0)
        for name, theme in (("b", "stop"), ("z", "speed"), ("a", "stop"), ("k", "no theme"))
    ]
    found = [margin.name for margin in ordered(equal)]
    assert found == ["z", "a", "b", "k"] * 2


@pytest.mark.parametrize(
    ("ratio", "bound", "stands"),
    [
        (0.8, "exact", "short"),
        (0.8, "up_to", "short"),
        (0.8, "at_least", "may be short"),
        (0.8, "unknown", "may be short"),
        (1.2, "exact", "holds"),
        (1.2, "at_least", "holds"),
        (1.2, "up_to", "may be short"),
        (inf, "exact", "holds"),
        (0.0, "exact", "short"),
        (None, "unknown", "cannot be told"),
    ],
)
def test_a_bound_that_leaves_it_open_is_not_told_as_sure(
    ratio: float | None, bound: Bound, stands: str
) -> None:
    assert standing(replace(ROOM, ratio=ratio, bound=bound)) == stands


@pytest.mark.parametrize(
    ("ratio", "bound", "floor", "stands"),
    [
        (1.57, "at_least", "2", "below its floor"),
        (1.57, "exact", "1.57", "holds"),
        (3.0, "up_to", "2.5", "may be below its floor"),
        (1.5, "up_to", "2", "may be short"),
        (0.8, "exact", "2", "short"),
        (2.5, "at_least", "2", "holds"),
    ],
)
def test_what_is_below_its_floor_does_not_hold(
    ratio: float, bound: Bound, floor: str, stands: str
) -> None:
    assert standing(replace(ROOM, ratio=ratio, bound=bound), Decimal(floor)) == stands


def test_what_needs_somebody_comes_before_what_holds() -> None:
    margins = [named("holds", 1.2), named("low", 1.57), named("short", 0.9)]
    found = ordered(margins, {"low": Decimal(2)})
    assert [margin.name for margin in found] == ["short", "low", "holds"]


def test_the_answer_is_one_line() -> None:
    open_ = replace(named("a", 0.678), bound="at_least")
    held = [
        (open_, None), (replace(open_, name="b", ratio=0.7), None),
        (named("c", 0.9, protects=False), None), (named("d", 1.57), Decimal(2)),
        (named("e", None), None), (named("f", 3.0), Decimal(2)),
    ]  # fmt: skip
    assert summary(held) == (
        "6 margins: 1 short of 1, 2 may be short (all protect), 1 below its floor, "
        "1 cannot be told. The least is a: at least 0.678."
    )
    assert summary([]) == "0 margins: 0 short of 1."


@pytest.mark.parametrize(
    ("have", "need", "ratio", "bound"),
    [
        (-0.575, Figure(0.0556, "m", "", "up_to"), -10.3, "up_to"),  # less need leaves less
        (0.0, Figure(0.0556, "m", "", "up_to"), 0.0, "exact"),
        (0.045, Figure(0.036, "m", "", "up_to"), 1.25, "at_least"),
    ],
)
def test_what_is_below_zero_is_short_for_certain(
    have: float, need: Figure, ratio: float, bound: Bound
) -> None:
    found, bounded = ratio_of(Held(Figure(have, "m", ""), need))
    assert (found, bounded) == (pytest.approx(ratio, abs=0.05), bound)
    assert standing_of(found, bounded) == ("holds" if ratio > 1 else "short")


@pytest.mark.parametrize(
    ("ratio", "bound", "text"),
    [
        (0.69178, "exact", "0.692"),
        (8.5427, "at_least", "at least 8.54"),
        (1.25, "up_to", "up to 1.25"),
        (1.25, "unknown", "about 1.25"),
        (0.99962, "exact", "0.9996"),
        (0.9999987, "exact", "0.999999"),
        (1 - 1e-12, "exact", "1"),
        (395.397, "exact", "395"),
        (inf, "exact", "no limit"),
        (-10.3, "up_to", "below 0"),
        (-inf, "exact", "nothing left"),
        (0.0, "exact", "0"),
        (None, "unknown", "cannot be told"),
    ],
)
def test_a_ratio_below_1_never_reads_as_1(ratio: float | None, bound: Bound, text: str) -> None:
    assert ratio_text(ratio, bound) == text


def test_figures_are_told_in_the_readers_units() -> None:
    assert held_text(ROOM) == "25 mm against 20 mm"
    with reading_in("si"):
        assert held_text(ROOM) == "0.025 m against 0.02 m"
    with reading_in("inch"):  # an inch is 25.4 mm exactly (NIST SP 811, B.6)
        inch = replace(ROOM, have=0.0254, need=0.0508)
        assert held_text(inch) == "1 in against 2 in"
    assert held_text(replace(ROOM, have=0.06, need=2.0, unit="s")) == "60 ms against 2 s"
    assert held_text(replace(ROOM, have=10.0, need=0.95, unit="1")) == "10 against 0.95"
    assert held_text(replace(ROOM, have=58.6, need=20.0, unit="deg")) == "58.6 deg against 20 deg"
    assert held_text(replace(ROOM, need=inf)) == "25 mm against a way without end"


def test_a_title_is_that_of_the_register() -> None:
    load_themes()
    assert title_of("stop_room") == MARGINS["stop_room"].title
    assert title_of("no_such_margin") == "no_such_margin"


def test_hedges_are_told_one_by_one_each_with_where_to_look() -> None:
    hedge = "torque goes with current; jerk may act on stops; see the drive's manual; a third"
    assert hedges_in(hedge) == [
        "torque goes with current", "jerk may act on stops; see the drive's manual", "a third",
    ]  # fmt: skip
    assert hedges_in("") == []


def test_what_to_enter_is_said_in_words() -> None:
    assert to_enter("motor.inertia").text == "motor.inertia (the rotor's inertia, from the "\
        "motor's plate)"  # fmt: skip
    assert to_enter("motor.inertia").in_record
    found = to_enter("following_error_window")
    assert not found.in_record
    assert "(following_error_window, 0x6065:00)" in found.text  # CiA 402-2, from memory
    assert to_enter("mechanics.unheard_of").text == "mechanics.unheard_of"
    assert to_enter("unheard_of_role").words == "unheard of role"


def test_whatever_a_margin_of_the_works_rests_on_is_a_role_or_a_key_of_the_record(
    works: Path,
) -> None:
    """A key that is taken for a role would be sent to the dictionary instead of the record."""
    with Vault.open(works) as vault:
        margins = [
            margin
            for address in vault.axes()
            for margin in margins_of(view_of(resolve(vault, str(address))).state).values()
        ]
    names = {name for margin in margins for name in (*margin.rests_on, *margin.missing)}
    keys = {name for name in names if is_record_key(name)}
    assert all(roles.find(name) for name in names - keys - {"scaling", "shift"})
    assert {name.partition(".")[0] for name in keys} <= set(AxisRecord.model_fields)
    assert len(keys) > 20


@pytest.mark.parametrize(
    ("name", "protects", "here"),
    [("descent", True, True), ("descent", False, False), ("stop_room", True, False),
     ("of_no_theme", True, False)],
)  # fmt: skip
def test_what_usually_keeps_running_protects_where_a_load_hangs(
    name: str, protects: bool, here: bool
) -> None:
    assert protects_here(named(name, 2.0, protects=protects)) is here


@pytest.mark.parametrize(
    ("ratios", "says"),
    [
        (((0.9, True),), "1 short of 1 (1 protects)"),
        (((0.9, True), (0.8, True)), "2 short of 1 (all protect)"),
        (((0.9, True), (0.8, True), (0.7, False)), "3 short of 1 (2 protect)"),
        (((0.9, False), (0.8, False)), "2 short of 1"),
    ],
)
def test_what_is_short_is_counted_with_what_of_it_protects(
    ratios: tuple[tuple[float, bool], ...], says: str
) -> None:
    found = [named(f"m{n}", ratio, protects=own) for n, (ratio, own) in enumerate(ratios)]
    text = summary([(margin, None) for margin in found])
    assert says in text
    assert f"{says} (" not in text
