"""What a device description adds to a dictionary: an invented drive, and only what is certain."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from tests.description_texts import CIP, XDD
from vault.formats.describe.description import DescribedParameter, Scaling
from vault.formats.describe.registry import describe
from vault.jobs.drafting.described import Said, Seen, additions, described_by_code, said_of
from vault.jobs.drafting.draft import Draft, ExportFile, draft
from vault.jobs.drafting.parameters import DraftParameter
from vault.model.quantities import canonical_unit
from vault.store.files.edited_files import read_family

RPM = canonical_unit("rpm")
TENTHS = Scaling(Fraction(1, 10))
SPEED = DescribedParameter(
    "1", "Highest speed", 1, "UNSIGNED16", "r/min", TENTHS, 0, 30000, 15000, access="ro"
)
STOP = DescribedParameter(
    "2", "Mode of stop", 2, "UNSIGNED8", low=0, high=2, default=1,
    choices={0: "Coast", 1: "Ramp", 2: "Hold"},
)  # fmt: skip


def said(one: DescribedParameter, **seen: object) -> Said:
    return said_of(one, Seen(one.code, **seen))  # type: ignore[arg-type]


def test_range_and_default_are_in_the_unit_of_the_export() -> None:
    found = said(SPEED, unit=RPM, numbers=(2500,))
    assert (found.low, found.high, found.default) == (0, 3000, 1500)
    assert (found.name, found.access, found.unit) == ("Highest speed", "ro", None)


def test_a_type_is_not_certain_where_what_the_drive_holds_is_scaled() -> None:
    assert said(SPEED, unit=RPM, numbers=(2500,)).type is None


def test_a_range_in_another_unit_is_left_out_and_told() -> None:
    found = said(SPEED, unit="mm/s", numbers=(2500,))
    assert (found.low, found.high, found.default) == (None, None, None)
    assert f"has it in {RPM}" in found.remarks[0]


@pytest.mark.parametrize("numbers", [(2500,), ()])
def test_a_unit_is_not_taken_where_the_numbers_may_be_what_the_drive_holds(
    numbers: tuple[int, ...],
) -> None:
    found = said(SPEED, numbers=numbers)
    assert (found.unit, found.high) == (None, None)
    assert "does not say" in found.remarks[0]


def test_a_unit_is_taken_where_the_numbers_cannot_be_what_the_drive_holds() -> None:
    found = said(SPEED, numbers=(2500, Decimal("12.5")))
    assert (found.unit, found.high) == (RPM, 3000)


def test_a_unit_without_scaling_is_taken_where_the_numbers_fit_the_range() -> None:
    plain = replace(SPEED, scaling=None)
    assert said(plain, numbers=(2500,)).unit == RPM
    assert said(plain, numbers=(30001,)).unit is None
    assert said(plain, numbers=(Decimal("2.5"),)).unit is None


def test_a_type_is_taken_where_all_numbers_are_whole_and_lie_in_it() -> None:
    plain = replace(SPEED, scaling=None)
    assert said(plain, unit=RPM, numbers=(0, 65535)).type == "UNSIGNED16"
    assert said(plain, unit=RPM, numbers=(0, 65536)).type is None
    assert said(plain, unit=RPM, numbers=(Decimal("0.5"),)).type is None
    assert said(plain, unit=RPM).type is None


def test_a_third_of_a_unit_is_left_out_and_told() -> None:
    found = said(replace(SPEED, scaling=Scaling(Fraction(1, 3)), low=1, high=3), unit=RPM)
    assert (found.low, found.high) == (None, 1)
    assert "no decimal number" in found.remarks[0]


def test_a_negative_factor_turns_the_range_round() -> None:
    found = said(replace(SPEED, scaling=Scaling(Fraction(-1, 10))), unit=RPM)
    assert (found.low, found.high) == (-3000, 0)


def test_choices_are_taken_for_numbers_and_for_their_words() -> None:
    for found in (said(STOP, numbers=(2, 0)), said(STOP, words=("hold", "Coast"))):
        assert (found.type, found.choices) == ("UNSIGNED8", STOP.choices)
        assert found.default == 1


@pytest.mark.parametrize("words", [("Brake",), ("Hold", "Brake")])
def test_choices_are_not_taken_where_a_word_is_none_of_them(words: tuple[str, ...]) -> None:
    assert not said(STOP, words=words).choices


def test_choices_of_one_name_are_not_taken_for_words() -> None:
    twice = replace(STOP, choices={0: "Coast", 1: "reserved", 2: "Reserved"})
    found = said(twice, words=("Coast",))
    assert not found.choices
    assert "one name" in found.remarks[0]


def test_object_addresses_are_spelled_one_way() -> None:
    assert set(described_by_code([describe(XDD.encode(), "hazel.xdd")])) >= {"0x2020:00"}


def family(keys: str) -> Mapping[str, Said]:
    text = (
        "schema: axisvault/family/1\nname: oak\ntitle: Oak\n"
        "export: {format: delimited, columns: {code: No, value: V}}\n"
        f"parameters:\n  '1': {{{keys}}}\n"
    )
    return additions(read_family(text.encode(), "oak.yaml"), [describe(CIP.encode(), "hazel.eds")])


def test_what_a_dictionary_says_itself_is_kept() -> None:
    keys = "name: Vmax, type: DECIMAL, unit: rpm, range: [1, 2], default: 1, access: wo"
    assert not family(keys)


def test_what_a_dictionary_leaves_open_is_added() -> None:
    found = family("name: Vmax, type: DECIMAL, unit: rpm")["1"]
    assert (found.low, found.high, found.default, found.access) == (0, 3000, 1500, "rw")
    assert (found.name, found.type) == ("", None)


def test_a_dictionary_that_has_the_type_has_its_own_scale() -> None:
    found = family("name: Vmax, type: UNSIGNED16, scale: 0.01, unit: 1/s")["1"]
    assert (found.low, found.high, found.default) == (0, 300, 150)


def test_a_code_is_no_name() -> None:
    assert family("name: '1', type: DECIMAL")["1"].name == "Highest speed"


def drafted(text: str) -> tuple[Draft, dict[str, DraftParameter]]:
    found = draft(
        [ExportFile(text.encode(), "oak.csv")],
        "oak",
        descriptions=[describe(CIP.encode(), "hazel.eds")],
    )
    return found, {one.code: one for one in found.parameters}


def test_a_draft_takes_names_ranges_and_choices_from_a_description() -> None:
    _, found = drafted("No;Value;Unit\n1;1250.5;rpm\n2;1;\n4;1.5;\n7;3;\n")
    assert (found["1"].name, found["1"].high, found["1"].default) == ("Highest speed", 3000, 1500)
    assert found["2"].choices == {0: "Coast", 1: "Ramp, then off", 2: "Hold"}
    assert (found["2"].type, found["2"].access) == ("UNSIGNED8", "ro")
    assert found["7"].name == "7"


def test_what_an_export_states_goes_before_a_description() -> None:
    _, found = drafted("No;Name;Value;Unit;Min;Max\n1;Vmax;1250.5;rpm;0;2000\n2;Stop;1;;0;9\n")
    assert (found["1"].name, found["1"].high) == ("Vmax", 2000)
