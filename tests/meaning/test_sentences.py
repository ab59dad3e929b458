"""Sentences about differences of which only the numbers are known."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change, Comparison, Surrounding
from vault.meaning.compare import compare
from vault.meaning.reader import reading_in
from vault.meaning.sentences import (
    default_sentence,
    in_words,
    nothing_implausible,
    number_text,
    plain_sentence,
    sentences,
    shortened,
    size_text,
    surrounding_sentence,
    unit_code_text,
    unit_text,
    value_text,
)
from vault.model.parameters import Parameter, ParameterSet
from vault.model.quantities import physical
from vault.store.files.parameters_text import parameters_text

# Invented parameters. The wording is our own; what is held fixed are its numbers and units.


def thing(
    value: int | Decimal | str, unit: str | None = None, label: str | None = None, code: str = "A"
) -> Parameter:
    return Parameter(code, f"Thing {code}", value, value, None, unit, label)


def compared(left: list[Parameter], right: list[Parameter]) -> Comparison:
    views = (AxisView("x", parameters_text(ParameterSet(side)), "hazel") for side in (left, right))
    return compare(next(views), next(views))


def sentence(left: Parameter | None, right: Parameter | None) -> str:
    found = compared([left] if left else [], [right] if right else [])
    return plain_sentence(found.changes[0])


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0"),
        (1234567, "1,234,567"),
        (-1234, "-1,234"),
        (Decimal("1234.50"), "1,234.5"),
        (Decimal("-0.5"), "-0.5"),
        (Decimal("0.000001"), "0.000001"),
        (Decimal("1E+6"), "1,000,000"),
        (Decimal("-1234.5"), "-1,234.5"),
        ("as is", "as is"),
    ],
)
def test_a_number_is_written_without_exponent_and_thousands_apart(
    value: int | Decimal | str, text: str
) -> None:
    assert number_text(value) == text


@settings(deadline=None)
@given(st.decimals(allow_nan=False, allow_infinity=False).filter(lambda d: abs(d.adjusted()) < 50))
def test_a_number_for_people_is_the_same_number(number: Decimal) -> None:
    assert Decimal(number_text(number).replace(",", "")) == number


@pytest.mark.parametrize(
    ("unit", "text"),
    [
        ("mm", " mm"),
        ("percent", " %"),
        ("um", " µm"),
        ("degC", " °C"),
        ("user_position", " user units"),
        ("permille_rated_torque", " permille of rated torque"),
        (None, ""),
    ],
)
def test_a_unit_is_written_as_people_write_it(unit: str | None, text: str) -> None:
    assert unit_text(unit) == text


@pytest.mark.parametrize(
    ("parameter", "text"),
    [
        (thing(Decimal("2.5"), "mm"), "2.5 mm"),
        (thing(12000), "12,000"),
        (thing(1, label="Index pulse"), "Index pulse (1)"),
        (thing("lift"), '"lift"'),
        (thing(""), "empty"),
        (None, "-"),
    ],
)
def test_a_value_is_written_with_unit_or_meaning(parameter: Parameter | None, text: str) -> None:
    assert value_text(parameter) == text


@pytest.mark.parametrize(
    "role",
    [
        "serial_number", "device_type", "vendor_number", "product_code", "revision_number",
        "station_alias", "node_address", "safety_address",
    ],
)  # fmt: skip
def test_a_number_that_names_something_is_not_grouped(role: str) -> None:
    assert value_text(Parameter("A", "Name", 131474, 131474, role)) == "131474"
    labelled = Parameter("A", "Name", 131474, 131474, role, None, "it")
    assert value_text(labelled) == "it (131474)"
    assert value_text(Parameter("A", "Limit", 131474, 131474)) == "131,474"


@pytest.mark.parametrize(
    ("number", "digits", "text"),
    [
        ("1234567.8", 6, "1234568"),
        ("0.000123456789", 6, "0.000123457"),
        ("999999.7", 6, "1000000"),
        ("1.5", 6, "1.5"),
        ("0", 6, "0"),
        ("-12.3456", 3, "-12.3"),
    ],
)
def test_a_number_is_shortened_behind_the_point_alone(number: str, digits: int, text: str) -> None:
    assert shortened(Decimal(number), digits) == Decimal(text)


@settings(deadline=None)
@given(
    st.decimals(-(10**12), 10**12, allow_nan=False, places=9),
    st.integers(3, 12),
)
def test_shortening_takes_at_most_half_of_the_last_digit_away(number: Decimal, digits: int) -> None:
    off = abs(shortened(number, digits) - number)
    assert off <= abs(number).scaleb(1 - digits) / 2
    assert off <= Decimal("0.5")


@pytest.mark.parametrize(
    ("left", "right", "says"),
    [
        (thing(4, "mm"), thing(5, "mm"), "4 mm became 5 mm (+1 mm, +25 %)"),
        (thing(5, "mm"), thing(4, "mm"), "5 mm became 4 mm (-1 mm, -20 %)"),
        (thing(4, "mm"), thing(12, "mm"), "4 mm became 12 mm (+8 mm, 3 times as much)"),
        (thing(4, "mm"), thing(8, "mm"), "4 mm became 8 mm (+4 mm, 2 times as much)"),
        (thing(0, "mm"), thing(5, "mm"), "0 mm became 5 mm."),
        (thing(5, "mm"), thing(0, "mm"), "5 mm became 0 mm."),
        (thing(5, "mm"), thing(-5, "mm"), "5 mm became -5 mm (-10 mm)"),
        (thing(4, "user_position"), thing(5, "user_position"), "(+25 %)"),
        (thing(20, "percent"), thing(25, "percent"), "20 % became 25 % (+5 points)"),
        (thing(1, label="Off"), thing(2, label="On"), "Off (1) became On (2)."),
        (thing("a"), thing("b"), '"a" became "b".'),
        (thing(4, "mm"), thing(5, "s"), "4 mm became 5 s."),
    ],
)
def test_a_change_is_told_with_both_values_and_its_size(
    left: Parameter, right: Parameter, says: str
) -> None:
    text = sentence(left, right)
    assert text.startswith("Thing A: ")
    assert says in text


@pytest.mark.parametrize(
    ("left", "right", "size"),
    [
        (thing(-10, "mm"), thing(10, "mm"), "(+20 mm)"),
        (thing(-10, "mm"), thing(-5, "mm"), "(+5 mm)"),
        (thing(-10, "mm"), thing(-30, "mm"), "(-20 mm)"),
    ],
)
def test_no_share_is_told_of_a_value_below_zero(
    left: Parameter, right: Parameter, size: str
) -> None:
    assert sentence(left, right).endswith(f"{size}.")


def test_no_share_is_told_of_a_temperature() -> None:
    assert sentence(thing(10, "degC"), thing(30, "degC")).endswith("(+20 °C).")


def test_a_parameter_of_one_side_is_told_with_its_value() -> None:
    assert sentence(thing(5, "mm"), None) == "Thing A is gone: 5 mm."
    assert sentence(None, thing(5, "mm")) == "Thing A is new: 5 mm."


@pytest.mark.parametrize(
    ("left", "right", "text"),
    [
        (4, 6, "Thing A: 4 mm on line-1, 6 mm on line-2 (+2 mm, +50 %)."),
        (4, None, "Thing A: only on line-1, 4 mm."),
        (None, 6, "Thing A: only on line-2, 6 mm."),
    ],
)
def test_two_axes_are_told_apart_by_name_and_nothing_became(
    left: int | None, right: int | None, text: str
) -> None:
    one, other = (None if n is None else thing(n, "mm") for n in (left, right))
    found = compared([one] if one else [], [other] if other else [])
    assert plain_sentence(found.changes[0], sides=("line-1", "line-2")) == text


def test_serial_numbers_have_no_difference_in_size() -> None:
    one, other = (
        Parameter("A", "Serial", number, number, "serial_number") for number in (4431, 6151)
    )
    assert sentence(one, other) == "Serial: 4431 became 6151."


def test_a_restated_value_is_told_in_both_spellings() -> None:
    restated = Parameter("A", "Thing A", 30, 500, None, "m/min")
    text = sentence(thing(500, "mm/s"), restated)
    assert "500 mm/s" in text
    assert "30 m/min" in text


@pytest.mark.parametrize(
    ("system", "text"), [("drive", "25.4 mm"), ("si", "0.0254 m"), ("inch", "1 in")]
)
def test_a_size_is_told_in_the_units_of_the_reader(system: str, text: str) -> None:
    size = physical(1, "in")
    assert size is not None
    with reading_in(system):
        assert size_text(size) == text


@pytest.mark.parametrize(
    ("system", "text"),
    [
        ("drive", "Thing A: 25.4 mm became 50.8 mm (+25.4 mm, 2 times as much)."),
        ("inch", "Thing A: 1 in became 2 in (2 times as much)."),
    ],
)
def test_one_sentence_has_one_unit(system: str, text: str) -> None:
    left, right = thing(Decimal("25.4"), "mm"), thing(Decimal("50.8"), "mm")
    with reading_in(system):
        assert compared([left], [right]).changes[0].explanation.startswith(text)


def test_a_speed_of_rotation_is_told_without_a_trace_of_pi() -> None:
    size = physical(3000, "r/min")
    assert size is not None
    assert size_text(size) == "3,000 r/min"


def test_every_change_that_is_news_gets_a_sentence_worst_first() -> None:
    left = [thing(100, "V", code="A"), thing(100, "V", code="B")]
    right = [thing(101, "V", code="A"), thing(30, "V", code="B")]
    found = sentences(compared(left, right))
    assert [text.split(":")[0] for text in found] == ["Thing B", "Thing A"]


def test_equal_sets_give_no_sentence() -> None:
    assert sentences(compared([thing(1)], [thing(1)])) == []


def test_more_changes_than_wanted_are_counted() -> None:
    left = [thing(1, code=f"P{n}") for n in range(5)]
    right = [thing(2, code=f"P{n}") for n in range(5)]
    found = sentences(compared(left, right), most=2)
    assert len(found) == 3
    assert "3 more" in found[-1]


def test_restated_values_are_told_in_one_sentence() -> None:
    left = [thing(n, "mm/s", code=f"P{n}") for n in range(500, 503)]
    right = [
        Parameter(f"P{n}", f"Thing P{n}", Decimal(n * 6) / 100, n, None, "m/min")
        for n in range(500, 503)
    ]
    (text,) = sentences(compared(left, right))
    assert "3 values" in text


def test_what_is_no_parameter_is_told_by_its_path() -> None:
    text = surrounding_sentence(Surrounding("cabinet.switch", 5, None))
    assert text == "cabinet, switch: 5 became nothing."


def test_what_differs_beside_the_parameters_is_told_too() -> None:
    around = (Surrounding("cabinet.switch", 5, 6, "link", "The switch stands otherwise."),)
    assert sentences(Comparison((), 0, surroundings=around)) == ["The switch stands otherwise."]


SIDES = ("press/lift", "press/feed")


@pytest.mark.parametrize(
    ("left", "right", "sides", "text"),
    [
        (None, 7, None, "Thing A was not in the export before: 7."),
        (3, None, None, "Thing A is not in this export: 3 before."),
        (None, 7, SIDES, "Thing A: not in this export of press/lift, 7 on press/feed."),
        (3, None, SIDES, "Thing A: 3 on press/lift, not in this export of press/feed."),
        (3, 7, None, "Thing A: 3 became 7 (+4, 133.33 %)."),
    ],
)
def test_what_an_export_may_lack_is_not_said_of_the_drive(
    left: int | None, right: int | None, sides: tuple[str, str] | None, text: str
) -> None:
    sets = [[] if value is None else [thing(value)] for value in (left, right)]
    found = compared(*sets).changes[0]
    assert plain_sentence(found, sides=sides, may_lack=True).startswith(text.partition(" (")[0])


@pytest.mark.parametrize(
    ("left", "right", "sides", "text"),
    [
        (3, None, None, "Thing A: 3 before is {d}, and there is none beside."),
        (None, 7, None, "Thing A: 7 is {d}, and there is none beside."),
        (3, None, SIDES, "Thing A: 3 on press/lift is {d}, and there is none beside."),
        (None, 7, SIDES, "Thing A: 7 on press/feed is {d}, and there is none beside."),
    ],
)
def test_a_default_that_only_one_side_has_is_told_as_one(
    left: int | None, right: int | None, sides: tuple[str, str] | None, text: str
) -> None:
    before, after = (None if value is None else thing(value) for value in (left, right))
    change = Change("only_left" if after is None else "only_right", "record", before, after)
    words = text.format(d="the file's default and not stated of the drive")
    assert default_sentence(change, str(left), str(right), sides) == words


@pytest.mark.parametrize(
    ("defaults", "sides", "text"),
    [
        ((True, True), None, "Thing A: 3 before, 7 now; both are {d}."),
        ((True, True), SIDES, "Thing A: 3 on press/lift, 7 on press/feed; both are {d}."),
        ((True, False), None, "Thing A: 7 now; 3 before is {d}."),
        ((True, False), SIDES, "Thing A: 7 on press/feed; 3 on press/lift is {d}."),
        ((False, True), None, "Thing A: 3 before; 7 is {d}."),
        ((False, True), SIDES, "Thing A: 3 on press/lift; 7 on press/feed is {d}."),
    ],
)
def test_a_sentence_says_which_side_is_a_default(
    defaults: tuple[bool, bool], sides: tuple[str, str] | None, text: str
) -> None:
    change = Change(
        "changed", "record", thing(3), thing(7),
        left_default=defaults[0], right_default=defaults[1],
    )  # fmt: skip
    words = text.format(d="the file's default and not stated of the drive")
    assert default_sentence(change, "3", "7", sides) == words


@pytest.mark.parametrize(
    ("left", "right", "sides", "text"),
    [
        (None, "5 mm", None, "cabinet, fan was not in the export before: 5 mm."),
        ("4 mm", None, None, "cabinet, fan is not in this export: 4 mm before."),
        (
            None,
            "5 mm",
            SIDES,
            "cabinet, fan: not in this export on press/lift, 5 mm on press/feed.",
        ),
    ],
)
def test_an_entry_that_an_export_may_lack_is_told_as_lacking(
    left: str | None, right: str | None, sides: tuple[str, str] | None, text: str
) -> None:
    around = Surrounding("cabinet.fan", left, right)
    assert surrounding_sentence(around, sides, may_lack=True) == text


@pytest.mark.parametrize(
    ("before", "after", "share"),
    [
        (3, 10, "3.333 times as much"),
        (30_000, 100_001, "3.333 times as much"),
        (3, 4, "+33.3 %"),
        (3, 2, "-33.3 %"),
        (100, 199, "+99 %"),
        (100, 200, "2 times as much"),
        (100, 1, "-99 %"),
    ],
)
def test_a_share_has_the_digits_that_tell(before: int, after: int, share: str) -> None:
    assert sentence(thing(before, "V"), thing(after, "V")).endswith(f", {share}).")


@pytest.mark.parametrize(
    ("before", "after", "ratio", "sides", "says"),
    [
        ((100, "mm"), (200, "mm"), 2, None, "but really 200 mm now and 100 mm before."),
        ((100, "mm"), (200, "mm"), 2, SIDES,
         "really 100 mm on press/lift and 200 mm on press/feed."),
        ((100, "mm"), (2, "s"), 2, None, "but really 2 times what it was."),
        (None, (2, "s"), 2, SIDES, "but really 2 times that on press/lift."),
        ((100, "mm"), (100, "mm"), 3, None, "but really 3 times what it was."),
        ((100, "mm"), None, None, None, "but something else by it."),
    ],
)  # fmt: skip
def test_a_shifted_value_is_told_with_what_it_really_is(
    before: tuple[int, str] | None,
    after: tuple[int, str] | None,
    ratio: int | None,
    sides: tuple[str, str] | None,
    says: str,
) -> None:
    sizes = [None if size is None else physical(*size) for size in (before, after)]
    change = Change(
        "shifted", "travel", thing(5), thing(5), *sizes,
        ratio=None if ratio is None else Fraction(ratio),
    )  # fmt: skip
    text = plain_sentence(change, sides=sides)
    assert text.endswith(says)
    assert text.startswith(f"Thing A: {'5 in both drives' if sides else 'still 5 in the drive'}, ")


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        (0xFD010000, "0xFD010000 (mm)"),
        (0xFD010000 - 2**32, "0xFD010000 (mm)"),  # the same 32 bits with a sign
        (0x00B44700, "0x00B44700 (rev/min)"),
        (0x12345678, "0x12345678"),
    ],
)
def test_a_unit_code_is_written_as_drives_show_it(raw: int, text: str) -> None:
    assert unit_code_text(raw) == text
    parameter = Parameter("A", "Unit", raw, raw, "si_unit_velocity")
    assert value_text(parameter) == text
    assert value_text(Parameter("A", "Unit", 5, "5", "si_unit_velocity")) == "5"


@pytest.mark.parametrize(
    ("content", "text"),
    [
        (True, "yes"), (False, "no"), ([1, "b"], "1; b"), ((), ""),
        ({"moving_mass": "3 kg", "on": True}, "moving mass 3 kg, on yes"), (None, "None"),
    ],
)  # fmt: skip
def test_what_a_record_says_is_said_in_words(content: object, text: str) -> None:
    assert in_words(content) == text


def test_a_limit_of_a_rating_on_two_axes_has_no_difference_in_size() -> None:
    unit = "permille_rated_torque"
    left, right = (Parameter("A", "Limit", n, n, None, unit) for n in (1000, 1500))
    (change,) = compared([left], [right]).changes
    assert plain_sentence(change, sides=SIDES) == (
        "Limit: 1,000 on press/lift, 1,500 permille of rated torque on press/feed."
    )
    assert plain_sentence(change) == ("Limit: 1,000 became 1,500 permille of rated torque (+50 %).")


def test_what_has_no_role_was_not_checked_and_that_is_said() -> None:
    bare = [Parameter(code, "Thing", 1, 1) for code in "abc"]
    known = [Parameter(code, "Thing", 1, 1, "position_gain") for code in "de"]
    assert nothing_implausible(bare) == (
        "Nothing could be checked: none of 3 parameters has a role."
    )
    assert nothing_implausible([*bare, *known]) == (
        "Nothing implausible was found; 3 of 5 parameters have no role and were not looked at."
    )
    assert nothing_implausible([*bare[:2], *known]) == "Nothing implausible was found."
