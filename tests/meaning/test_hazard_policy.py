"""What counts as a hazard is the site's choice: `hazards:` of vault.yaml."""

from __future__ import annotations

from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET, view_of
from tests.meaning.checks.sets import Setting
from vault.behaviour.facts import Kind, Margin
from vault.meaning.classes import reason_of
from vault.meaning.compare import compare
from vault.meaning.margin_moves import MarginMove, moves
from vault.model.errors import Unreadable
from vault.model.hazard_policy import HazardPolicy
from vault.store.files.edited_files import read_site

SITE = b"schema: axisvault/vault/1\nsite: Tile works\nhazards: "


def class_of_ramp(after: str, policy: HazardPolicy) -> str:
    """The class of a weaker quick stop ramp of the lift, before at 4000 mm/s^2."""
    sides = [
        view_of({**LIFT_SET, "quick_stop_deceleration": ramp}, LIFT_RECORD)
        for ramp in ("4000 mm/s^2", after)
    ]
    for side in sides:
        side.policy = policy
    (found,) = compare(*sides).changes
    return found.consequence


@pytest.mark.parametrize(
    ("share", "expected"), [(0.05, "dynamics"), (0.005, "hazard"), (0.5, "dynamics")]
)
def test_a_smaller_material_share_makes_a_hazard_of_a_small_loss(
    share: float, expected: str
) -> None:
    # A ramp 2.5 % weaker lengthens a stop by about as much: less than a twentieth of the room.
    assert class_of_ramp("3900 mm/s^2", HazardPolicy(material_share=share)) == expected


@pytest.mark.parametrize(
    ("before", "after", "comfort", "why"),
    [
        (1.8, 1.4, 1.5, "loses"), (1.8, 1.4, 1.3, None), (1.8, 1.6, 1.7, "loses"),
        (1.4, 1.35, 1.5, None), (1.2, 0.9, 1.0, "below"),
    ],
)  # fmt: skip
def test_above_the_comfort_ratio_a_margin_may_shrink(
    before: float, after: float, comfort: float, why: str | None
) -> None:
    sides = [
        Margin("stop_room", "stop", "protects", ratio, 1.0, "m", ratio, "exact", "")
        for ratio in (before, after)
    ]
    found = reason_of(MarginMove("stop_room", *sides), HazardPolicy(comfort_ratio=comfort))
    assert (found.why if found is not None else None) == why


def test_a_site_writes_its_own() -> None:
    found = read_site(SITE + b"{material_share: 0.02, comfort_ratio: 2}", "vault.yaml")
    assert found.hazards == HazardPolicy(0.02, 2)
    assert read_site(SITE.rpartition(b"\n")[0], "vault.yaml").hazards == HazardPolicy()


@pytest.mark.parametrize(
    "written",
    [
        b"{material_share: 0}", b"{material_share: 0.6}", b"{material_share: .nan}",
        b"{comfort_ratio: 0.9}", b"{comfort_ratio: .inf}", b"{share: 0.1}",
        b"{material_share: five}",
    ],
)  # fmt: skip
def test_what_makes_no_sense_is_refused_with_its_line(written: bytes) -> None:
    with pytest.raises(Unreadable) as refused:
        read_site(SITE + written, "vault.yaml")
    assert (refused.value.file, refused.value.line) == ("vault.yaml", 3)


def margin(
    ratio: float | None, name: str = "stop_room", kind: Kind = "protects", **more: Any
) -> Margin:
    return Margin(name, "stop", kind, ratio, 1.0, "m", ratio, "exact", "", **more)


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        (1.0, 0.99, "below"),
        (0.9, 0.8, "loses"),  # below already, and more is lost
        (0.9, 0.88, None),  # less than the material share of 5 %
        (0.9, 0.95, None),
        (0.0, -1.0, None),  # of nothing nothing more is lost
        (2.0, 1.5, None),  # 1.5 is comfortable
        (2.0, 1.49, "loses"),
        (1.4, 1.33, None),  # 1.4 x 0.95: no more than the share
        (1.4, 1.32, "loses"),
        (2.0, 1.0, "loses"),
        (None, 0.9, "below"),
        (None, 1.2, None),
        (1.2, None, None),
    ],
)
def test_a_margin_that_protects_is_no_hazard_until_it_loses_what_matters(
    before: float | None, after: float | None, why: str | None
) -> None:
    move = MarginMove("phase", margin(before, "phase", missing=("a",)), margin(after, "phase"))
    found = reason_of(move, HazardPolicy())
    assert (found.why if found is not None else None) == why
    for other in (
        MarginMove("phase", margin(before, "phase"), margin(after, "phase", "availability")),
        MarginMove("phase", margin(before, "phase"), None),
    ):
        assert reason_of(other, HazardPolicy()) is None


def test_the_speed_of_a_machine_may_shrink_to_its_edge() -> None:
    """It is a limit that somebody set: down to 1 nothing is lost."""
    name = "machine_speed"
    for after, why in ((1.0, None), (0.99, "below")):
        found = reason_of(MarginMove(name, margin(2.0, name), margin(after, name)), HazardPolicy())
        assert (found.why if found is not None else None) == why


@pytest.mark.parametrize(
    ("name", "hazard"),
    [
        *((name, False) for name in ("stop_room", "fault_room", "link_room", "trip_room",
          "drop_room", "brake_hold", "brake_apply", "stop_time", "safe_stop_delay")),
        ("phase", True), ("limits_in_stroke", True),
    ],
)  # fmt: skip
def test_a_protection_that_is_new_is_no_loss(name: str, *, hazard: bool) -> None:
    for before in (None, margin(None, name)):
        found = reason_of(MarginMove(name, before, margin(0.5, name)), HazardPolicy())
        assert (found is not None) is hazard
    untold = MarginMove(name, margin(None, name, missing=("mechanics.stroke",)), margin(0.5, name))
    found = reason_of(untold, HazardPolicy())
    assert found is not None
    assert (found.why, found.before, found.after) == ("below", None, 0.5)


@pytest.mark.parametrize(
    ("before", "after", "moved"),
    [(1.0, 1.0, False), (1.0, 1.1, True), (1.0, 1 + 1e-10, False), (1e6, 1e6 + 1, True),
     (-1.0, 1.0, True), (None, None, False), (None, 1.0, True), (1.0, None, True)],
)  # fmt: skip
def test_a_margin_moves_where_its_ratio_is_another_one(
    before: float | None, after: float | None, *, moved: bool
) -> None:
    move = MarginMove("stop_room", margin(before), margin(after))
    assert (move.moves, move.turned.moves) == (moved, moved)
    found = moves({"stop_room": margin(before)}, {"stop_room": margin(after)})
    assert found == ((move,) if moved else ())


def test_a_move_has_the_margin_of_either_side() -> None:
    one, other = margin(1.2), margin(1.4)
    assert MarginMove("stop_room", one, other).margin == other
    assert MarginMove("stop_room", one, other).turned == MarginMove("stop_room", other, one)
    assert MarginMove("stop_room", one, None).margin == one
    with pytest.raises(ValueError, match="without margins"):
        _ = MarginMove("stop_room", None, None).margin
    assert [m.name for m in moves({"a": one}, {"b": one})] == ["a", "b"]


@pytest.mark.parametrize(
    ("role", "before", "after", "consequence"),
    [
        ("brake_apply_delay", "60 ms", "57 ms", "dynamics"),  # a twentieth is borne
        ("brake_apply_delay", "60 ms", "56 ms", "hazard"),
        ("brake_apply_delay", "60 ms", "70 ms", "electrical"),
        ("brake_torque", "10 N*m", "9 N*m", "hazard"),
        ("brake_torque", "9 N*m", "10 N*m", "electrical"),
        ("following_error_time_out", "100 ms", "105 ms", "dynamics"),
        ("following_error_time_out", "100 ms", "106 ms", "hazard"),
        ("following_error_time_out", "100 ms", "80 ms", "dynamics"),
        ("fieldbus_timeout", "4 ms", "5 ms", "hazard"),
        ("fieldbus_timeout", "5 ms", "4 ms", "link"),
        ("digital_input_filter_time", "2 ms", "3 ms", "hazard"),
        ("digital_input_filter_time", "3 ms", "2 ms", "dynamics"),
        ("quick_stop_deceleration", "4000 mm/s^2", "3000 mm/s^2", "hazard"),
        ("quick_stop_deceleration", "4000 mm/s^2", "5000 mm/s^2", "dynamics"),
        ("max_deceleration", "4000 mm/s^2", "3000 mm/s^2", "hazard"),
        ("guard_time", "100 ms", "200 ms", "hazard"),
        ("life_time_factor", 3, 4, "hazard"),
        ("life_time_factor", 4, 3, "link"),
        ("missed_update_limit", 3, 4, "hazard"),
        ("missed_update_limit", 4, 3, "link"),
    ],
)
def test_without_a_record_what_protects_less_cannot_be_told_and_is_a_hazard(
    role: str, before: Setting, after: Setting, consequence: str
) -> None:
    sides = (view_of({**LIFT_SET, role: setting}) for setting in (before, after))
    (found,) = compare(*sides).changes
    assert found.consequence == consequence


@pytest.mark.parametrize(
    ("role", "before", "after", "consequence"),
    [
        ("brake_apply_delay", "60 ms", "57 ms", "electrical"),  # 57 for 40 ms: less than 1.5
        ("brake_apply_delay", "60 ms", "56 ms", "hazard"),
        ("brake_apply_delay", "80 ms", "70 ms", "electrical"),  # 1.75 times is comfortable
        ("brake_torque", "10 N*m", "9 N*m", "electrical"),
        ("following_error_time_out", "10 ms", "11 ms", "dynamics"),
        ("fieldbus_timeout", "4 ms", "5 ms", "link"),
        ("digital_input_filter_time", "2 ms", "3 ms", "travel"),
        ("guard_time", "100 ms", "200 ms", "link"),
    ],
)
def test_with_a_record_it_counts_by_what_it_takes_of_the_room(
    role: str, before: Setting, after: Setting, consequence: str
) -> None:
    sides = (view_of({**LIFT_SET, role: setting}, LIFT_RECORD) for setting in (before, after))
    (found,) = compare(*sides).changes
    assert found.consequence == consequence


def test_what_lets_the_axis_run_without_end_is_a_hazard() -> None:
    for before, after, consequence in (("4 ms", "0 ms", "hazard"), ("0 ms", "4 ms", "link")):
        sides = (
            view_of({**LIFT_SET, "fieldbus_timeout": time}, LIFT_RECORD) for time in (before, after)
        )
        (found,) = compare(*sides).changes
        assert found.consequence == consequence


@pytest.mark.parametrize(
    ("before", "after", "protects", "hazard"),
    [(2500, 2600, True, False), (2500, 2630, True, True), (2500, 3000, False, False),
     (3000, 2500, True, False)],
)  # fmt: skip
def test_a_limit_that_protects_may_grow_by_the_material_share(
    before: int, after: int, *, protects: bool, hazard: bool
) -> None:
    limits = ("max_torque", "positive_torque_limit", "negative_torque_limit")
    record = {**LIFT_RECORD, "force_protects": protects}
    sides = [view_of({**LIFT_SET, **dict.fromkeys(limits, n)}, record) for n in (before, after)]
    found = compare(*sides).changes
    assert ("hazard" in {change.consequence for change in found}) is hazard
