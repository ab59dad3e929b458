"""Properties of a comparison where scaling differs. Sets are invented; formulas are those of the
factor group (CiA 402-2 / IEC 61800-7-201), unit codes those of CiA 303-2, from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from random import Random

from deepdiff import DeepDiff
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.model.parameters import Parameter, ParameterSet
from vault.store.edited_files import read_axis
from vault.store.yaml_text import parameters_text

_MIRRORED = {"only_left": "only_right", "only_right": "only_left"}
_MILLIMETRE, _MICROMETRE = 0xFD010000, 0xFA010000
# role: unit, least, most
_VALUES = {
    "following_error_window": ("user_position", 1, 10**6),
    "max_software_position_limit": ("user_position", -(10**6), 10**6),
    "home_offset": ("user_position", -(10**6), 10**6),
    "profile_velocity": ("user_velocity", 0, 10**6),
    "profile_acceleration": ("user_acceleration", 0, 10**7),
    "max_torque": ("permille_rated_torque", 1, 3000),
    "following_error_time_out": ("ms", 0, 5000),
    "homing_method": (None, 1, 37),
}

values = st.fixed_dictionaries({r: st.integers(a, b) for r, (_, a, b) in _VALUES.items()})
scalings = st.fixed_dictionaries(
    {
        "position_encoder_increments": st.sampled_from([2**17, 2**20, 2**24]),
        "gear_ratio_motor_revolutions": st.integers(1, 20),
        "feed_constant_feed": st.integers(1, 100).map(lambda n: n * 1000),
        "si_unit_position": st.sampled_from([_MILLIMETRE, _MICROMETRE]),
        "motor_rated_torque": st.integers(100, 50_000),
    }
)
_UNITS = {"motor_rated_torque": "mN*m", "feed_constant_feed": "user_position"}


def parameters(numbers: dict[str, int]) -> list[Parameter]:
    found = []
    for role, number in numbers.items():
        unit = _VALUES[role][0] if role in _VALUES else _UNITS.get(role)
        found.append(Parameter(role, role.replace("_", " "), number, number, role, unit))
    return found


def view(side: Sequence[Parameter], bits: int | None = None, lead: str | None = None) -> AxisView:
    axis = None
    if lead is not None:
        axis = (
            "schema: axisvault/axis/1\n"
            f"mechanics: {{kind: ball_screw, lead: {lead}}}\n"
            "encoder: {single_turn_bits: 20}\n"
        ).encode()
    return AxisView(
        "x",
        parameters_text(ParameterSet(side)),
        "hazel",
        nameplate={} if bits is None else {"encoder_single_turn_bits": str(bits)},
        axis_text=axis,
        read_axis=lambda text: read_axis(text, "axis.yaml"),
    )


def kinds(comparison: Comparison) -> dict[str, str]:
    return {c.shown.code: c.kind for c in comparison.changes}


@settings(deadline=None, max_examples=60)
@given(scalings, values, st.sampled_from([None, "16 mm"]))
def test_a_set_does_not_differ_from_itself(
    scaling: dict[str, int], numbers: dict[str, int], lead: str | None
) -> None:
    side = view(parameters(scaling | numbers), 20, lead)
    found = compare(side, side)
    assert not found.changes
    assert not found.causes


@settings(deadline=None, max_examples=60)
@given(scalings, values, scalings, values, st.sampled_from([None, "16 mm"]))
def test_swapping_the_sides_mirrors_what_is_found(
    one: dict[str, int],
    numbers: dict[str, int],
    other: dict[str, int],
    others: dict[str, int],
    lead: str | None,
) -> None:
    left, right = (
        view(parameters(one | numbers), 20, lead),
        view(parameters(other | others), 24, lead),
    )
    there, back = compare(left, right), compare(right, left)
    assert kinds(back) == {c: _MIRRORED.get(k, k) for c, k in kinds(there).items()}
    assert {c.name: set(c.affects) for c in back.causes} == {
        c.name: set(c.affects) for c in there.causes
    }
    ratios = {c.shown.code: c.ratio for c in back.changes}
    for change in there.changes:
        if change.ratio is not None:
            assert ratios[change.shown.code] == 1 / change.ratio


@settings(deadline=None, max_examples=60)
@given(scalings, values, st.sampled_from([None, "16 mm"]))
def test_a_set_written_in_another_user_unit_is_only_restated(
    scaling: dict[str, int], numbers: dict[str, int], lead: str | None
) -> None:
    before = scaling | numbers | {"si_unit_position": _MILLIMETRE}
    after = {
        role: number * 1000
        if _VALUES.get(role, ("",))[0] in ("user_position", "user_velocity", "user_acceleration")
        else number
        for role, number in before.items()
    }
    after["feed_constant_feed"] *= 1000
    after["si_unit_position"] = _MICROMETRE
    found = compare(view(parameters(before), None, lead), view(parameters(after), None, lead))
    assert set(kinds(found).values()) == {"restated"}
    assert [(cause.name, cause.shifts) for cause in found.causes] == [("user_unit", False)]
    assert not found.differs


@settings(deadline=None, max_examples=60)
@given(scalings, values, st.sampled_from([None, "16 mm"]))
def test_another_encoder_on_the_nameplate_alone_only_shifts_by_one_cause(
    scaling: dict[str, int], numbers: dict[str, int], lead: str | None
) -> None:
    side = parameters(scaling | numbers)
    found = compare(view(side, 20, lead), view(side, 24, lead))
    assert set(kinds(found).values()) == {"shifted"}
    (cause,) = found.causes
    assert cause.name == "encoder"
    assert cause.code == "nameplate"
    # As many increments are now a sixteenth of a revolution: 2^20 / 2^24.
    assert {c.ratio for c in found.changes} == {Fraction(1, 16)}


@settings(deadline=None, max_examples=60)
@given(scalings, values)
def test_another_screw_alone_only_shifts_by_one_cause(
    scaling: dict[str, int], numbers: dict[str, int]
) -> None:
    side = parameters(scaling | numbers)
    found = compare(view(side, 20, "16 mm"), view(side, 20, "10 mm"))
    assert set(kinds(found).values()) == {"shifted"}
    assert [cause.name for cause in found.causes] == ["mechanics"]
    assert {c.ratio for c in found.changes} == {Fraction(10, 16)}


@settings(deadline=None, max_examples=60)
@given(scalings, values, st.integers(100, 50_000))
def test_the_same_permille_on_another_motor_is_another_torque(
    scaling: dict[str, int], numbers: dict[str, int], rated: int
) -> None:
    before = scaling | numbers
    found = compare(
        view(parameters(before)), view(parameters(before | {"motor_rated_torque": rated}))
    )
    if rated == before["motor_rated_torque"]:
        assert not found.changes
        return
    assert kinds(found) == {"motor_rated_torque": "changed", "max_torque": "shifted"}
    ratio = next(c.ratio for c in found.changes if c.kind == "shifted")
    assert ratio == Fraction(rated, before["motor_rated_torque"])


@settings(deadline=None, max_examples=60)
@given(scalings, values, scalings, values)
def test_nothing_is_silent_and_nothing_is_invented(
    one: dict[str, int], numbers: dict[str, int], other: dict[str, int], others: dict[str, int]
) -> None:
    left, right = one | numbers, other | others
    found = compare(view(parameters(left)), view(parameters(right)))
    differing = {path.removeprefix("root['").removesuffix("']") for path in DeepDiff(
        left, right).get("values_changed", {})}  # fmt: skip
    reported = {c.shown.code for c in found.changes}
    assert differing <= reported
    for change in found.changes:
        assert change.shown.code in differing or change.cause is not None


@settings(deadline=None, max_examples=60)
@given(scalings, values, scalings, values, st.randoms(use_true_random=False))
def test_the_order_of_parameters_does_not_matter(
    one: dict[str, int],
    numbers: dict[str, int],
    other: dict[str, int],
    others: dict[str, int],
    chance: Random,
) -> None:
    left, right = view(parameters(one | numbers), 20), view(parameters(other | others), 24)
    head, lines = left.text.decode().split("parameters:\n")
    mixed = lines.splitlines(keepends=True)
    chance.shuffle(mixed)
    shuffled = AxisView(
        "x",
        f"{head}parameters:\n{''.join(mixed)}".encode(),
        "hazel",
        nameplate={"encoder_single_turn_bits": "20"},
    )
    assert set(compare(shuffled, right).changes) == set(compare(left, right).changes)
    assert compare(shuffled, right).causes == compare(left, right).causes
    assert not compare(left, shuffled).changes
