"""JSON with its places, held against Python's json. All texts are invented."""

from __future__ import annotations

import json
from collections.abc import Iterator
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import json_text
from vault.formats.json_text import JsonText, JsonValue, json_head, read_json
from vault.model.errors import Unreadable, WrongUsage

TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
NUMBERS = st.integers() | st.decimals(allow_nan=False, allow_infinity=False).map(float)
ANY = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXTS,
    lambda below: st.lists(below, max_size=4) | st.dictionaries(TEXTS, below, max_size=4),
    max_leaves=12,
)
ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"]
INDENTS = st.sampled_from([None, 1, "\t"])


def read(text: str | bytes) -> JsonText:
    content = text if isinstance(text, bytes) else text.encode()
    return read_json(content, ("utf-8",), file="a.json")


def plain(value: JsonValue) -> object:
    """A value as Python's json would give it, numbers as they are spelled."""
    if value.kind == "object":
        return {key: plain(member) for key, member in value.members.items()}
    if value.kind == "list":
        return [plain(item) for item in value.items]
    if value.kind == "number":
        return Decimal(value.text)
    return value.text if value.kind == "string" else json.loads(value.text)


def walk(value: JsonValue) -> Iterator[JsonValue]:
    yield value
    for part in value.parts:
        yield from walk(part)


def reference(content: bytes) -> object:
    return json.loads(content, parse_float=Decimal, parse_int=Decimal)


@given(ANY, st.sampled_from(ENCODINGS), INDENTS, st.booleans())
def test_values_are_those_of_the_reference(
    made: object, encoding: str, indent: str | int | None, escapes: bool
) -> None:
    content = json.dumps(made, indent=indent, ensure_ascii=escapes).encode(encoding)
    assert plain(read(content).root) == reference(content)


@given(ANY, INDENTS)
def test_the_place_of_a_value_is_that_of_its_spelling(
    made: object, indent: str | int | None
) -> None:
    found = read(json.dumps(made, indent=indent, ensure_ascii=False))
    for value in walk(found.root):
        spelled = found.text[value.start : value.end]
        assert json.loads(spelled, parse_float=Decimal, parse_int=Decimal) == plain(value)


@given(ANY, st.sampled_from(ENCODINGS), INDENTS, TEXTS, st.data())
def test_a_value_is_replaced_and_no_other_byte(
    made: object, encoding: str, indent: str | int | None, new: str, data: st.DataObject
) -> None:
    content = json.dumps(made, indent=indent, ensure_ascii=False).encode(encoding)
    found = read(content)
    value = data.draw(st.sampled_from([*walk(found.root)]))
    spelled = found.quoted(new)
    written = found.replaced([(value, spelled)])
    codec = encoding.removesuffix("-sig") if encoding != "utf-16" else "utf-16-le"
    before = found.text[: value.start].encode(codec)
    assert written.endswith(found.text[value.end :].encode(codec))
    mark = content[: len(content) - len(found.text.encode(codec))]
    assert written.startswith(mark + before + spelled.encode(codec))
    reference(written)


@given(st.lists(st.integers(), min_size=1, max_size=6), INDENTS, st.data())
def test_items_go_with_their_commas(
    made: list[int], indent: str | int | None, data: st.DataObject
) -> None:
    found = read(json.dumps({"a": made, "b": dict.fromkeys(map(str, range(3)), 1)}, indent=indent))
    items = found.root.members["a"].items
    gone = data.draw(st.sets(st.sampled_from(range(len(made)))))
    keys = data.draw(st.sets(st.sampled_from("012")))
    members = [found.root.members["b"].members[key] for key in keys]
    written = json.loads(found.replaced([], [*(items[n] for n in gone), *members]))
    assert written["a"] == [number for n, number in enumerate(made) if n not in gone]
    assert [*written["b"]] == [key for key in "012" if key not in keys]


def test_numbers_stay_as_they_are_spelled() -> None:
    found = read("[1.50, -0, 1E3, 123456789012345678901234567890.10]")
    assert [item.text for item in found.root.items] == [
        "1.50",
        "-0",
        "1E3",
        "123456789012345678901234567890.10",
    ]


def test_a_place_has_a_line_and_a_key() -> None:
    found = read('{"a":\r\n [1,\r\n  {"b": 2}]}')
    one, two = found.root.members["a"].items
    assert [found.line_of(value.begin) for value in (one, two.members["b"])] == [2, 3]
    assert (one.key, two.key, two.members["b"].key) == ("a", "a", "b")


def test_keys_that_stand_twice_are_told_and_doubted() -> None:
    found = read('{"a": 1,\n "a": 2, "b": 3,\n "a": 4}')
    assert [(found.line_of(place), key) for place, key in found.twice] == [(2, "a"), (3, "a")]
    assert found.root.members["a"].is_doubtful
    assert not found.root.members["b"].is_doubtful


# What RFC 8259 does not have, and where texts of the reference's own tests end.
@pytest.mark.parametrize(
    ("text", "line", "reason"),
    [
        ("[1,\nNaN]", 2, "a value is missing, 'NaN]' stands there"),
        ("[-Infinity]", 1, "a value is missing"),
        ("[01]", 1, "a value is missing"),
        ("[1.]", 1, "a value is missing"),
        ("[.5]", 1, "a value is missing"),
        ("[+1]", 1, "a value is missing"),
        ("[1,]", 1, "a value is missing"),
        ('{"a" 1}', 1, "a colon is missing"),
        ("{'a': 1}", 1, "a key in quotes is missing"),
        ('{"a": 1,}', 1, "a key in quotes is missing"),
        ("[1 2]", 1, "a comma or an end is missing"),
        ("[1}", 1, "a comma or an end is missing"),
        ('["a\nb"]', 1, "Invalid control character"),
        (r'["\x"]', 1, r"Invalid \\escape"),
        (r'["\ud800"]', 1, "half of a character"),
        (r'["\u0000"]', 1, "NUL"),
        ("[1] 2", 1, "behind the end"),
        ("// no\n[1]", 1, "a value is missing"),
        ('{"a":\n[1', 2, "seems cut off"),
        ('{"a":\n"b', 2, "seems cut off"),
        ("\n", 2, "seems cut off"),
        ("[" * 101 + "]" * 101, 1, "nested more than 100 deep"),
        ("[" * 1_000_000, 1, "nested more than 100 deep"),
        ("[\n" + "1," * 10_000 + "1]", 2, "more than 10000 values"),
        ("[1\0]", 1, "NUL"),
    ],
)
def test_what_is_no_json_is_refused_with_its_line(
    monkeypatch: pytest.MonkeyPatch, text: str, line: int, reason: str
) -> None:
    monkeypatch.setattr(json_text, "_MOST_VALUES", 10_000)
    with pytest.raises(Unreadable, match=reason) as caught:
        read(text)
    assert (caught.value.file, caught.value.line) == ("a.json", line)


@given(ANY, st.data())
def test_a_piece_of_a_file_is_never_taken_for_the_whole(made: object, data: st.DataObject) -> None:
    content = json.dumps([made], ensure_ascii=False).encode()
    size = data.draw(st.integers(0, len(content) - 1))
    with pytest.raises(Unreadable):
        read(content[:size])
    json_head(content, ("utf-8",), size)


@given(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused(content: bytes) -> None:
    try:
        found = read(content)
    except Unreadable:
        return
    assert plain(found.root) == reference(found.text.encode())


def test_bytes_of_an_encoding_that_spells_a_character_in_two_ways_stay() -> None:
    content = b'{"\x81\xca": 1, "\xee\xf9": 2}'  # twice U+FFE2 in CP932
    found = read_json(content, ("cp932",), file="a.json")
    assert found.replaced([(found.root.members["\uffe2"], "7")]) == content.replace(b"1", b"7")


def test_a_character_that_the_encoding_lacks_is_escaped() -> None:
    found = read_json('["ü"]'.encode("latin-1"), ("iso-8859-1",), file="a.json")
    assert found.quoted("€ü") == r'"\u20ac\u00fc"'
    assert found.quoted("ü") == '"ü"'
    assert read('["a"]').quoted("ü") == r'"\u00fc"'


def test_no_value_is_replaced_twice() -> None:
    found = read("[1]")
    with pytest.raises(WrongUsage, match="twice"):
        found.replaced([(found.root.items[0], "2"), (found.root, "3")])


def test_of_a_head_there_is_what_it_holds() -> None:
    found = json_head(b'{"a": [{"b": 1}, {"b": 23', ("utf-8",), 24)
    assert plain(found.root) == {"a": [{"b": Decimal(1)}, {"b": Decimal(2)}]}
