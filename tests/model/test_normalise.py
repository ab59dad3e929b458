"""From the entries of an export to parameters: exact values, units, choices, refusals."""

import random
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.export import Entry, Listing, SkippedLine
from vault.model.families import Family
from vault.model.normalise import Normalised, normalise, reads_as_today
from vault.model.parameters import Parameter
from vault.store.files.edited_files import read_family
from vault.store.files.parameters_text import parameters_text

# An invented family; its codes are our own.
DICTIONARY = """
schema: axisvault/family/1
name: hazel
title: Hazel (invented)
export:
  format: delimited
  columns: {code: Code, value: Value}
  decimal: ","
  thousands: "."
parameters:
  Lim.Window: {name: Window, role: following_error_window, type: UNSIGNED32,
    scale: 0.001, unit: mm, range: [0.1, 50]}
  Mot.Speed: {name: Speed, type: INTEGER32, unit: mm/s, range: [0, 1000]}
  Mot.Fine: {name: Fine speed, type: INTEGER32, scale: 0.1, unit: mm/s}
  Mot.User: {name: User speed, type: INTEGER32, unit: user_velocity}
  Hom.Method: {name: Homing method, type: INTEGER8, choices: {1: Negative switch, 2: Index pulse}}
  Brk.Used: {name: Brake used, type: BOOLEAN}
  Amb.Temp: {name: Warm, type: INTEGER16, scale: 0.1, unit: degC, range: [0, 60]}
  Reg.Gain: {name: Gain, type: REAL32, unit: 1/s}
  Reg.Third: {name: Third, type: INTEGER32, scale: 3}
  Dev.Name: {name: Device name, type: VISIBLE_STRING}
  Dev.Small: {name: Small, type: UNSIGNED8}
  Dev.Long: {name: Long, type: REAL64, scale: 0.37}
variants:
- firmware: ">=2.0"
  parameters:
    Lim.Window: {scale: 0.01}
    Dev.Small: {absent: true}
- firmware: ">=3"
  parameters:
    Lim.Window: {unit: um}
    New.One: {name: New one, type: INTEGER16}
"""


@pytest.fixture(scope="module")
def hazel() -> Family:
    return read_family(DICTIONARY.encode(), "hazel.yaml")


def content(*entries: Entry, holds: str = "value", **rest: object) -> Listing:
    return Listing("delimited", entries, holds=holds, **rest)  # type: ignore[arg-type]


def taken(
    family: Family, code: str, written: int | Decimal | str, unit: str = "", holds: str = "value"
) -> Parameter:
    found = normalise(content(Entry(code, written, 7, unit=unit), holds=holds), family)
    assert found.skipped == ()
    return found.parameters[code]


def refused(
    family: Family, code: str, written: int | Decimal | str, unit: str = "", holds: str = "value"
) -> str:
    found = normalise(content(Entry(code, written, 7, unit=unit), holds=holds), family)
    assert len(found.parameters) == 0
    (skipped,) = found.skipped
    assert skipped.line == 7
    assert code in skipped.text
    return skipped.reason


def test_a_value_gives_the_raw_content_behind_its_scale(hazel: Family) -> None:
    found = taken(hazel, "Lim.Window", "2,5")
    assert (found.value, found.raw, found.unit) == (Decimal("2.5"), 2500, "mm")
    assert isinstance(found.raw, int)


def test_raw_content_gives_the_value_through_its_scale(hazel: Family) -> None:
    found = taken(hazel, "Lim.Window", 2500, holds="raw")
    assert (found.value, found.raw, found.unit) == (Decimal("2.5"), 2500, "mm")


def test_a_parameter_has_name_and_role_of_the_dictionary(hazel: Family) -> None:
    entry = Entry("Lim.Window", 1, 7, name="Fenster")
    found = normalise(content(entry), hazel).parameters["Lim.Window"]
    assert (found.name, found.role) == ("Window", "following_error_window")


def test_thousands_are_read_as_the_dictionary_says(hazel: Family) -> None:
    assert taken(hazel, "Mot.Speed", "1.000").value == 1000


def test_what_begins_with_a_nought_has_no_thousands_but_for_snapshots_of_before(
    hazel: Family,
) -> None:
    entry = content(Entry("Mot.Speed", "0.125", 7))
    assert "Mot.Speed" not in normalise(entry, hazel).parameters
    assert normalise(entry, hazel, 3).parameters["Mot.Speed"].value == 125
    assert not reads_as_today(3, hazel)
    assert reads_as_today(3, None)


def test_a_whole_value_is_an_integer_whatever_its_spelling(hazel: Family) -> None:
    found = taken(hazel, "Mot.Speed", "500,0")
    assert found.value == 500
    assert isinstance(found.value, int)


def test_hexadecimal_content_is_read(hazel: Family) -> None:
    assert taken(hazel, "Dev.Small", "0x1F").raw == 31


@settings(deadline=None)
@given(raw=st.integers(0, 2**32 - 1))
def test_raw_and_value_give_the_same_parameter(raw: int) -> None:
    family = read_family(DICTIONARY.encode(), "hazel.yaml")
    value = Decimal(raw).scaleb(-3)
    by_value = taken(family, "Lim.Window", value)
    by_raw = taken(family, "Lim.Window", raw, holds="raw")
    assert by_value == by_raw
    assert Fraction(by_raw.value) == Fraction(raw, 1000)


@settings(deadline=None)
@given(
    number=st.decimals(allow_nan=False, allow_infinity=False).filter(
        lambda d: abs(d.adjusted()) < 300
    )
)
def test_a_real_number_of_any_length_is_scaled_exactly(number: Decimal) -> None:
    family = read_family(DICTIONARY.encode(), "hazel.yaml")
    found = taken(family, "Dev.Long", number, holds="raw")
    assert not isinstance(found.value, str)
    assert not isinstance(found.raw, str)
    assert Fraction(found.raw) == Fraction(number)
    assert Fraction(found.value) == Fraction(number) * Fraction(37, 100)


def test_a_unit_that_the_export_states_is_kept_with_its_number(hazel: Family) -> None:
    found = taken(hazel, "Mot.Speed", "30", "m/min")
    assert (found.value, found.unit, found.raw) == (30, "m/min", 500)


def test_a_unit_that_only_is_spelled_otherwise_is_the_same(hazel: Family) -> None:
    assert taken(hazel, "Amb.Temp", "25", "°C") == taken(hazel, "Amb.Temp", "25")


def test_a_temperature_in_another_unit_counts_from_its_own_zero(hazel: Family) -> None:
    found = taken(hazel, "Amb.Temp", "77", "°F")
    assert (found.value, found.unit, found.raw) == (77, "degF", 250)


def test_a_user_unit_may_be_stated_as_a_real_one(hazel: Family) -> None:
    found = taken(hazel, "Mot.User", "500", "mm/s")
    assert (found.value, found.unit, found.raw) == (500, "mm/s", 500)


def test_raw_content_is_in_the_unit_that_the_scale_leads_to(hazel: Family) -> None:
    found = taken(hazel, "Lim.Window", 2500, "um", holds="raw")
    assert (found.value, found.unit) == (Decimal("2.5"), "mm")


def test_a_choice_may_be_written_by_its_name(hazel: Family) -> None:
    found = taken(hazel, "Hom.Method", "index PULSE")
    assert (found.value, found.raw, found.label) == (2, 2, "Index pulse")


def test_a_choice_written_by_number_gets_its_name(hazel: Family) -> None:
    assert taken(hazel, "Hom.Method", "1").label == "Negative switch"


def test_a_number_that_is_no_choice_stays_a_number(hazel: Family) -> None:
    assert taken(hazel, "Hom.Method", "35").label is None


@pytest.mark.parametrize(
    ("text", "raw"), [("true", 1), ("ON", 1), ("Yes", 1), ("False", 0), ("off", 0), ("no", 0)]
)
def test_a_truth_value_is_zero_or_one(hazel: Family, text: str, raw: int) -> None:
    assert taken(hazel, "Brk.Used", text).raw == raw


def test_text_is_kept_as_it_stands_even_where_it_looks_like_a_number(hazel: Family) -> None:
    found = normalise(content(Entry("Dev.Name", 12, 7, text="0012")), hazel)
    parameter = found.parameters["Dev.Name"]
    assert (parameter.value, parameter.raw) == ("0012", "0012")


@pytest.mark.parametrize(
    ("code", "written", "unit", "reason"),
    [
        ("Mot.Speed", "500", "furlong-ish", "unknown unit 'furlong-ish'"),
        ("Mot.Speed", "500", "Nm", "unit 'N*m' does not fit: this parameter is in 'mm/s'"),
        ("Mot.Speed", "fast", "", "'fast' is not a number"),
        ("Mot.Speed", "", "", "'' is not a number"),
        ("Mot.Speed", "NaN", "", "'NaN' is not a number"),
        ("Mot.Speed", "500,5", "", "500.5 mm/s is no multiple of the step 1 mm/s"),
        ("Mot.Fine", "0,25", "", "0.25 mm/s is no multiple of the step 0.1 mm/s"),
        ("Mot.Speed", "1", "m/min", "1 m/min is no multiple of the step 1 mm/s"),
        ("Reg.Third", "10", "", "10 is no multiple of the step 3"),
        ("Dev.Small", "256", "", "256 lies outside UNSIGNED8 (0 to 255)"),
        ("Dev.Small", "-1", "", "-1 lies outside UNSIGNED8 (0 to 255)"),
        ("Brk.Used", "2", "", "2 lies outside BOOLEAN (0 to 1)"),
        ("Brk.Used", "perhaps", "", "'perhaps' is not a number"),
        ("Mot.User", "5", "mm", "unit 'mm' does not fit: this parameter is in 'user_velocity'"),
    ],
)
def test_an_entry_that_does_not_fit_is_left_out_with_the_reason(
    hazel: Family, code: str, written: str, unit: str, reason: str
) -> None:
    assert refused(hazel, code, written, unit) == reason


def test_raw_content_outside_its_type_is_left_out(hazel: Family) -> None:
    assert refused(hazel, "Dev.Small", 300, holds="raw") == "300 lies outside UNSIGNED8 (0 to 255)"


def test_raw_content_that_is_no_whole_number_is_left_out(hazel: Family) -> None:
    reason = refused(hazel, "Dev.Small", Decimal("1.5"), holds="raw")
    assert reason == "1.5 is not a whole number, as UNSIGNED8 needs"


def test_a_number_of_thousands_of_digits_is_left_out(hazel: Family) -> None:
    assert "too long for a number" in refused(hazel, "Mot.Speed", "9" * 5000)


def test_a_bad_entry_takes_no_good_one_with_it(hazel: Family) -> None:
    found = normalise(content(Entry("Mot.Speed", "x", 3), Entry("Mot.User", "1", 4)), hazel)
    assert list(found.parameters) == ["Mot.User"]


def test_a_code_that_comes_again_is_left_out_naming_the_first_line(hazel: Family) -> None:
    found = normalise(content(Entry("Mot.Speed", 1, 3), Entry("Mot.Speed", 2, 9)), hazel)
    assert found.parameters["Mot.Speed"].value == 1
    assert found.skipped == (
        SkippedLine(9, "Mot.Speed 2", "Mot.Speed stands on line 3 already"),
    )  # fmt: skip


def test_lines_left_out_stand_in_the_order_of_the_file(hazel: Family) -> None:
    late = SkippedLine(8, "???", "no code")
    found = normalise(content(Entry("Mot.Speed", "x", 9), skipped=(late,)), hazel)
    assert [skipped.line for skipped in found.skipped] == [8, 9]


@pytest.mark.parametrize(
    ("code", "written", "unit", "warning"),
    [
        ("Mot.Speed", "1001", "", "Mot.Speed Speed: 1001 mm/s lies outside its range 0 to 1000"),
        ("Mot.Speed", "-1", "", "Mot.Speed Speed: -1 mm/s lies outside its range 0 to 1000"),
        ("Mot.Speed", "90", "m/min",
         "Mot.Speed Speed: 90 m/min lies outside its range 0 to 1000 mm/s"),
        ("Lim.Window", "0,099", "",
         "Lim.Window Window: 0.099 mm lies outside its range 0.1 to 50"),
    ],
)  # fmt: skip
def test_a_value_outside_its_range_is_kept_with_a_warning(
    hazel: Family, code: str, written: str, unit: str, warning: str
) -> None:
    found = normalise(content(Entry(code, written, 1, unit=unit)), hazel)
    assert found.warnings == (warning,)
    assert code in found.parameters


@pytest.mark.parametrize(
    ("code", "written", "unit"),
    [("Mot.Speed", "1.000", ""), ("Mot.Speed", "0", ""), ("Mot.Speed", "60", "m/min"),
     ("Lim.Window", "0,1", ""), ("Amb.Temp", "140", "°F")],
)  # fmt: skip
def test_a_value_on_the_edge_of_its_range_gives_no_warning(
    hazel: Family, code: str, written: str, unit: str
) -> None:
    assert normalise(content(Entry(code, written, 1, unit=unit)), hazel).warnings == ()


def test_codes_that_are_not_in_the_dictionary_are_counted_and_kept(hazel: Family) -> None:
    found = normalise(content(*(Entry(f"Z.{n}", n, n) for n in range(1, 6))), hazel)
    assert found.unknown_codes == 5
    assert len(found.parameters) == 5
    assert found.warnings == ("5 codes are not in dictionary hazel: Z.1, Z.2, Z.3, …",)


@pytest.mark.parametrize(
    ("firmware", "value", "unit"),
    [
        (None, "2.5", "mm"),
        ("1.99", "2.5", "mm"),
        ("2.0", "25", "mm"),
        ("V02.14.03", "25", "mm"),
        ("3", "25", "um"),
    ],
)
def test_a_variant_of_the_firmware_overrides_what_it_names(
    hazel: Family, firmware: str | None, value: str, unit: str
) -> None:
    plate = {"firmware": firmware} if firmware else {}
    export = content(Entry("Lim.Window", 2500, 1), holds="raw", nameplate=plate)
    found = normalise(export, hazel).parameters["Lim.Window"]
    assert (found.value, found.unit, found.name) == (Decimal(value), unit, "Window")


def test_a_parameter_that_a_firmware_does_not_have_is_unknown_there(hazel: Family) -> None:
    export = content(Entry("Dev.Small", 1, 1), nameplate={"firmware": "2.1"})
    assert normalise(export, hazel).unknown_codes == 1


def test_a_parameter_that_a_firmware_brings_is_known_there_alone(hazel: Family) -> None:
    def unknown(firmware: str) -> int:
        export = content(Entry("New.One", 1, 1), nameplate={"firmware": firmware})
        return normalise(export, hazel).unknown_codes

    assert (unknown("2.9"), unknown("3.0")) == (1, 0)


@settings(deadline=None)
@given(seed=st.randoms(use_true_random=False))
def test_entries_in_any_order_give_the_same_bytes(seed: random.Random) -> None:
    family = read_family(DICTIONARY.encode(), "hazel.yaml")
    entries = [
        Entry("Lim.Window", "2,5", 1),
        Entry("Mot.Speed", "30", 2, unit="m/min"),
        Entry("Hom.Method", "2", 3),
        Entry("Dev.Name", "lift", 4),
        Entry("Reg.Gain", "33,3", 5),
        Entry("P10", 1, 6),
        Entry("P2", 1, 7),
    ]
    shuffled = entries.copy()
    seed.shuffle(shuffled)
    straight, mixed = normalise(content(*entries), family), normalise(content(*shuffled), family)
    assert parameters_text(mixed.parameters) == parameters_text(straight.parameters)
    codes = list(mixed.parameters)
    assert codes.index("P10") == codes.index("P2") + 1


def described(*entries: Entry) -> Normalised:
    return normalise(Listing("dcf", entries, holds="raw"), None)


def test_a_standard_object_gets_role_unit_and_choices_of_the_standard() -> None:
    # CiA 402-2: 6065h following error window in user position units, 6098h homing method;
    # from memory.
    found = described(
        Entry("0x6065:00", 2500, 1, name="Following error window", data_type="UNSIGNED32"),
        Entry("0x6098:00", 1, 2, name="Homing method", data_type="INTEGER8"),
    ).parameters
    assert found["0x6065:00"].role == "following_error_window"
    assert found["0x6065:00"].unit == "user_position"
    assert found["0x6098:00"].label is not None


def test_an_object_of_the_makers_own_has_only_what_the_export_says_of_it() -> None:
    entry = Entry("0x2001:02", 7, 1, name="Own thing", data_type="UNSIGNED16")
    parameter = described(entry).parameters["0x2001:02"]
    assert parameter == Parameter("0x2001:02", "Own thing", 7, 7)


def test_an_object_without_a_name_is_called_after_its_role_or_code() -> None:
    found = described(
        Entry("0x6065:00", 1, 1, data_type="UNSIGNED32"),
        Entry("0x2001:02", 1, 2, data_type="UNSIGNED8"),
    ).parameters
    assert found["0x6065:00"].name == "Following error window"
    assert found["0x2001:02"].name == "0x2001:02"


def test_the_range_that_an_export_states_is_held_against_its_value() -> None:
    entry = Entry("0x2001:00", 300, 1, name="X", data_type="UNSIGNED16", low=0, high=255)
    found = described(entry)
    assert found.warnings == ("0x2001:00 X: 300 lies outside its range 0 to 255",)


@pytest.mark.parametrize(("low", "high", "words"), [(5, None, "from 5"), (None, 1, "up to 1")])
def test_a_range_with_one_end_is_told_with_one_end(
    low: int | None, high: int | None, words: str
) -> None:
    found = described(Entry("0x2001:00", 3, 1, data_type="UNSIGNED16", low=low, high=high))
    assert found.warnings == (f"0x2001:00 0x2001:00: 3 lies outside its range {words}",)


def test_content_of_unknown_type_is_a_number_where_it_is_one_and_text_elsewhere() -> None:
    found = described(Entry("A", "12", 1), Entry("B", "1.50", 2), Entry("C", "twelve", 3))
    values = [found.parameters[code].value for code in "ABC"]
    assert values == [12, Decimal("1.5"), "twelve"]


def test_a_described_type_is_enforced() -> None:
    found = described(Entry("0x2001:00", 70000, 5, data_type="UNSIGNED16"))
    assert [s.reason for s in found.skipped] == ["70000 lies outside UNSIGNED16 (0 to 65535)"]


def test_a_self_describing_export_has_no_unknown_codes(hazel: Family) -> None:
    export = Listing("dcf", (Entry("0x2001:00", 1, 1, data_type="UNSIGNED8"),))
    assert normalise(export, hazel).unknown_codes == 0


@pytest.mark.parametrize(
    ("spelled", "unit"),
    [("PS", "PS"), ("hp", "hp"), ("N/A", "N/A"), ("Impulse / U", "Impulse / U"), ("Arms", "A_rms")],
)
def test_a_unit_is_read_right_or_kept_as_it_is_spelled(
    hazel: Family, spelled: str, unit: str
) -> None:
    assert taken(hazel, "Dev.Small", "5", spelled).unit == unit


@pytest.mark.parametrize(
    ("spelled", "by_rules_of_2"),
    [("Arms", "A"), ("Apk", "A"), ("mm", "mm")],
)
def test_the_rules_of_version_2_give_what_they_gave(
    hazel: Family, spelled: str, by_rules_of_2: str
) -> None:
    found = normalise(content(Entry("Dev.Small", "5", 7, unit=spelled)), hazel, 2)
    assert found.parameters["Dev.Small"].unit == by_rules_of_2


@pytest.mark.parametrize("spelled", ["PPR", "A(pk)", "Impulse / U"])
def test_the_rules_of_version_2_leave_out_what_they_did_not_know(
    hazel: Family, spelled: str
) -> None:
    found = normalise(content(Entry("Dev.Small", "5", 7, unit=spelled)), hazel, 2)
    assert [line.reason for line in found.skipped] == [f"unknown unit {spelled!r}"]


@pytest.mark.parametrize("written", [Decimal("2.50"), Decimal("0.001"), 7, Decimal("-12.75")])
def test_a_decimal_is_what_the_export_writes_and_no_raw_is_made_up(written: Decimal | int) -> None:
    decimal = read_family(
        DICTIONARY.replace("type: INTEGER32, unit: mm/s, range", "type: DECIMAL, range").encode(),
        "hazel.yaml",
    )
    found = normalise(content(Entry("Mot.Speed", written, 1)), decimal)
    assert found.skipped == ()
    assert found.parameters["Mot.Speed"].value == written
    assert found.parameters["Mot.Speed"].raw == written


def test_a_word_is_no_decimal() -> None:
    decimal = read_family(DICTIONARY.replace("INTEGER32", "DECIMAL").encode(), "hazel.yaml")
    found = normalise(content(Entry("Mot.Speed", "fast", 4)), decimal)
    assert [(one.line, one.reason) for one in found.skipped] == [(4, "'fast' is not a number")]


def test_of_names_of_choices_that_differ_by_case_alone_the_exact_one_is_meant() -> None:
    spelled = "choices: {1: Negative switch, 2: Index pulse}"
    twice = 'choices: {1: m, 2: M, 3: Off, 4: "Off", 5: Left}'
    family = read_family(DICTIONARY.replace(spelled, twice).encode(), "hazel.yaml")
    assert taken(family, "Hom.Method", "M").raw == 2
    assert taken(family, "Hom.Method", "LEFT").raw == 5
    assert refused(family, "Hom.Method", "Off") == "'Off' is the name of several choices"
