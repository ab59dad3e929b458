"""The semantic difference of two parameter sets; without meaning held against DeepDiff."""

import random
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from deepdiff import DeepDiff
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change, Comparison
from vault.meaning.compare import compare, compare_one
from vault.meaning.consequences import rank
from vault.meaning.steps import equal_in_unit
from vault.model.errors import Damaged
from vault.model.normalise import Definition, define
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import read_family
from vault.store.files.parameters_text import parameters_text

# Invented parameters of invented families.
Number = int | Decimal


def one(
    value: Number | str,
    unit: str | None = None,
    *,
    raw: Number | str | None = None,
    code: str = "A.1",
    role: str | None = None,
    label: str | None = None,
    name: str = "Thing",
) -> Parameter:
    return Parameter(code, name, value, value if raw is None else raw, role, unit, label)


def view(*parameters: Parameter, family: str | None = "hazel", name: str = "x") -> AxisView:
    return AxisView(name, parameters_text(ParameterSet(parameters)), family)


def difference(left: Parameter | None, right: Parameter | None) -> Comparison:
    sides = (view(*([] if side is None else [side])) for side in (left, right))
    return compare(next(sides), next(sides))


def only(comparison: Comparison) -> Change:
    (change,) = comparison.changes
    return change


def test_another_number_is_changed() -> None:
    change = only(difference(one(5, "mm"), one(6, "mm")))
    assert change.kind == "changed"
    assert change.left == one(5, "mm")
    assert change.right == one(6, "mm")
    assert change.is_news


def test_a_parameter_of_one_side_alone_is_told_as_such() -> None:
    assert only(difference(one(5), None)).kind == "only_left"
    assert only(difference(None, one(5))).kind == "only_right"


def test_equal_parameters_are_counted_and_not_listed() -> None:
    found = compare(view(one(5), one(6, code="B")), view(one(5), one(7, code="B")))
    assert [change.shown.code for change in found.changes] == ["B"]
    assert found.equal == 1


@pytest.mark.parametrize("field", ["name", "role", "label"])
def test_a_name_role_or_label_alone_makes_no_difference(field: str) -> None:
    before = one(1, role="homing_method", label="Switch")
    after = Parameter(
        "A.1",
        "Other" if field == "name" else before.name,
        1,
        1,
        None if field == "role" else before.role,
        None,
        "Turned" if field == "label" else before.label,
    )
    found = difference(before, after)
    assert found.changes == ()
    assert found.equal == 1


@pytest.mark.parametrize(
    ("left", "right"),
    [
        (one(500, "mm/s"), one(30, "m/min", raw=500)),
        (one(3000, "r/min"), one(50, "rev/s")),
        (one(3000, "r/min"), one(18000, "deg/s")),
        (one(25, "degC"), one(77, "degF")),
        (one(Decimal("2.5"), "mm", raw=2500), one(Decimal("2.5"), "mm", raw=250)),
        (one(1, "in", raw=1), one(Decimal("25.4"), "mm", raw=254)),
        (one(30, "percent_rated_torque"), one(300, "permille_rated_torque")),
        (one(2, raw=2), one(Decimal("2"), raw=Decimal("2"))),
    ],
)
def test_one_quantity_in_another_unit_or_scale_is_restated(
    left: Parameter, right: Parameter
) -> None:
    change = only(difference(left, right))
    assert change.kind == "restated"
    assert not change.is_news


def test_another_unit_is_named_as_cause_and_so_is_another_step() -> None:
    by_unit = difference(one(500, "mm/s"), one(30, "m/min", raw=500))
    by_step = difference(one(5, "mm", raw=5000), one(5, "mm", raw=50))
    assert [cause.name for cause in by_unit.causes] == ["unit"]
    assert [cause.name for cause in by_step.causes] == ["step"]
    assert by_unit.causes[0].affects == ("A.1",)
    assert not by_unit.causes[0].shifts


@pytest.mark.parametrize(
    ("left", "right"),
    [
        (one(500, "mm"), one(500, "s")),
        (one(500, "mm"), one(500)),
        (one("5"), one(5)),
        (one(5, "percent_rated_torque"), one(5, "percent_rated_current")),
        (one(5, "mm"), one(5, "user_position")),
    ],
)
def test_units_or_kinds_that_do_not_convert_are_changed(left: Parameter, right: Parameter) -> None:
    assert only(difference(left, right)).kind == "changed"


# The left side counts steps of 0.1 mm, the right side steps of 0.001 mm: half the coarser is 0.05.
@pytest.mark.parametrize(
    ("right", "kind"),
    [
        ("10.050", "restated"),
        ("9.950", "restated"),
        ("10.051", "changed"),
        ("9.949", "changed"),
        ("10.000", "restated"),
    ],
)
def test_values_are_equal_up_to_half_of_the_coarser_step(right: str, kind: str) -> None:
    before = one(Decimal("10"), "mm", raw=100)
    value = Decimal(right)
    after = one(value, "mm", raw=int(value * 1000))
    assert only(difference(before, after)).kind == kind
    assert only(difference(after, before)).kind == kind


# 1 m/min is 16.666… mm/s: half of that step is 8.333… mm/s.
@pytest.mark.parametrize(("right", "kind"), [(508, "restated"), (509, "changed")])
def test_the_coarser_step_is_found_in_the_other_unit(right: int, kind: str) -> None:
    assert only(difference(one(30, "m/min"), one(right, "mm/s"))).kind == kind


def test_neighbouring_numbers_of_one_step_are_changed() -> None:
    assert only(difference(one(5, "mm"), one(6, "mm"))).kind == "changed"
    small = one(Decimal("0.001"), "mm", raw=1), one(Decimal("0.002"), "mm", raw=2)
    assert only(difference(*small)).kind == "changed"


# IEEE 754: a 32-bit real has 23 bits of fraction.
@pytest.mark.parametrize(("right", "kind"), [("33.3000001", "restated"), ("33.30001", "changed")])
def test_a_real_number_has_the_steps_of_32_bits(right: str, kind: str) -> None:
    before = one(Decimal("33.3"), "1/s")
    assert only(difference(before, one(Decimal(right), "1/s"))).kind == kind


def test_nought_takes_its_step_from_the_dictionary() -> None:
    family = read_family(
        b"schema: axisvault/family/1\nname: hazel\ntitle: Hazel\nexport: {format: dcf}\n"
        b"parameters:\n  A.1: {name: Thing, type: INTEGER32, scale: 0.1, unit: mm}\n",
        "hazel.yaml",
    )
    known = {code: define(code, what) for code, what in family.parameters.items()}
    nought = AxisView("x", parameters_text(ParameterSet([one(0, "mm")])), "hazel", lambda: known)

    def kind(text: str) -> str:
        value = Decimal(text)
        return only(compare(nought, view(one(value, "mm", raw=int(value * 1000))))).kind

    assert kind("0.05") == "restated"
    assert kind("0.051") == "changed"


def test_two_families_pair_by_role() -> None:
    left = view(one(500, "mm/s", code="A.1", role="max_profile_velocity"), family="hazel")
    right = view(one(30, "m/min", code="P7", role="max_profile_velocity"), family="willow")
    change = only(compare(left, right))
    assert change.kind == "restated"
    assert change.left is not None
    assert change.right is not None
    assert (change.left.code, change.right.code) == ("A.1", "P7")


def test_within_one_family_a_code_pairs_whatever_its_role() -> None:
    left = view(one(1, code="A.1", role="homing_method"), one(2, code="B"))
    right = view(one(1, code="A.1"), one(3, code="B", role="homing_method"))
    assert [change.kind for change in compare(left, right).changes] == ["changed"]


def test_a_role_goes_before_a_code_between_two_families() -> None:
    left = view(one(5, "mm", code="P1", role="position_window"), family="hazel")
    right = view(
        one(700, "mm/s", code="P1", role="max_profile_velocity"),
        one(5, "mm", code="P2", role="position_window"),
        family="willow",
    )
    found = compare(left, right)
    assert [(c.kind, c.shown.code) for c in found.changes] == [("only_right", "P1")]


def test_a_code_that_two_families_use_for_two_things_is_no_pair() -> None:
    left = view(one(5, code="P1", name="Oil"), family="hazel")
    right = view(one(5000, code="P1", name="Lamp"), family="willow")
    kinds = [change.kind for change in compare(left, right).changes]
    assert sorted(kinds) == ["only_left", "only_right"]


def test_a_standard_object_without_a_role_pairs_between_two_families() -> None:
    # CiA 301: 1000h to 1FFFh is the communication profile area, the same for every maker; from
    # memory.
    left = view(one(5, code="0x1F80:00", name="Start"), family="hazel")
    right = view(one(6, code="0x1F80:00", name="Start-up"), family="willow")
    assert only(compare(left, right)).kind == "changed"


@pytest.mark.parametrize(
    ("left", "right", "kinds"),
    [
        ((1, "Index pulse"), (34, "Index Pulse"), ["restated"]),
        ((1, "Index pulse"), (1, "Index pulse"), []),
        ((1, "Index pulse"), (1, "Switch"), ["changed"]),
        ((1, "Index pulse"), (2, "Switch"), ["changed"]),
    ],
)
@pytest.mark.parametrize("code", ["A.1", "P7"])
def test_choices_of_two_families_compare_by_meaning(
    code: str, left: tuple[int, str], right: tuple[int, str], kinds: list[str]
) -> None:
    before = view(one(left[0], label=left[1], role="homing_method"), family="hazel")
    after = view(one(right[0], label=right[1], role="homing_method", code=code), family="willow")
    assert [change.kind for change in compare(before, after).changes] == kinds


def test_choices_of_one_family_compare_by_number() -> None:
    assert only(difference(one(1, label="On"), one(2, label="On"))).kind == "changed"


def test_a_live_value_is_listed_last_and_is_no_news() -> None:
    left = view(one(5, code="A", role="position_actual_value"), one(1, code="B", name="Torque"))
    right = view(one(6, code="A", role="position_actual_value"), one(2, code="B", name="Torque"))
    found = compare(left, right)
    assert [change.shown.code for change in found.changes] == ["B", "A"]
    assert [change.shown.code for change in found.news] == ["B"]
    assert found.changes[-1].volatile
    assert found.changes[-1].consequence == "record"


def test_a_set_that_differs_in_live_values_alone_is_unchanged() -> None:
    found = difference(one(5, role="position_actual_value"), one(6, role="position_actual_value"))
    assert found.is_unchanged
    assert not found.differs


# Roles and the consequence of a change of them, by the classes of the design.
ROLES = {
    "safety_address": "hazard",
    "position_window": "travel",
    "velocity_window_time": "travel",
    "setpoint_filter_time": "dynamics",
    "node_address": "link",
    "drive_catalogue_number": "record",
}


def test_the_worst_comes_first() -> None:
    left = view(*(one(5, code=f"C{n}", role=role) for n, role in enumerate(ROLES)))
    right = view(*(one(6, code=f"C{n}", role=role) for n, role in enumerate(ROLES)))
    changes = compare(left, right).changes
    ranks = [rank(change.consequence) for change in changes]
    assert len(ranks) == len(ROLES)
    assert len(set(ranks)) > 3
    assert ranks == sorted(ranks)


def test_within_a_consequence_the_largest_difference_comes_first() -> None:
    before = {"A": 100, "B": 100, "C": 0, "D": 100}
    after = {"A": 101, "B": 30, "C": 1, "D": 120}
    left = view(*(one(value, "V", code=code) for code, value in before.items()))
    right = view(*(one(value, "V", code=code) for code, value in after.items()))
    assert [change.shown.code for change in compare(left, right).changes] == ["C", "B", "D", "A"]


def test_what_is_only_restated_comes_after_all_news() -> None:
    left = view(one(1, code="A", role="brake_used", raw=1), one(5, code="B"))
    right = view(one(Decimal("1"), code="A", role="brake_used", raw=Decimal("1")), one(6, code="B"))
    assert [change.shown.code for change in compare(left, right).changes] == ["B", "A"]


def test_the_summary_counts_every_parameter_once() -> None:
    left = view(
        one(1, code="same"),
        one(5, "mm", code="changed", role="position_window"),
        one(500, "mm/s", code="restated"),
        one(1, code="left"),
        one(3, code="live", role="position_actual_value"),
    )
    right = view(
        one(1, code="same"),
        one(6, "mm", code="changed", role="position_window"),
        one(30, "m/min", code="restated", raw=500),
        one(1, code="right"),
        one(4, code="live", role="position_actual_value"),
    )
    assert compare(left, right).summary() == {
        "hazard": 0,
        "travel": 1,
        "unclassified": 2,
        "dynamics": 0,
        "electrical": 0,
        "link": 0,
        "record": 0,
        "restated": 1,
        "shifted": 0,
        "only_left": 1,
        "only_right": 1,
        "equal": 1,
        "volatile": 1,
    }


@pytest.mark.parametrize(
    ("left", "right", "absolute", "relative", "unit"),
    [
        (one(4, "mm"), one(5, "mm"), "1", "0.25", "mm"),
        (one(5, "mm"), one(4, "mm"), "-1", "-0.2", "mm"),
        (one(-4, "mm"), one(-5, "mm"), "-1", "-0.25", "mm"),
        (one(0, "mm"), one(5, "mm"), "5", None, "mm"),
        (one(5, "mm"), one(0, "mm"), "-5", "-1", "mm"),
        (one(3), one(4), "1", "0.333333", None),
        (one(500, "mm/s"), one(60, "m/min"), "30", "1", "m/min"),
        (one(10, "degC"), one(68, "degF"), "18", "0.36", "degF"),
    ],
)
def test_a_difference_is_right_less_left_in_the_unit_of_the_right(
    left: Parameter, right: Parameter, absolute: str, relative: str | None, unit: str | None
) -> None:
    found = only(difference(left, right)).difference
    assert found is not None
    assert found.absolute == Decimal(absolute)
    assert found.relative == (None if relative is None else Decimal(relative))
    assert found.unit == unit


@pytest.mark.parametrize(
    ("left", "right"),
    [(one("a"), one("b")), (one(1, "mm"), one(1, "s")), (one(1, label="A"), one(2, label="B")),
     (one(1), None)],
)  # fmt: skip
def test_texts_choices_and_unlike_units_have_no_difference_in_numbers(
    left: Parameter, right: Parameter | None
) -> None:
    assert only(difference(left, right)).difference is None


def test_sizes_are_told_in_si_where_the_unit_has_one() -> None:
    change = only(difference(one(500, "mm"), one(5, "user_position")))
    assert change.left_physical is not None
    assert change.left_physical.number() == Fraction(1, 2)
    assert change.left_physical.unit == "m"
    assert change.right_physical is None


def test_a_line_that_is_not_as_it_was_written_is_damage() -> None:
    broken = view(one(5)).text.replace(b"value: 5", b"value: 5.")
    with pytest.raises(Damaged, match="left side"):
        compare(AxisView("left side", broken, "hazel"), view(one(6)))


numbers = st.integers(-9, 9) | st.decimals(-9, 9, places=1)
scalars = numbers | st.sampled_from(["", "a", "b", "5", "5.0"])
parameters = st.builds(
    Parameter,
    code=st.sampled_from(["A", "A1", "B", "0x6065:00", "0x2000:01", "C D"]),
    name=st.sampled_from(["One", "Two"]),
    value=scalars,
    raw=scalars,
    role=st.none(),
    unit=st.sampled_from([None, "mm", "um", "mm/s", "m/min", "degC", "degF", "user_position"]),
    label=st.sampled_from([None, "On", "Off"]),
)
roles = st.sampled_from(
    [None, "position_window", "max_profile_velocity", "homing_method", "position_actual_value",
     "brake_used", "following_error_window"]
)  # fmt: skip


@st.composite
def with_roles(draw: st.DrawFn) -> list[Parameter]:
    found = draw(st.lists(parameters, max_size=6, unique_by=lambda p: p.code))
    taken: set[str] = set()
    given_roles = []
    for parameter in found:
        role = draw(roles)
        role = None if role in taken else role
        taken |= {role} if role else set()
        given_roles.append(
            Parameter(
                parameter.code, parameter.name, parameter.value, parameter.raw, role,
                parameter.unit, parameter.label,
            )
        )  # fmt: skip
    return given_roles


sets = with_roles()


def reported(comparison: Comparison) -> set[str]:
    return {change.shown.code for change in comparison.changes}


def content(parameters: list[Parameter]) -> dict[str, Any]:
    return {p.code: {"value": p.value, "unit": p.unit, "raw": p.raw} for p in parameters}


def by_deepdiff(left: list[Parameter], right: list[Parameter]) -> set[str]:
    """Codes that DeepDiff reports; told to look into mappings that have little in common."""
    found = DeepDiff(content(left), content(right), view="tree", threshold_to_diff_deeper=0)
    return {level.path(output_format="list")[0] for levels in found.values() for level in levels}


@settings(deadline=None)
@given(sets, sets)
def test_without_conversions_it_reports_exactly_what_deepdiff_reports(
    left: list[Parameter], right: list[Parameter]
) -> None:
    theirs = by_deepdiff(left, right)
    ours = compare(view(*left), view(*right), conversions=False)
    assert reported(ours) == theirs
    assert ours.equal == len(set(content(left)) & set(content(right)) - theirs)


@settings(deadline=None)
@given(sets, sets)
def test_with_conversions_it_reports_nothing_that_deepdiff_does_not(
    left: list[Parameter], right: list[Parameter]
) -> None:
    theirs = by_deepdiff(left, right)
    assert reported(compare(view(*left), view(*right))) <= theirs


@settings(deadline=None)
@given(sets)
def test_a_set_does_not_differ_from_itself(parameters: list[Parameter]) -> None:
    found = compare(view(*parameters), view(*parameters))
    assert found.changes == ()
    assert found.causes == ()
    assert found.equal == len(parameters)


MIRROR = {"only_left": "only_right", "only_right": "only_left"}


@settings(deadline=None)
@given(sets, sets, st.booleans())
def test_comparing_the_other_way_round_mirrors_every_change(
    left: list[Parameter], right: list[Parameter], one_family: bool
) -> None:
    other = "hazel" if one_family else "willow"
    there = compare(view(*left), view(*right, family=other))
    back = compare(view(*right, family=other), view(*left))
    assert {(c.kind, c.left, c.right, c.volatile) for c in there.changes} == {
        (MIRROR.get(c.kind, c.kind), c.right, c.left, c.volatile) for c in back.changes
    }
    assert there.equal == back.equal


@settings(deadline=None)
@given(sets, sets, st.randoms(use_true_random=False))
def test_the_order_of_parameters_never_matters(
    left: list[Parameter], right: list[Parameter], order: random.Random
) -> None:
    straight = compare(view(*left), view(*right))
    order.shuffle(left)
    order.shuffle(right)
    assert compare(view(*left), view(*right)) == straight


@settings(deadline=None)
@given(sets, sets, st.booleans())
def test_every_parameter_is_reported_once_or_counted_as_equal(
    left: list[Parameter], right: list[Parameter], one_family: bool
) -> None:
    found = compare(view(*left), view(*right, family="hazel" if one_family else "willow"))
    lefts = [c.left.code for c in found.changes if c.left is not None]
    rights = [c.right.code for c in found.changes if c.right is not None]
    assert len(lefts) == len(set(lefts))
    assert len(rights) == len(set(rights))
    assert len(lefts) + found.equal == len(left)
    assert len(rights) + found.equal == len(right)
    assert sum(found.summary()[k] for k in ("only_left", "only_right")) == sum(
        c.kind.startswith("only") and not c.volatile for c in found.changes
    )


def defined(unit: str | None = None, scale: str = "1", default: int | None = None) -> Definition:
    return Definition("A.1", "Thing", None, None, Decimal(scale), unit, {}, default=default)


def dictionary(definition: Definition | None, *held: Parameter, family: str = "hazel") -> AxisView:
    known = {} if definition is None else {definition.code: definition}
    return AxisView("x", parameters_text(ParameterSet(held)), family, lambda: known)


def test_one_parameter_is_judged_as_the_whole_set_is() -> None:
    left, right = view(one(5, "mm")), view(one(6, "mm"))
    found = compare_one(left, right, one(5, "mm"), one(6, "mm"))
    assert found is not None
    assert (found.kind, found.left, found.right) == ("changed", one(5, "mm"), one(6, "mm"))
    assert compare_one(left, right, one(5, "mm"), one(5, "mm")) is None


# The left side counts steps of 0.1 mm by its dictionary; the right one of 0.001 in.
@pytest.mark.parametrize(
    ("unit", "scale", "value", "kind"),
    [
        ("mm", "0.1", "0.05", "restated"),
        ("mm", "0.1", "0.051", "changed"),
        ("in", "0.01", "0.127", "restated"),  # 0.254 mm a step, NIST SP 811
        ("in", "0.01", "0.128", "changed"),
        ("s", "0.1", "0.05", "restated"),  # of another kind: the number alone
        ("s", "0.1", "0.051", "changed"),
        (None, "0.1", "0.05", "restated"),
    ],
)
def test_a_nought_has_the_step_of_its_dictionary_in_its_own_unit(
    unit: str | None, scale: str, value: str, kind: str
) -> None:
    number = Decimal(value)
    left = dictionary(defined(unit, scale), one(0, "mm"))
    right = view(one(number, "mm", raw=int(number * 10**6)))
    assert only(compare(left, right)).kind == kind


def test_a_nought_that_no_dictionary_knows_has_no_step() -> None:
    left = dictionary(None, one(0, "mm"))
    right = view(one(Decimal("0.001"), "mm", raw=1000))
    assert only(compare(left, right)).kind == "changed"


@pytest.mark.parametrize(
    ("default", "value", "consequence"),
    [(5, 5, "record"), (5, 6, "unclassified"), (None, 5, "unclassified")],
)
def test_what_only_one_family_has_and_nobody_set_is_left_alone(
    default: int | None, value: int, consequence: str
) -> None:
    known = dictionary(defined(default=default), one(value))
    other = dictionary(None, family="willow")
    assert only(compare(known, other)).consequence == consequence
    assert only(compare(other, known)).consequence == consequence
    same_family = dictionary(None)
    assert only(compare(known, same_family)).consequence == "unclassified"


def test_a_live_value_of_the_dictionary_is_live_only_where_no_side_says_otherwise() -> None:
    live = replace(defined(), volatile=True)
    for other, volatile in ((live, True), (None, True), (defined(), False)):
        left, right = dictionary(live, one(5)), dictionary(other, one(6))
        assert only(compare(left, right)).volatile is volatile
        assert only(compare(right, left)).volatile is volatile


def test_a_choice_with_a_unit_on_one_side_alone_is_no_difference() -> None:
    left = one(1, "mm", label="On", role="brake_used")
    right = one(1, None, label="On", role="brake_used")
    assert compare(view(left), view(right)).changes == ()
    assert only(compare(view(one(1, "mm")), view(one(1)))).kind == "changed"


def test_text_has_no_steps() -> None:
    assert not equal_in_unit(one("5"), one("5"), view(), view())
    assert equal_in_unit(one(5, "mm"), one(5, "mm"), view(), view())
    assert not equal_in_unit(one(5, "mm"), one(5, "s"), view(), view())
    assert not equal_in_unit(one(5, "mm"), one(5), view(), view())


def test_a_difference_in_live_values_is_counted_apart_from_news() -> None:
    found = compare(
        view(one(5, code="A", role="position_actual_value")),
        view(one(6, code="A", role="position_actual_value")),
    )
    assert found.summary()["volatile"] == 1
    assert sum(found.summary().values()) == 1
    with pytest.raises(ValueError, match="without sides"):
        _ = Change("changed", "record", None, None).shown
