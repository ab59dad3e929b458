"""Parameters in XML and JSON, held against ElementTree and json of Python. All files are invented.

Hypothesis makes files in several shapes; the hand-made ones have what tools like to do.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import records, xml_text
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Listing, Scalar
from vault.model.export_dialect import ExportDialect

CODES = st.text("ABcd12.-_/é", min_size=1, max_size=6)
WORDS = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Z"], exclude_characters="\ufffe\uffff"),
    min_size=1,
    max_size=6,
)
NUMBERS = st.integers(-(10**12), 10**12) | st.decimals(
    allow_nan=False, allow_infinity=False, places=3, min_value=-(10**9), max_value=10**9
)
PARAMETERS = st.dictionaries(CODES, st.tuples(NUMBERS, WORDS), min_size=1, max_size=6)


def dialect(record: str, code: str, value: str, **more: Any) -> ExportDialect:
    columns = {"code": code, "value": value, **more.pop("columns", {})}
    return ExportDialect(format="records", record=record, columns=columns, **more)


def read(content: bytes | str, by: ExportDialect, channel: int | None = None) -> Listing:
    content = content if isinstance(content, bytes) else content.encode()
    return records.read(content, file="a", dialect=by, channel=channel)


def put(
    content: bytes | str,
    by: ExportDialect,
    values: Mapping[str, Scalar],
    drop: tuple[str, ...] = (),
    channel: int | None = None,
) -> bytes:
    content = content if isinstance(content, bytes) else content.encode()
    return records.write_back(content, values, file="a", dialect=by, channel=channel, drop=drop)


def written(listing: Listing) -> dict[str, Scalar]:
    return {entry.code: entry.written for entry in listing.entries}


def problems(listing: Listing) -> list[tuple[int, str, str]]:
    return [(bad.line, bad.text, bad.reason) for bad in listing.skipped]


# Round trips


BY_ATTRIBUTES = dialect("Set/List/P", "@id", "@v", columns={"unit": "@u"})
BY_ELEMENTS = dialect("Set/List/P", "Id", "Data/Value", columns={"unit": "Data/@u"})


def xml_of(made: Mapping[str, tuple[int | Decimal, str]], *, nested: bool) -> ElementTree.Element:
    root = ElementTree.Element("Set")
    parent = ElementTree.SubElement(root, "List")
    for code, (number, unit) in made.items():
        if not nested:
            ElementTree.SubElement(parent, "P", {"id": code, "v": str(number), "u": unit})
            continue
        record = ElementTree.SubElement(parent, "P")
        ElementTree.SubElement(record, "Id").text = code
        data = ElementTree.SubElement(record, "Data", {"u": unit})
        ElementTree.SubElement(data, "Value").text = str(number)
    return root


@given(PARAMETERS, st.booleans(), st.sampled_from(["utf-8", "utf-16", "iso-8859-1"]), st.data())
def test_of_xml_the_values_are_read_and_put_back(
    made: dict[str, tuple[int | Decimal, str]], nested: bool, encoding: str, data: st.DataObject
) -> None:
    root, by = xml_of(made, nested=nested), BY_ELEMENTS if nested else BY_ATTRIBUTES
    ElementTree.indent(root)
    content: bytes = ElementTree.tostring(root, encoding=encoding, xml_declaration=True)
    listing = read(content, by)
    assert written(listing) == {code: number for code, (number, _) in made.items()}
    assert [entry.unit for entry in listing.entries] == [unit for _, unit in made.values()]
    new = data.draw(st.dictionaries(st.sampled_from([*made]), NUMBERS))
    gone = data.draw(st.sets(st.sampled_from([*made])))
    changed = put(content, by, new, tuple(gone))
    kept = {c: (new.get(c, n), unit) for c, (n, unit) in made.items() if c not in gone}
    found = ElementTree.fromstring(changed).iterfind("List/P")
    spelled = [(p.findtext("Data/Value") if nested else p.get("v")) or "" for p in found]
    assert [Decimal(text) for text in spelled] == [number for number, _ in kept.values()]
    assert put(content, by, {}) == content


SHAPES = {
    "list": (dialect("set/list[]", "id", "v/n", columns={"unit": "v/u"}), ["utf-8", "utf-16"]),
    "map": (dialect("set{}", "~key", "n", columns={"unit": "u"}), ["utf-8", "utf-8-sig"]),
    "rows": (dialect("[]", "0", "1", columns={"unit": "2"}), ["utf-8", "utf-16-le"]),
    "plain": (dialect("set/*", "~key", "."), ["utf-8", "utf-16-be"]),
}


def json_of(shape: str, made: Mapping[str, tuple[Any, str]]) -> Any:
    if shape == "list":
        return {"set": {"list": [{"id": c, "v": {"n": n, "u": u}} for c, (n, u) in made.items()]}}
    if shape == "map":
        return {"set": {code: {"n": number, "u": unit} for code, (number, unit) in made.items()}}
    if shape == "rows":
        return [[code, number, unit] for code, (number, unit) in made.items()]
    return {"set": {code: number for code, (number, _) in made.items()}}


@given(PARAMETERS, st.sampled_from([*SHAPES]), st.sampled_from([None, 2]), st.data())
def test_of_json_the_values_are_read_and_put_back(
    made: dict[str, tuple[int | Decimal, str]], shape: str, indent: int | None, data: st.DataObject
) -> None:
    by, encodings = SHAPES[shape]
    # A number as it is spelled stands where its mark stood: Python's json writes no Decimal.
    marked = {code: (f"#{number}#", unit) for code, (number, unit) in made.items()}
    text = json.dumps(json_of(shape, marked), indent=indent, ensure_ascii=False)
    for number, _ in made.values():
        text = text.replace(f'"#{number}#"', str(number))
    content = text.encode(data.draw(st.sampled_from(encodings)))
    listing = read(content, by)
    assert written(listing) == {code: number for code, (number, _) in made.items()}
    assert [str(entry.written) for entry in listing.entries] == [str(n) for n, _ in made.values()]
    new = data.draw(st.dictionaries(st.sampled_from([*made]), NUMBERS))
    gone = data.draw(st.sets(st.sampled_from([*made])))
    changed = put(content, by, new, tuple(gone))
    kept = {c: (new.get(c, n), unit) for c, (n, unit) in made.items() if c not in gone}
    assert json.loads(changed, parse_float=Decimal) == json_of(shape, kept)
    assert put(content, by, {}) == content


MARK = re.compile("\ue000(.*?)\ue000")


def marked(made: Mapping[str, tuple[Any, str]]) -> dict[str, tuple[str, str]]:
    """Values between marks that stand nowhere else."""
    return {code: (f"\ue000{number}\ue000", unit) for code, (number, unit) in made.items()}


@given(PARAMETERS, st.sampled_from(["attributes", "elements", *SHAPES]), st.data())
def test_nothing_but_the_values_changes(
    made: dict[str, tuple[int | Decimal, str]], shape: str, data: st.DataObject
) -> None:
    if shape in SHAPES:
        by = SHAPES[shape][0]
        template = json.dumps(json_of(shape, marked(made)), indent=1, ensure_ascii=False)
        template = template.replace('"\ue000', "\ue000").replace('\ue000"', "\ue000")
    else:
        by = BY_ELEMENTS if shape == "elements" else BY_ATTRIBUTES
        root = xml_of(marked(made), nested=shape == "elements")
        template = ElementTree.tostring(root, encoding="unicode")
    new = data.draw(st.dictionaries(st.sampled_from([*made]), NUMBERS))
    changed = put(MARK.sub(r"\1", template), by, new).decode()
    around = [re.escape(part) for part in MARK.sub("\ue000", template).split("\ue000")]
    values = re.fullmatch("([-0-9.eE+]+)".join(around), changed)
    assert values is not None
    expected = [new.get(code, number) for code, (number, _) in made.items()]
    assert [Decimal(text) for text in values.groups()] == expected


# Hand-made XML


AXES = b"""<?xml version="1.0" encoding="utf-8"?>
<!-- saved by a tool that does not exist -->
<m:Machine xmlns:m="urn:invented:machine" xmlns:v="urn:invented:value" m:serial="77-01">
  <Device><Field name="Type">HZ-04</Field><Field name="Firmware">2.1</Field></Device>
  <Saved>2026-03-01T08:00:00Z</Saved>
  <Axis number="Axis 1">
    <Motor serial="M-1"/>
    <Group name="lim">
      <P code="lag" v:unit="mm"><!-- a window --><Name>Window</Name><Value>2.50</Value></P>
      <P code="top" v:unit='mm/s'>
        <Value><![CDATA[100]]></Value>
      </P>
    </Group>
    <Group name="ref"><P code="way"><Value>35</Value><Value>17</Value></P></Group>
  </Axis>
  <Axis number="Axis 2">
    <Motor serial="M-2"/>
    <Group name="lim">
      <P code="lag" v:unit="mm"><Value>7</Value></P><P code="top"><Value/></P>
      <P><Value>1</Value></P>
    </Group>
  </Axis>
</m:Machine>
"""
BY_AXIS = dialect(
    "Machine/Axis/Group/P",
    "@code",
    "Value",
    columns={"unit": "@unit", "name": "Name", "section": "../@name"},
    channel={"column": "../../@number"},
    nameplate={
        "Machine/@serial": "serial",
        "Machine/Device/Field[@name=Type]": "drive",
        "Machine/Device/Field[@name=Firmware]": "firmware",
        "Machine/Axis/Motor/@serial": "motor_serial",
        "Machine/Saved": "taken_at",
    },
    recognise={"drive": "^HZ-"},
)


def test_an_axis_of_xml_has_its_own_values_and_nameplate() -> None:
    listing = read(AXES, BY_AXIS, 1)
    assert written(listing) == {"lim/lag": Decimal("2.50"), "lim/top": 100}
    first = listing.entries[0]
    assert (first.name, first.unit, first.line, first.text) == ("Window", "mm", 9, "2.50")
    assert (listing.channel, listing.channels) == (1, (1, 2))
    assert listing.nameplate == {
        "serial": "77-01",
        "drive": "HZ-04",
        "firmware": "2.1",
        "motor_serial": "M-1",
    }
    assert listing.taken_at == "2026-03-01T08:00:00+00:00"
    assert read(AXES, BY_AXIS, 2).nameplate["motor_serial"] == "M-2"


def test_a_record_that_is_not_understood_is_told_with_line_and_path() -> None:
    assert problems(read(AXES, BY_AXIS, 1)) == [
        (14, "Machine/Axis[1]/Group[2]/P way 35", "Value stands 2 times in it")
    ]
    assert problems(read(AXES, BY_AXIS, 2)) == [
        (19, "Machine/Axis[2]/Group/P[2] top", "no value"),
        (20, "Machine/Axis[2]/Group/P[3] 1", "no code"),
    ]


def test_of_several_axes_one_must_be_chosen() -> None:
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        read(AXES, BY_AXIS)
    with pytest.raises(WrongUsage, match="no channel 3"):
        read(AXES, BY_AXIS, 3)


def test_values_go_back_in_the_way_that_xml_spells_them() -> None:
    changed = put(AXES, BY_AXIS, {"lim/lag": 4, "lim/top": "5 < 6"}, channel=1)
    assert changed == AXES.replace(b">2.50<", b">4.00<").replace(b"[100]", b"[5 < 6]")


def test_an_element_is_taken_out_and_nothing_else() -> None:
    for channel, first in ((1, 9), (2, 19)):
        (element,) = re.findall(rb'<P code="lag".*?</P>', AXES.splitlines()[first - 1])
        assert put(AXES, BY_AXIS, {}, ("lim/lag",), channel=channel) == AXES.replace(element, b"")


def test_codes_may_be_the_names_of_elements() -> None:
    by = dialect("d/s/*", "~key", ".")
    content = b"<d><s><P1>5</P1><P2>6 <!-- old: 7 --></P2></s></d>"
    assert written(read(content, by)) == {"P1": 5, "P2": 6}
    assert put(content, by, {"P2": 8}) == content.replace(b"6", b"8")


def test_a_record_may_be_one_of_several_that_says_what_it_is() -> None:
    by = dialect("d/s[@n=basic]/p", "f[@n=id]", "f[@n=value]")
    content = b"""<d><s n="other"><p><f n="id">X</f><f n="value">1</f></p></s>
    <s n="basic"><p><f n="id">A</f><f n="value">2</f></p></s></d>"""
    assert written(read(content, by)) == {"A": 2}


# Hand-made JSON


NESTED = b"""{
  "device": {"type": "HZ-04", "serial": 4711, "parts": [{"n": "motor", "sn": "M\\u00e9"}]},
  "axes": [
    {"no": 1, "motor": "M-1", "parameters": {
      "lim/lag": {"value": {"number": 2.50, "unit": "mm"}, "text": "Window"},
      "on": {"value": {"number": true}},
      "none": {"value": {"number": null}},
      "deep": {"value": {"number": {}}},
      "twice": {"value": {"number": 1, "number": 2}}
    }},
    {"no": 2, "motor": "M-2", "parameters": {
      "lim/lag": {"value": {"number": "7,25 mm"}},
      "big": {"value": {"number": 1e400}}, "far": {"value": {"number": 1e99999}}
    }}
  ]
}
"""
BY_MAP = dialect(
    "axes[]/parameters{}",
    "~key",
    "value/number",
    columns={"unit": "value/unit", "name": "text"},
    channel={"column": "../../no"},
    unit_in_value=True,
    decimal=",",
    nameplate={
        "device/type": "drive",
        "device/serial": "serial",
        "axes[]/motor": "motor",
        "device/parts[n=motor]/sn": "motor_serial",
    },
    recognise={"serial": "^47"},
)


def test_an_axis_of_json_has_its_own_values_and_nameplate() -> None:
    listing = read(NESTED, BY_MAP, 1)
    assert written(listing) == {"lim/lag": Decimal("2.50"), "on": "true"}
    first = listing.entries[0]
    assert (str(first.written), first.name, first.unit, first.line) == ("2.50", "Window", "mm", 5)
    assert listing.nameplate == {
        "drive": "HZ-04",
        "serial": "4711",
        "motor": "M-1",
        "motor_serial": "Mé",
    }
    assert read(NESTED, BY_MAP, 2).nameplate["motor"] == "M-2"


def test_the_plate_of_an_axis_without_values_is_nobody_elses() -> None:
    unused = b'{"no": 3, "motor": "M-0", "parameters": {}}, {"no": 1,'
    listing = read(NESTED.replace(b'{"no": 1,', unused), BY_MAP, 1)
    assert (listing.nameplate["motor"], listing.channels) == ("M-1", (1, 2))
    unused = b'<Axis number="Axis 0"><Motor serial="M-0"/></Axis>\n  <Axis number="Axis 1">'
    listing = read(AXES.replace(b'<Axis number="Axis 1">', unused), BY_AXIS, 1)
    assert (listing.nameplate["motor_serial"], listing.nameplate["drive"]) == ("M-1", "HZ-04")


def test_what_is_no_value_in_json_is_told_with_line_and_path() -> None:
    assert problems(read(NESTED, BY_MAP, 1)) == [
        (7, "axes[1]/parameters/none none", "no value"),
        (8, "axes[1]/parameters/deep deep", "'number' is an object, not a value"),
        (9, "number", "'number' stands twice in the same object"),
        (9, "axes[1]/parameters/twice twice", "no value"),
    ]


@pytest.mark.parametrize(
    "spelled",
    ["1.10", "-0.0", "1E3", "1.50e-7", "18446744073709551616", "123456789012345678901234567890.5"],
)
def test_a_number_of_json_is_exact(spelled: str) -> None:
    (entry,) = read(f'{{"s": {{"a": {spelled}}}}}', dialect("s{}", "~key", ".")).entries
    assert entry.written == json.loads(spelled, parse_float=Decimal)
    assert str(entry.written) == str(json.loads(spelled, parse_float=Decimal))


@pytest.mark.parametrize(
    ("spelled", "value", "unit", "new", "after"),
    [
        ("0x1F4", 500, "", 501, "0x1F5"),
        ("16#1F", 31, "", 255, "16#FF"),
        ("1F4h", 500, "", 16, "010h"),
        ("2#0101", 5, "", 6, "2#0110"),
        ("12.50 mm/s", Decimal("12.50"), "mm/s", 3, "3.00 mm/s"),
        ("-7%", -7, "%", 8, "8%"),
    ],
)
def test_bases_and_units_within_a_text_are_read_and_kept(
    spelled: str, value: Scalar, unit: str, new: int, after: str
) -> None:
    more = {"unit_in_value": True, "hex_and_binary": True}
    files = [
        ('<s><p i="A" v="{}"/></s>', dialect("s/p", "@i", "@v", **more)),
        ('{{"A": "{}"}}', dialect("{}", "~key", ".", **more)),
    ]
    for form, by in files:
        (entry,) = read(form.format(spelled), by).entries
        assert (entry.written, entry.unit) == (value, unit)
        assert put(form.format(spelled), by, {"A": new}).decode() == form.format(after)


def test_an_unchanged_text_keeps_its_escapes() -> None:
    for content, by in (
        ("<s><p i='A'>&#x61; > b</p></s>", dialect("s/p", "@i", ".")),
        (r'{"A": "\u0061 > b"}', dialect("{}", "~key", ".")),
    ):
        assert written(read(content, by)) == {"A": "a > b"}
        assert put(content, by, {"A": "a > b"}) == content.encode()


@pytest.mark.parametrize("text", ["", "  x", "a\x07b"])
def test_a_text_that_would_read_as_another_is_refused(text: str) -> None:
    with pytest.raises(WrongUsage, match="A: "):
        put('<s><p i="A">old</p></s>', dialect("s/p", "@i", "."), {"A": text})


def test_a_code_that_stands_twice_gets_no_value() -> None:
    content = b'<d>\n<p i="A" v="1"/>\n<p i="A" v="2"/><p i="B" v="2"/></d>'
    with pytest.raises(WrongUsage, match="A stands in lines 2 and 3: which one holds"):
        put(content, dialect("d/p", "@i", "@v"), {"A": 3})
    gone = put(content, dialect("d/p", "@i", "@v"), {"B": 3}, ("A",))
    assert gone == b'<d>\n\n<p i="B" v="3"/></d>'


def test_a_number_beyond_all_measure_stays_text() -> None:
    second = written(read(NESTED, BY_MAP, 2))
    assert second == {"lim/lag": Decimal("7.25"), "big": Decimal("1e400"), "far": "1e99999"}


@pytest.mark.parametrize(
    ("code", "channel", "new", "old", "spelled"),
    [
        ("lim/lag", 1, 4, b"2.50", b"4.00"),
        ("lim/lag", 1, "5.125", b"2.50", b"5.125"),
        ("lim/lag", 2, Decimal("0.5"), b'"7,25 mm"', b'"0,50 mm"'),
        ("lim/lag", 2, 'a"b', b'"7,25 mm"', b'"a\\"b"'),
        ("on", 1, 0, b"true", b"false"),
        ("on", 1, "false", b"true", b"false"),
    ],
)
def test_values_go_back_in_the_way_that_json_spells_them(
    code: str, channel: int, new: Scalar, old: bytes, spelled: bytes
) -> None:
    changed = put(NESTED, BY_MAP, {code: new}, channel=channel)
    assert changed == NESTED.replace(old, spelled)


@pytest.mark.parametrize(
    ("code", "new", "reason"),
    [
        ("on", 2, "on: '2': the file has true or false there"),
        ("lim/lag", "four", "lim/lag: 'four': the file has a number there"),
        ("lim/lag", "0x10", "lim/lag: '0x10': the file has a number there"),
        ("none", 1, "none is not in the file"),
        ("twice", 1, "twice is not in the file"),
    ],
)
def test_what_json_cannot_hold_there_is_refused_by_its_code(
    code: str, new: Scalar, reason: str
) -> None:
    with pytest.raises(WrongUsage, match=reason):
        put(NESTED, BY_MAP, {code: new}, channel=1)


def test_a_member_is_taken_out_with_its_comma() -> None:
    changed = put(NESTED, BY_MAP, {}, ("lim/lag", "on"), channel=1)
    lines = NESTED.splitlines(keepends=True)
    assert changed == b"".join(lines[:4] + lines[6:])
    changed = put(NESTED, BY_MAP, {}, ("far",), channel=2)
    assert changed == NESTED.replace(b', "far": {"value": {"number": 1e99999}}', b"")


def test_codes_are_put_together_of_all_that_is_around() -> None:
    by = dialect("{}{}", "~key", ".", columns={"section": "../~key"})
    assert written(read('{"a": {"p": 1, "q": 2}, "b": {"p": 3}}', by)) == {
        "a/p": 1, "a/q": 2, "b/p": 3,
    }  # fmt: skip


# Both


def test_a_code_that_stands_twice_counts_once() -> None:
    listing = read(b'<d>\n<p i="A" v="1"/>\n<p i="A" v="2"/></d>', dialect("d/p", "@i", "@v"))
    assert written(listing) == {"A": 1}
    assert problems(listing) == [(3, "d/p[2] A 2", "A is given already in line 2")]


@pytest.mark.parametrize("content", [AXES, NESTED])
def test_a_file_without_the_record_is_of_another_family(content: bytes) -> None:
    with pytest.raises(Unreadable, match="nothing stands at 'Drive/P'"):
        read(content, dialect("Drive/P", "@id", "@v"))


def test_a_dictionary_is_needed() -> None:
    with pytest.raises(WrongUsage, match="--family NAME"):
        records.read(AXES, file="a", dialect=None, channel=None)


def test_a_time_in_another_form_is_told() -> None:
    by = dialect("d/p", "@i", "@v", nameplate={"d/@t": "taken_at"}, time_format="%d.%m.%Y %H:%M")
    assert read(b'<d t="1.3.2026 08:00"><p i="A" v="1"/></d>', by).taken_at == "2026-03-01T08:00:00"
    listing = read(b'<d t="yesterday"><p i="A" v="1"/></d>', by)
    assert problems(listing)[0][2] == "'yesterday' is not a time as %d.%m.%Y %H:%M has it"


# Recognition


@pytest.mark.parametrize(("content", "by"), [(AXES, BY_AXIS), (NESTED, BY_MAP)])
def test_a_file_matches_by_its_records_and_its_nameplate(content: bytes, by: ExportDialect) -> None:
    assert records.recognises(content, "a")
    assert records.matches(content, by)
    assert not records.matches(content, by.model_copy(update={"recognise": {"serial": "^no"}}))
    assert not records.matches(content, by.model_copy(update={"record": "Other/P"}))
    columns = {**by.columns, "code": "@other"}
    assert not records.matches(content, by.model_copy(update={"columns": columns}))


@pytest.mark.parametrize(("content", "by"), [(AXES, BY_AXIS), (NESTED, BY_MAP)])
def test_text_is_looked_for_in_the_first_lines(content: bytes, by: ExportDialect) -> None:
    assert records.matches(content, by.model_copy(update={"recognise": {"text": "Axis 1|axes"}}))
    assert not records.matches(content, by.model_copy(update={"recognise": {"text": "nothing"}}))


def test_a_long_file_matches_by_its_head_and_by_what_stands_behind_it() -> None:
    by = dialect("d/p", "@i", "@v", nameplate={"d/t": "drive"}, recognise={"drive": "HZ"})
    rows = b"".join(b'<p i="P%d" v="1"/>' % number for number in range(10_000))
    assert records.matches(b"<d><t>HZ</t>" + rows, by)  # cut off: for `read` to say
    assert records.matches(b"<d>" + rows + b"<t>HZ</t></d>", by)
    assert not records.matches(b"<d>" + rows + b"<t>BI</t></d>", by)
    assert not records.matches(b"<d>" + rows + b"<t>HZ</t>", by)


def test_records_may_stand_behind_a_long_preamble() -> None:
    by = dialect("d/p", "@i", "@v")
    ahead = b"<d>" + b"<help>what a drive can do</help>" * 5000
    assert records.matches(ahead + b'<p i="A" v="1"/></d>', by)
    assert not records.matches(ahead + b'<q i="A" v="1"/></d>', by)
    assert not records.matches(ahead * 40 + b'<p i="A" v="1"/></d>', by)


@pytest.mark.parametrize("content", [b"", b"a;b\n", b"[FileInfo]\na=1\n", b"[1]\n", b"{x}", b"PK"])
def test_other_files_are_no_records(content: bytes) -> None:
    assert not records.recognises(content, "a")
    assert not records.matches(content, BY_AXIS)


# Hostile files


LAUGHS = b"""<!DOCTYPE d [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]><d><p i="A" v="&c;"/></d>"""
FETCHED = b'<!DOCTYPE d [<!ENTITY a SYSTEM "file:///etc/hostname">]><d><p i="A" v="&a;"/></d>'


@pytest.mark.parametrize(
    ("content", "line", "reason"),
    [
        (LAUGHS, 1, "document type"),
        (FETCHED, 1, "document type"),
        (b"<d>" + b"<p>" * 200, 1, "nested more than 100 deep"),
        (b"<d>\n" + b'<p i="A" v="1"/>\n' * 10_000 + b"</d>", 5001, "5000 elements"),
        (b'<d>\n<p i="A" v="1', 2, "cut off"),
        (b'<d>\n<p i="A" i="B"/></d>', 2, "duplicate attribute"),
        (b"<?xml version='1.0' encoding='utf-8'?>\n<d><p i='\xe9' v='1'/></d>", 2, "invalid"),
        (b"<d><p i='\0' v='1'/></d>", 1, "invalid"),
    ],
)
def test_hostile_xml_is_refused_with_its_line(
    monkeypatch: pytest.MonkeyPatch, content: bytes, line: int, reason: str
) -> None:
    monkeypatch.setattr(xml_text, "_MOST_ELEMENTS", 5000)
    with pytest.raises(Unreadable, match=reason) as caught:
        read(content, dialect("d/p", "@i", "@v"))
    assert caught.value.line == line


def test_more_records_than_any_drive_has_are_refused_with_the_line(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(records, "_MOST_RECORDS", 1000)
    content = b"[\n" + b"1,\n" * 9_999 + b"1]"
    with pytest.raises(Unreadable, match="more than 1000 records") as caught:
        read(content, dialect("[]", ".", "."))
    assert caught.value.line == 1002


@given(st.binary(max_size=40), st.sampled_from([AXES, NESTED]), st.data())
def test_a_damaged_file_is_read_or_refused_in_our_words(
    junk: bytes, content: bytes, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(content)))
    broken = content[:at] + junk + content[at + data.draw(st.integers(0, 40)) :]
    for by in (BY_AXIS, BY_MAP):
        records.matches(broken, by)
        try:
            read(broken, by, 1)
        except (Unreadable, WrongUsage):
            continue
