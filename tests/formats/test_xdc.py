"""XDC: an invented drive's values, held against ElementTree. CiA 311, from memory."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.description_texts import XDC, XDD
from tests.listing_strategies import CONTENTS, PLATES, said, scalars
from tests.sweeps import part_of
from vault.formats import xdc
from vault.formats.file_kind import file_kind
from vault.formats.registry import format_named, format_names
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing, Scalar
from vault.model.export_dialect import ExportDialect

VALUES = {
    "0x1000:00": 0x20192,
    "0x1014:00": 0x85,
    "0x6065:00": 5000,
    "0x6099:00": 2,
    "0x6099:01": 250,
    "0x6099:02": -2,
    "0x2011:00": -3,
    "0x2020:00": "lift",
}
SECOND_AXIS = (
    '<CANopenObject index="6865" name="Following error" objectType="7" dataType="0007"\n'
    '  accessType="rw" actualValue="77"/>\n    </CANopenObjectList>'
)
TWO_AXES = XDC.replace("</CANopenObjectList>", SECOND_AXIS)


def read(text: str | bytes, channel: int | None = None, **more: Any) -> Listing:
    content = text.encode() if isinstance(text, str) else text
    return xdc.read(content, file="lift.xdc", **{"dialect": None, "channel": channel, **more})


def values(listing: Listing) -> dict[str, Scalar]:
    return {entry.code: entry.written for entry in listing.entries}


def write_back(text: str, changes: dict[str, Scalar], channel: int | None = None) -> bytes:
    return xdc.write_back(text.encode(), changes, file="lift.xdc", dialect=None, channel=channel)


def test_values_are_those_that_the_file_states_else_its_defaults() -> None:
    listing = read(XDC)
    assert values(listing) == VALUES
    assert not listing.skipped
    stated = {entry.code for entry in listing.entries if not entry.is_default}
    assert stated == {"0x6065:00", "0x6099:00", "0x6099:01", "0x6099:02", "0x2011:00", "0x2020:00"}
    assert [entry.code for entry in listing.entries if entry.is_count] == ["0x6099:00"]


def test_values_are_those_that_elementtree_reads() -> None:
    root = ElementTree.fromstring(XDC)
    stated = [one.attrib["actualValue"] for one in root.iter() if "actualValue" in one.attrib]
    found = [e.written for e in read(XDC).entries if e.code not in ("0x2011:00",)]
    numbers = [int(text, 0) for text in stated if text != "lift"]
    assert [n - 2**32 if n >= 2**31 else n for n in numbers] == [
        value for value in found if value in (5000, 250, -2)
    ]


def test_an_entry_has_the_line_of_its_value() -> None:
    lines = XDC.splitlines()
    by_code = {entry.code: entry for entry in read(XDC).entries}
    assert "<SINT/><actualValue" in lines[by_code["0x2011:00"].line - 1]
    assert 'subIndex="02"' in lines[by_code["0x6099:02"].line - 1]


def test_the_nameplate_comes_from_the_device_and_its_commissioning() -> None:
    assert read(XDC).nameplate == {
        "vendor": "Invented",
        "product": "Hazel 5",
        "drive": "HZ-5",
        "node_id": "5",
        "node_name": "lift",
        "bit_rate": "500 Kbps",
    }


def test_a_family_may_name_places_of_its_own() -> None:
    places = {"0x2020": "encoder", "ProfileClassID": "note"}
    plate = read(XDC, dialect=ExportDialect(format="xdc", nameplate=places)).nameplate
    assert (plate["encoder"], plate["note"]) == ("lift", "Device")


def test_the_head_says_when_it_was_written_last() -> None:
    assert read(XDC).head_time == "2025-05-01T10:30:00"
    made = XDC.replace("fileModificationDate", "x").replace("fileModificationTime", "y")
    assert read(made).head_time == "2024-03-01T00:00:00"


def test_the_node_id_that_is_given_goes_before_the_file_s_own() -> None:
    listing = read(XDC, node_id=7)
    assert values(listing)["0x1014:00"] == 0x87
    assert listing.nameplate["node_id"] == "5"


def test_a_default_that_stands_in_for_the_value_needs_the_node_id() -> None:
    (told,) = read(XDC.replace('nodeID="5" ', "")).skipped
    assert "needs the node id" in told.reason


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ('actualValue="0x00001388"', 'actualValue="much"', "no whole number"),
        ('<actualValue value="-3"/>', '<actualValue value="300"/>', "outside INTEGER8"),
        (
            'index="2011"',
            'index="2011" actualValue="4"',
            "its own actualValue is another than that of its parameter",
        ),
    ],
)
def test_a_bad_value_is_told_and_hides_no_good_one(old: str, new: str, reason: str) -> None:
    listing = read(XDC.replace(old, new))
    (told,) = listing.skipped
    assert reason in told.reason
    assert len(values(listing)) == len(VALUES) - 1


def test_a_number_without_text_states_nothing_and_a_text_without_it_was_cleared() -> None:
    listing = read(XDC.replace("'250'", '""').replace('actualValue="lift"', 'actualValue=""'))
    assert values(listing) == {**VALUES, "0x6099:01": 100, "0x2020:00": ""}
    assert [e.code for e in listing.entries if e.is_default] == [
        "0x1000:00", "0x1014:00", "0x6099:01",
    ]  # fmt: skip
    assert not listing.skipped


def test_a_description_with_empty_values_is_still_none() -> None:
    empty = XDD.replace('index="', 'actualValue="" index="')
    with pytest.raises(Unreadable, match="a device description after CiA 311"):
        read(empty)


def test_a_file_of_several_axes_is_split() -> None:
    with pytest.raises(WrongUsage, match="channels 0, 1"):
        read(TWO_AXES)
    assert values(read(TWO_AXES, 0)) == VALUES
    assert values(read(TWO_AXES, 1))["0x6065:00"] == 77


def test_wide_text_is_read_too() -> None:
    wide = XDC.replace("UTF-8", "UTF-16").encode("utf-16")
    assert format_named("xdc").recognises(wide, "a.xdc")
    assert values(read(wide)) == VALUES


def test_it_is_told_by_its_root_and_an_actual_value() -> None:
    recognised = [
        name for name in format_names() if format_named(name).recognises(XDC.encode(), "lift.xml")
    ]
    assert recognised[0] == "xdc"  # in the order in which they are asked
    assert file_kind(XDC.encode(), "lift.xml") is None
    for other in (XDD, "<drives actualValue='5'/>", "actualValue=5", ""):
        assert not xdc.recognises(other.encode(), "lift.xml")


def test_a_description_in_which_the_word_stands_is_still_none() -> None:
    commented = XDD.replace("<DeviceIdentity>", "<!-- no actualValue here --><DeviceIdentity>")
    with pytest.raises(Unreadable, match="a device description after CiA 311"):
        read(commented)


@pytest.mark.parametrize("cut", range(200, len(XDC) - 2, 97))
def test_a_cut_at_any_place_is_refused(cut: int) -> None:
    with pytest.raises(Unreadable) as caught:
        read(XDC[:cut])
    assert caught.value.line


# Putting back.


def test_only_the_values_are_replaced_in_the_way_they_are_spelled() -> None:
    written = write_back(
        XDC, {"0x6065:00": 6000, "0x6099:01": 300, "0x6099:02": -9, "0x2011:00": -4}
    )
    expected = XDC.replace("0x00001388", "0x00001770").replace("'250'", "'300'")
    expected = expected.replace("0xFFFFFFFE", "0xFFFFFFF7").replace('value="-3"', 'value="-4"')
    assert written.decode() == expected


def test_what_has_its_value_already_keeps_its_spelling() -> None:
    listed = {c: v for c, v in VALUES.items() if c not in ("0x1000:00", "0x1014:00", "0x6099:00")}
    assert write_back(XDC, listed) == XDC.encode()


@given(
    st.integers(0, 2**32 - 1),
    st.integers(-(2**31), 2**31 - 1),
    st.text("ab<>&\"' é漢", min_size=1).filter(lambda text: text == text.strip()),
    st.sampled_from(["UTF-8", "UTF-16", "ISO-8859-1"]),
)
def test_what_was_put_back_reads_back_and_nothing_else_changes(
    window: int, speed: int, name: str, encoding: str
) -> None:
    original = XDC.replace("UTF-8", encoding).encode(encoding)
    changes: dict[str, Scalar] = {"0x6065:00": window, "0x6099:02": speed, "0x2020:00": name}
    written = xdc.write_back(original, changes, file="a", dialect=None, channel=None)
    assert values(read(written)) == {**VALUES, **changes}
    before, after = (
        [
            (one.tag, one.text, {k: v for k, v in one.attrib.items() if k != "actualValue"})
            for one in ElementTree.fromstring(text).iter()
        ]
        for text in (original, written)
    )
    assert before == after


def test_a_value_that_stands_in_two_places_is_replaced_in_both() -> None:
    both = XDC.replace('index="2011"', 'index="2011" actualValue="-3"')
    written = write_back(both, {"0x2011:00": 5}).decode()
    assert written == both.replace('"-3"', '"5"')


@settings(max_examples=part_of(60, 2), deadline=None)
@given(CONTENTS, st.data(), st.sampled_from(["utf-8", "utf-16"]))
def test_any_listing_takes_any_of_its_values_and_nothing_but_them_changes(
    some: tuple[Entry, ...], data: st.DataObject, encoding: str
) -> None:
    """What is left of the file without its actual values is the same, byte for byte."""
    text = xdc.write(Listing("xdc", some), dialect=None).decode()
    original = text.replace("UTF-8", encoding).encode(encoding)
    chosen = data.draw(st.sets(st.sampled_from([entry.code for entry in some])))
    changes = {
        entry.code: data.draw(scalars(entry.data_type or ""))
        for entry in some
        if entry.code in chosen
    }
    written = xdc.write_back(original, changes, file="a", dialect=None, channel=None)
    assert values(read(written)) == {**values(read(original)), **changes}
    bare = [re.sub(r'actualValue="[^"]*"', "", one.decode(encoding)) for one in (original, written)]
    assert bare[0] == bare[1]
    assert (written == original) == all(e.written == changes.get(e.code, e.written) for e in some)


def test_a_text_may_be_emptied() -> None:
    written = write_back(XDC, {"0x2020:00": ""}).decode()
    assert written == XDC.replace('actualValue="lift"', 'actualValue=""')
    assert values(read(written))["0x2020:00"] == ""


def test_a_value_that_another_object_shares_is_not_replaced_behind_its_back() -> None:
    shared = XDC.replace('index="2010"', 'index="2010" actualValue="3"').replace(
        '"2010" actualValue="3" name="Filter" objectType="7" dataType="0005" accessType="rw"\n'
        '         uniqueIDRef="P2"',
        '"2010" objectType="7" dataType="0002" uniqueIDRef="P3"',
    )
    assert values(read(shared))["0x2010:00"] == -3
    with pytest.raises(WrongUsage, match="0x2010:00 would read back as another value"):
        write_back(shared, {"0x2011:00": 4})
    both = write_back(shared, {"0x2011:00": 4, "0x2010:00": 4}).decode()
    assert both == shared.replace('"-3"', '"4"')


def dropped(text: str, *codes: str) -> str:
    return xdc.write_back(
        text.encode(), {}, file="a", dialect=None, channel=None, drop=codes
    ).decode()


def test_what_is_dropped_is_taken_out_whole() -> None:
    left = dropped(XDC, "0x2020:00", "0x6099:01", "0x2011:00")
    gone = {"0x2020:00", "0x6099:01", "0x2011:00"}
    assert values(read(left)) == {c: v for c, v in VALUES.items() if c not in gone}
    expected = re.sub(r'<CANopenObject index="2020"[^>]*/>', "", XDC)
    expected = re.sub(r'<CANopenObject index="2011"[^>]*/>', "", expected)
    expected = re.sub(r'<CANopenSubObject subIndex="01"[^>]*/>', "", expected)
    expected = expected.replace('subNumber="3"', 'subNumber="2"')
    assert left == expected.replace('<actualValue value="-3"/>', "")


def test_a_record_whose_parts_are_all_dropped_goes_with_them() -> None:
    left = dropped(XDC, "0x6099:00", "0x6099:01", "0x6099:02")
    assert left == re.sub(r'<CANopenObject index="6099".*?</CANopenObject>', "", XDC, flags=re.S)


@pytest.mark.parametrize(
    ("codes", "reason"),
    [(["0x6066:00"], "not in the export"), ([*VALUES], "what would be left is no export")],
)
def test_what_cannot_be_dropped_is_refused(codes: list[str], reason: str) -> None:
    with pytest.raises(WrongUsage, match=reason):
        dropped(XDC, *codes)


def test_the_other_axis_is_left_alone() -> None:
    written = write_back(TWO_AXES, {"0x6065:00": 78}, channel=1).decode()
    assert written == TWO_AXES.replace('actualValue="77"', 'actualValue="78"')


@pytest.mark.parametrize(
    ("code", "content", "reason"),
    [
        ("0x6066:00", 1, "no value in the file"),
        ("0x1000:00", 1, "no value in the file"),
        ("0x6065:00", -1, "lies outside UNSIGNED32"),
        ("0x6065:00", "many", "cannot be written to an XDC"),
        ("set/20", 1, "no value in the file"),
    ],
)
def test_what_has_no_place_or_does_not_fit_is_refused(
    code: str, content: Scalar, reason: str
) -> None:
    with pytest.raises(WrongUsage, match=reason):
        write_back(XDC, {code: content})


# Writing a whole file.


@settings(max_examples=part_of(60, 2), deadline=None)
@given(CONTENTS, PLATES)
def test_what_is_written_reads_back_the_same(
    some: tuple[Entry, ...], plate: dict[str, str]
) -> None:
    listing = Listing("xdc", some, nameplate=plate)
    written = xdc.write(listing, dialect=None)
    ElementTree.fromstring(written)
    back = read(written)
    assert [said(entry) for entry in back.entries] == [said(entry) for entry in some]
    assert {**plate, **back.nameplate} == back.nameplate
    assert not back.skipped


def test_an_axis_is_written_at_its_own_addresses() -> None:
    back = read(xdc.write(read(TWO_AXES, 1), dialect=None), 1)
    assert values(back) == values(read(TWO_AXES, 1))


@pytest.mark.parametrize(
    ("entry", "reason"),
    [
        (Entry("set/20", 1, 0), "an XDC holds objects such as"),
        (Entry("0x2000:00", 300, 0, data_type="UNSIGNED8"), "cannot be written to an XDC"),
        (Entry("0x2000:00", 1, 0, name="a\x01"), "cannot be written to XML"),
    ],
)
def test_what_cannot_be_written_is_named(entry: Entry, reason: str) -> None:
    with pytest.raises(WrongUsage, match=reason):
        xdc.write(Listing("xdc", (entry,)), dialect=None)


def test_scaled_values_are_not_written() -> None:
    with pytest.raises(WrongUsage, match="raw contents"):
        xdc.write(Listing("xdc", (), holds="value"), dialect=None)
