"""YAML as the vault writes and reads it: canonical bytes that any YAML reader understands alike."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.store.files.yaml_readers import TRAPS, foreign, numbers, texts
from vault.model.errors import Damaged, Unreadable
from vault.store.files.yaml_text import line_of, load, mapping_text, read_mapping, scalar_text


def test_equal_decimals_are_written_alike() -> None:
    assert {scalar_text(Decimal(t)) for t in ("2.50", "2.5", "25e-1")} == {"2.5"}


@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_a_text_stays_a_text_for_every_yaml_reader(version: str) -> None:
    values = "".join(f"x{n}: {scalar_text(text)}\n" for n, text in enumerate(TRAPS))
    assert list(foreign(values.encode(), version).values()) == TRAPS
    keys = "".join(f"{scalar_text(text)}: 1\n" for text in TRAPS)
    assert list(foreign(keys.encode(), version)) == TRAPS


@settings(deadline=None)
@given(texts)
def test_a_text_stays_a_text_for_the_c_reader_too(text: str) -> None:
    assert foreign(f"x: {scalar_text(text)}\n".encode(), "1.1", pure=False) == {"x": text}


@pytest.mark.parametrize("version", ["1.1", "1.2"])
@settings(deadline=None)
@given(number=st.integers())
def test_an_integer_stays_an_integer(version: str, number: int) -> None:
    assert foreign(f"x: {scalar_text(number)}\n".encode(), version) == {"x": number}


leaves = st.booleans() | numbers | texts
trees = st.recursive(
    st.dictionaries(texts, leaves, max_size=4),
    lambda inner: st.dictionaries(
        texts, leaves | inner | st.lists(leaves | inner, max_size=3), max_size=4
    ),
    max_leaves=12,
)


@settings(deadline=None)
@given(trees)
@example({"a": [{}], "b": {}, "c": []})
@example({"a": [{"b": [{"c": [1]}]}]})
@example({"a": [True, False, "true"], "b": ["a: b", "- c", "x:"]})
def test_a_nested_mapping_reads_back_as_it_was_written(tree: dict[str, Any]) -> None:
    assert read_mapping(mapping_text(tree), "f") == tree


@settings(deadline=None)
@given(st.dictionaries(texts, st.booleans() | st.integers() | texts, max_size=5))
@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_another_yaml_reader_sees_the_same_mapping(version: str, tree: dict[str, Any]) -> None:
    assert (foreign(mapping_text(tree), version) or {}) == tree


@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_another_yaml_reader_sees_the_same_nesting(version: str) -> None:
    tree = {"a": {"b": {"c": "1"}, "d": []}, "e": [{"f": "g", "h": {"i": "no"}}, "j"], "k": {}}
    assert foreign(mapping_text(tree), version) == tree


def without_nones(tree: Mapping[str, Any]) -> dict[str, Any]:
    return {
        key: without_nones(value) if isinstance(value, Mapping) else value
        for key, value in tree.items()
        if value is not None
    }


@pytest.mark.parametrize("tree", [{"a": None, "b": "c"}, {"a": {"b": None}}, {"a": {"b": {}}}])
def test_what_is_none_is_left_out(tree: dict[str, Any]) -> None:
    text = mapping_text(tree)
    assert read_mapping(text, "f") == without_nones(tree)
    assert foreign(text, "1.2") == without_nones(tree)


def test_an_empty_list_that_was_read_belongs_to_the_reader_alone() -> None:
    text = mapping_text({"a": [], "b": {}})
    first = read_mapping(text, "f")
    first["a"].append(1)
    first["b"]["x"] = 1
    assert read_mapping(text, "f") == {"a": [], "b": {}}


MAPPING = 'a:\n  b: "1"\n  c: two\nd:\n- e: 1.5\n  f: true\n- g\n'


@pytest.mark.parametrize(
    ("right", "wrong", "line"),
    [
        ("  c: two", "   c: two", 3),
        ("  c: two", "  c two", 3),
        ("  c: two", "  c:  two", 3),
        ("  c: two", '  c: "two"', 3),
        ("  c: two", "  c: two ", 3),
        ("  c: two", "  c: two\r", 3),
        ("  c: two", '  c: "two', 3),
        ("  c: two", '  c: "\\x"', 3),
        ("  c: two", "  b: two", 2),
        ("  c: two\n", "  c: two\n\n", 4),
        ("- e: 1.5", "- e: 1.50", 5),
        ("- e: 1.5", "- e: 15e-1", 5),
        ("- g\n", "- g", 8),
        ("- g\n", "- g\n# note\n", 8),
        ("- g\n", '- "g"\n', 7),
        ("- g\n", "-  g\n", 7),
    ],
)
def test_a_damaged_line_of_a_mapping_is_named(right: str, wrong: str, line: int) -> None:
    assert mapping_text(read_mapping(MAPPING.encode(), "f")).decode() == MAPPING
    with pytest.raises(Damaged) as caught:
        read_mapping(MAPPING.replace(right, wrong, 1).encode(), "snapshot.yaml")
    assert (caught.value.file, caught.value.line) == ("snapshot.yaml", line)


def test_a_mapping_that_is_no_utf_8_is_damage() -> None:
    with pytest.raises(Damaged):
        read_mapping(b"a: \xff\n", "f")


@settings(deadline=None)
@given(st.text(max_size=40))
@example("a:\n- b:\n")
@example("a:\n  b: 1\na: 2\n")
def test_any_text_is_damage_or_what_we_would_write(text: str) -> None:
    content = text.encode("utf-8", "surrogatepass")
    try:
        found = read_mapping(content, "f")
    except Damaged:
        return
    assert mapping_text(found) == content


def no_float(value: Any) -> bool:
    if isinstance(value, dict):
        return all(no_float(part) for pair in value.items() for part in pair)
    if isinstance(value, list):
        return all(map(no_float, value))
    return not isinstance(value, float)


@pytest.mark.parametrize(
    "text",
    ["1.5", "1e3", "1.", ".5", "-0.0", "1_0.5", ".inf", "-.INF", ".nan", "6.02e+23", "1e400"],
)
def test_no_float_comes_out_of_an_edited_file(text: str) -> None:
    assert no_float(load(f"a: {text}\nb: [{text}]\nc: {{{text}: 1}}\n", "f"))


@settings(deadline=None)
@given(st.decimals(allow_nan=False, allow_infinity=False).filter(lambda d: abs(d.adjusted()) < 99))
def test_a_number_in_an_edited_file_is_read_exactly(number: Decimal) -> None:
    text = format(number, "f")
    found = load(f"a: {text if '.' in text else text + '.0'}\n", "f")["a"]
    assert isinstance(found, Decimal)
    assert found == number


def test_a_date_in_an_edited_file_stays_text() -> None:
    assert load("a: 2026-03-11\nb: 2026-03-11T10:00:00Z\n", "f") == {
        "a": "2026-03-11",
        "b": "2026-03-11T10:00:00Z",
    }


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: 1\nb: {\n", 3),
        ("a: 1\na: 2\n", 2),
        ("a: 1\nb: !!python/object:os.system {}\n", 2),
        ("a: 1\n\tb: 2\n", 2),
        ("a: *nothing\n", 1),
        ("a: 1\n---\nb: 2\n", 2),
    ],
)
def test_yaml_that_cannot_be_read_names_file_and_line(text: str, line: int) -> None:
    with pytest.raises(Unreadable) as caught:
        load(text, "families/hazel.yaml")
    assert caught.value.file == "families/hazel.yaml"
    assert caught.value.line == line


@pytest.mark.parametrize(
    "text", ["a: !!bool perhaps", "- !!int ", "a: !!int x", "a: \x00", b"\xff"]
)
def test_yaml_with_content_that_does_not_fit_is_unreadable(text: str | bytes) -> None:
    with pytest.raises(Unreadable):
        load(text, "f")


def test_a_byte_order_mark_is_no_part_of_the_first_key() -> None:
    assert load(b"\xef\xbb\xbfa: 1\n", "f") == {"a": 1}


TREE = "a:\n  b:\n  - c\n  - d: 1\ne: {f: 1,\n  g: 2}\n'0x608f:1':\n  h: 1\n"


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 1),
        (("a", "b"), 2),
        (("a", "b", 0), 3),
        (("a", "b", 1, "d"), 4),
        (("e", "g"), 6),
        (("e", "missing"), 5),
        (("a", "b", 9), 2),
        (("0x608F:01", "h"), 8),
        (("nowhere",), None),
    ],
)
def test_a_key_path_leads_to_its_line_or_its_nearest_parent(
    path: tuple[str | int, ...], line: int | None
) -> None:
    assert line_of(TREE, path) == line
