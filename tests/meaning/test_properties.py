"""Laws that every comparison of whole parameter sets obeys, on generated sets.

Completeness is held against DeepDiff, sizes against `tests.meaning.drives`.
"""

from __future__ import annotations

import random
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.meaning.drives import (
    ACCELERATIONS,
    LENGTHS,
    LIVE,
    POSITIONS,
    R_MIN,
    REAL_STEP,
    RESCALINGS,
    REV_S,
    REV_S2,
    SCALES,
    TURNS,
    UNITS,
    VELOCITIES,
    Drive,
    Machine,
    Number,
    by_code,
    compared,
    drives,
    machines,
    measured,
    motor_turn,
    pairs,
    silent,
    unit_sizes,
    unknowing,
    view,
)
from tests.meaning.test_compare import MIRROR
from tests.sweeps import part_of
from vault.meaning.compare import compare

whole_sets = settings(max_examples=part_of(40, 2), deadline=None)


# 1. A set does not differ from itself.


@whole_sets
@given(drives(), unknowing)
def test_a_set_does_not_differ_from_itself(drive: Drive, machine: Machine) -> None:
    found = compared(drive, drive, machine)
    assert (found.changes, found.causes) == ((), ())
    assert found.equal == len(drive.parameters())


# 2. The other way round is the mirror image.


@whole_sets
@given(pairs(), unknowing, unknowing, st.booleans())
def test_the_other_way_round_mirrors_changes_and_causes(
    sets: tuple[Drive, Drive], machine: Machine, other: Machine, one_machine: bool
) -> None:
    other = machine if one_machine else other
    there = compared(sets[0], sets[1], machine, other)
    back = compared(sets[1], sets[0], other, machine)
    mirror = by_code(back)
    assert set(by_code(there)) == set(mirror)
    for code, change in by_code(there).items():
        twin = mirror[code]
        assert twin.kind == MIRROR.get(change.kind, change.kind)
        assert (twin.left, twin.right) == (change.right, change.left)
        assert twin.cause == change.cause
        assert twin.ratio == (None if change.ratio is None else 1 / change.ratio)
        if change.difference is None or twin.difference is None:
            assert change.difference is twin.difference
        else:
            assert twin.difference.absolute == -change.difference.absolute
    assert [(c.name, c.code, c.affects, c.shifts) for c in there.causes] == [
        (c.name, c.code, c.affects, c.shifts) for c in back.causes
    ]
    assert there.equal == back.equal


# 3. The same set written in other user units says the same.


def rewritten(drive: Drive, new: Drive, machine: Machine, scales: dict[str, Decimal]) -> Drive:
    """The values of `drive` in the units of `new`, rounded to its raw steps.

    Where rounding would leave the number as it was, which reads as shifted, the step is finer.
    """
    before, after = unit_sizes(drive, machine), unit_sizes(new, machine)
    values = {}
    for code, number in drive.values.items():
        old, unit = before.get(UNITS[code] or ""), after.get(UNITS[code] or "")
        if old is None or unit is None or old == unit:
            values[code] = number
            continue
        exact = Fraction(number.value) * old / unit
        if isinstance(number.raw, Decimal):
            values[code] = Number(Decimal(f"{float(exact):.9f}"))
            if abs(Fraction(values[code].value) - exact) > exact * REAL_STEP / 4:
                values[code] = Number(Decimal(f"{float(exact):.15e}"))
        else:
            steps = (scales[code], *SCALES, SCALES[-1] / 1000)
            made = (Number(round(exact / Fraction(scale)), scale) for scale in steps)
            values[code] = next(n for n in made if n.value != number.value or not n.raw)
    return replace(new, values=values)


@st.composite
def restatings(draw: st.DrawFn) -> tuple[Drive, Drive, Machine, str]:
    """A set, the same in other user units, the machine, and the cause to be named."""
    drive, machine = draw(drives()), draw(machines)
    scales = {code: draw(st.sampled_from(SCALES)) for code in drive.values}
    what = draw(st.sampled_from(["position", "velocity", "acceleration"]))
    if drive.position is None or what == "position":
        cause, shaft = "user_unit", Fraction(machine.lead, 1000)
        if drive.position is None:  # nothing says what a user unit is, before or after
            cause, change = "feed_constant", draw(st.sampled_from(RESCALINGS))
            new = replace(drive, feed=drive.feed * change)
        else:
            code = draw(st.sampled_from([c for c in POSITIONS if c != drive.position]))
            sizes = {**LENGTHS, **{turn: size * shaft for turn, size in TURNS.items()}}
            new = replace(drive, feed=drive.feed * sizes[drive.position] / sizes[code])
            new = replace(
                new,
                position=code,
                velocity=draw(st.sampled_from(VELOCITIES if code in LENGTHS else (REV_S, R_MIN))),
                acceleration=draw(st.sampled_from(ACCELERATIONS if code in LENGTHS else (REV_S2,))),
            )
            assume(drive.feed != new.feed)
    else:
        cause = f"{what}_unit"
        known = {"velocity": VELOCITIES, "acceleration": ACCELERATIONS}[what]
        codes = known if drive.position in LENGTHS else tuple(c for c in known if c in TURNS)
        code = draw(st.sampled_from(codes))
        if what == "velocity":
            new = replace(drive, velocity=code)
        else:
            new = replace(drive, acceleration=code)
        unit = f"user_{what}"
        assume(unit_sizes(drive, machine)[unit] != unit_sizes(new, machine)[unit])
        assume(any(UNITS[c] == unit and drive.values[c].raw for c in drive.values))
    return drive, rewritten(drive, new, machine, scales), machine, cause


@whole_sets
@given(restatings())
def test_a_set_in_another_user_unit_is_only_restated_by_one_cause(
    restating: tuple[Drive, Drive, Machine, str],
) -> None:
    drive, new, machine, cause = restating
    found = compared(drive, new, machine)
    kinds = {code: change.kind for code, change in by_code(found).items()}
    only = {"restated", "only_left", "only_right"}
    assert set(kinds.values()) <= only, kinds
    assert {c for c, kind in kinds.items() if kind != "restated"} <= {"0x60A9:00", "0x60AA:00"}
    assert set(kinds) == silent(drive, new)
    restated = [c for c in found.changes if c.kind == "restated"]
    assert {c.cause for c in restated} == {cause}
    assert [(c.name, c.shifts) for c in found.causes] == [(cause, False)]


# 4. Another encoder in the nameplate shifts everything that is counted by it.


@whole_sets
@given(drives(), machines, st.sampled_from([16, 18, 22]))
def test_another_encoder_alone_shifts_by_one_ratio_for_one_cause(
    drive: Drive, machine: Machine, bits: int
) -> None:
    assert machine.bits is not None
    found = compared(drive, drive, machine, replace(machine, bits=bits))
    ratio = Fraction(2**machine.bits, 2**bits)
    counted = {
        code
        for code, number in drive.values.items()
        if number.raw and code not in LIVE and _is_motion(UNITS[code])
    }
    assert set(by_code(found)) == counted
    assert {c.kind for c in found.changes} == {"shifted"}
    assert {c.ratio for c in found.changes} == {ratio}
    assert [(c.name, c.code, c.shifts) for c in found.causes] == [("encoder", "nameplate", True)]
    assert set(found.causes[0].affects) == counted


def _is_motion(unit: str | None) -> bool:
    return unit in ("increments", "mm", "r/min") or (unit or "").startswith("user_")


# 5. Another lead or gearbox shifts everything that is a way or a speed of the axis.


@whole_sets
@given(
    drives(),
    machines.map(lambda m: replace(m, recorded=True)),
    st.sampled_from([8, 25]) | st.sampled_from([Fraction(10), Fraction(3, 7)]),
)
def test_other_mechanics_alone_shift_ways_and_speeds_for_one_cause(
    drive: Drive, machine: Machine, part: int | Fraction
) -> None:
    other = replace(machine, lead=part) if isinstance(part, int) else replace(machine, gear=part)
    found = compared(drive, drive, machine, other)
    ratio = motor_turn(other) / motor_turn(machine)
    moved = {
        code
        for code, number in drive.values.items()
        if number.raw and code not in LIVE
        and ((UNITS[code] or "").startswith("user_") or UNITS[code] == "r/min")
    }  # fmt: skip
    # A way in mm is what the drive believes, and it believes in mm where its user unit says so.
    believed = {"0x2000:01"} & {c for c, n in drive.values.items() if n.raw}
    if drive.position in LENGTHS or (drive.position is not None and isinstance(part, Fraction)):
        moved |= believed
    assert set(by_code(found)) == moved
    assert {c.kind for c in found.changes} <= {"shifted"}
    assert {c.ratio for c in found.changes} <= {ratio}
    assert [(c.name, c.shifts) for c in found.causes] == [("mechanics", True)]


# 6. Another rated torque shifts permille of it, unless they are rewritten.


@whole_sets
@given(drives(), unknowing, st.integers(1, 9000), st.data())
def test_another_rated_torque_shifts_permille_and_rewritten_ones_say_the_same(
    drive: Drive, machine: Machine, rated: int, data: st.DataObject
) -> None:
    assume(rated != drive.torque)
    permille = {
        code
        for code, number in drive.values.items()
        if UNITS[code] == "permille_rated_torque" and number.raw and code not in LIVE
    }
    kept = replace(drive, torque=rated)
    found = compared(drive, kept, machine)
    kinds = {code: (c.kind, c.cause, c.ratio) for code, c in by_code(found).items()}
    assert kinds.pop("0x6076:00") == ("changed", None, None)
    ratio = Fraction(rated, drive.torque)
    assert kinds == dict.fromkeys(permille, ("shifted", "rated_torque", ratio))
    assert [c.name for c in found.causes] == ["rated_torque"] * bool(permille)

    scales = {code: data.draw(st.sampled_from(SCALES)) for code in drive.values}
    same = rewritten(drive, kept, machine, scales)
    found = compared(drive, same, machine)
    kinds = {code: (c.kind, c.cause, c.ratio) for code, c in by_code(found).items()}
    assert kinds.pop("0x6076:00") == ("changed", None, None)
    assert kinds == dict.fromkeys(
        silent(drive, same) - {"0x6076:00"}, ("restated", "rated_torque", None)
    )


# 7. Nothing is silent, and nothing is made up.


@whole_sets
@given(pairs(), unknowing, unknowing, st.booleans(), st.sampled_from(["alder", "rowan"]))
def test_reported_is_what_deepdiff_finds_and_what_has_a_cause(
    sets: tuple[Drive, Drive], machine: Machine, other: Machine, one_machine: bool, family: str
) -> None:
    one, two = view(sets[0], machine), view(sets[1], machine if one_machine else other)
    two.family = family
    found = compare(one, two)
    reported, differing = by_code(found), silent(*sets)
    assert differing <= set(reported)
    for code in set(reported) - differing:
        assert reported[code].kind == "shifted"
        assert reported[code].cause is not None
    for change in found.changes:
        if change.kind in ("restated", "shifted"):
            assert change.cause is not None
        if change.cause is not None and not change.volatile:
            assert [c.name for c in found.causes if change.shown.code in c.affects] == [
                change.cause
            ]


@whole_sets
@given(pairs(), unknowing, unknowing, st.booleans())
def test_the_kind_of_a_change_follows_from_numbers_and_sizes(
    sets: tuple[Drive, Drive], machine: Machine, other: Machine, one_machine: bool
) -> None:
    one, two = sets
    other = machine if one_machine else replace(other, recorded=machine.recorded)
    # A record on one side alone, or rates of another kind, are compared by what both sides know.
    assume((one.position is None) == (two.position is None))
    found, differing = by_code(compared(one, two, machine, other)), silent(one, two)
    for code in one.values.keys() & two.values.keys():
        left, right = measured(one, machine, code), measured(two, other, code)
        if left is None or right is None:
            continue
        kind = found[code].kind if code in found else "equal"
        if code in differing:
            near = abs(left[0] - right[0]) <= max(left[1], right[1]) / 2
            assert kind == ("restated" if near else "changed"), code
        elif left[0] == right[0] or code in LIVE:
            assert kind == "equal", code
        else:
            assert kind == "shifted", code
            assert found[code].ratio == right[0] / left[0]


# 8. Order of lines never matters.


@whole_sets
@given(pairs(), unknowing, unknowing, st.randoms(use_true_random=False))
def test_the_order_of_lines_never_matters(
    sets: tuple[Drive, Drive], machine: Machine, other: Machine, order: random.Random
) -> None:
    def shuffled(drive: Drive) -> bytes:
        head, lines = drive.text.split(b"\n")[:2], drive.text.split(b"\n")[2:-1]
        order.shuffle(lines)
        return b"\n".join([*head, *lines, b""])

    one, two = sets
    straight = compared(one, two, machine, other)
    mixed = compare(view(one, machine, shuffled(one)), view(two, other, shuffled(two)))
    assert mixed == straight


# 9. Without the machine as built only the ratio is known.


@whole_sets
@given(pairs(), machines)
def test_without_the_machine_the_ratio_is_told_and_no_side_is_held_to_be_right(
    sets: tuple[Drive, Drive], machine: Machine
) -> None:
    one, two = sets
    assume(one.position == two.position)
    bare = by_code(compared(one, two, replace(machine, recorded=False)))
    built = by_code(compared(one, two, replace(machine, recorded=True)))
    for code in one.values.keys() & two.values.keys():
        if UNITS[code] in ("mm", "r/min") and one.position in TURNS:
            continue  # how turns become ways, and whose turns they are, the machine alone tells
        change, twin = bare.get(code), built.get(code)
        assert (change is None) == (twin is None), code
        if change is not None and twin is not None:
            assert (change.kind, change.cause, change.ratio) == (twin.kind, twin.cause, twin.ratio)
    for change in bare.values():
        if change.kind == "shifted" and change.left_physical and change.right_physical:
            left, right = change.left_physical, change.right_physical
            if left.unit == right.unit:  # sizes as stated must not speak against the ratio
                assert left == right or right.number() / left.number() == change.ratio
        assert not any("travel error" in finding.quantity for finding in change.findings)
