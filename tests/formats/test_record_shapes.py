"""What an unknown XML or JSON file may hold, for a draft of a dictionary. Files are invented."""

from __future__ import annotations

import json
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given

from tests.formats.test_json_text import ANY
from tests.formats.test_records import (
    AXES,
    NESTED,
    json_of,
    read,
    xml_of,
)
from vault.formats.record_shapes import RecordShape, record_shapes, single_texts
from vault.model.errors import Unreadable
from vault.model.export_dialect import ExportDialect


def shapes(content: bytes | str) -> dict[str, RecordShape]:
    content = content if isinstance(content, bytes) else content.encode()
    return {one.path: one for one in record_shapes(content, ("utf-8",), file="a")}


SET = {f"P{n}": (n * 10, "mm") for n in range(7)}


@pytest.mark.parametrize(
    ("content", "path", "code", "value"),
    [
        (ElementTree.tostring(xml_of(SET, nested=False)), "Set/List/P", "@id", "@v"),
        (ElementTree.tostring(xml_of(SET, nested=True)), "Set/List/P", "Id", "Data/Value"),
        (json.dumps(json_of("list", SET)), "set/list[]", "id", "v/n"),
        (json.dumps(json_of("map", SET)), "set{}", "~key", "n"),
        (json.dumps(json_of("rows", SET)), "[]", "0", "1"),
        (json.dumps(json_of("plain", SET)), "set{}", "~key", "."),
        ("<d><s><P1>5</P1><P2>6</P2><P3>7</P3></s></d>", "d/s/*", "~key", "."),
        ('{"a": {"p": 1, "q": 2, "r": 7}, "b": {"t": 3, "s": 2}}', "{}{}", "~key", "."),
        (
            b'<d><p><f n="id">A</f><f n="val">1</f></p><p><f n="id">B</f><f n="val">2</f></p></d>',
            "d/p", "f[@n=id]", "f[@n=val]",
        ),
    ],
)  # fmt: skip
def test_the_likeliest_records_are_the_parameters(
    content: bytes | str, path: str, code: str, value: str
) -> None:
    found = shapes(content)
    assert next(iter(found)) == path
    by = ExportDialect(format="records", record=path, columns={"code": code, "value": value})
    listing = read(content, by)
    assert [entry.code for entry in listing.entries] == [*dict.fromkeys(found[path].fields[code])]
    if len(listing.entries) == found[path].count:
        assert [str(e.written) for e in listing.entries] == [*found[path].fields[value]]


def test_texts_around_a_record_are_fields_too() -> None:
    fields = shapes(AXES)["Machine/Axis/Group/P"].fields
    assert fields["../@name"] == ("lim", "lim", "ref", "lim", "lim", "lim")
    assert fields["../../@number"][0] == "Axis 1"
    assert fields["@unit"] == ("mm", "mm/s", None, "mm", None, None)
    assert fields["Value"] == ("2.50", "100", None, "7", None, "1")
    by_json = shapes(NESTED)["axes[]/parameters{}"].fields
    assert by_json["../../no"] == ("1",) * 5 + ("2",) * 3
    assert by_json["value/number"][:3] == ("2.50", "true", None)


def test_texts_that_stand_alone_may_be_the_nameplate() -> None:
    assert single_texts(AXES, ("utf-8",), file="a") == {
        "Machine/@serial": "77-01",
        "Machine/Device/Field[@name=Type]/@name": "Type",
        "Machine/Device/Field[@name=Type]": "HZ-04",
        "Machine/Device/Field[@name=Firmware]/@name": "Firmware",
        "Machine/Device/Field[@name=Firmware]": "2.1",
        "Machine/Saved": "2026-03-01T08:00:00Z",
    } | {
        path: text
        for path, text in single_texts(AXES, ("utf-8",), file="a").items()
        if path.startswith("Machine/Axis[")
    }  # fmt: skip
    found = single_texts(NESTED, ("utf-8",), file="a")
    assert found["device/type"] == "HZ-04"
    assert found["device/serial"] == "4711"
    assert found["device/parts[n=motor]/sn"] == "Mé"


@given(ANY)
def test_every_path_of_any_json_can_be_followed(made: Any) -> None:
    content = json.dumps([made, made]).encode()
    for shape in record_shapes(content, ("utf-8",), file="a"):
        assert shape.count > 1
        for path, texts in shape.fields.items():
            assert len(texts) == shape.count
            ExportDialect(
                format="records", record=shape.path, columns={"code": path, "value": path}
            )
    for path in single_texts(content, ("utf-8",), file="a"):
        ExportDialect(
            format="records", record="a", columns={"code": ".", "value": "."},
            nameplate={path: "serial"},
        )  # fmt: skip


def test_a_broken_file_is_refused_with_its_line() -> None:
    with pytest.raises(Unreadable, match="cut off") as caught:
        shapes(b"<d>\n<p")
    assert caught.value.line == 2
    with pytest.raises(Unreadable, match="no JSON"):
        shapes(b"{x")


def test_a_large_file_has_few_shapes() -> None:
    content = json.dumps({f"k{n}": {f"m{m}": {"a": m} for m in range(9)} for n in range(900)})
    found = shapes(content)
    assert 0 < len(found) <= 50
    assert found["{}{}"].count == 8100
    assert len(found["{}{}"].fields["a"]) == 5000
