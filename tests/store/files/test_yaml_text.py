"""YAML as the vault writes it: canonical bytes that any YAML reader understands alike."""

import random
from collections.abc import Mapping
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from vault.model.errors import Damaged, Unreadable
from vault.model.export import Scalar
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.yaml_text import (
    find_parameter,
    line_of,
    line_with_role,
    load,
    mapping_text,
    parameter_line,
    parameters_text,
    read_mapping,
    read_parameter_line,
    read_parameters,
    scalar_text,
)

# Texts that YAML readers take for something else where they stand without quotes.
# YAML 1.1: bool, null, int (base 2, 8, 10, 16, 60), float, merge, value, timestamp types of
# yaml.org/type; YAML 1.2: the core schema. From memory.
TRAPS = [
    "", " ", "~", "null", "Null", "NULL", "true", "True", "yes", "Yes", "no", "NO", "on", "Off",
    "y", "N", "0", "1", "-1", "+1", "1.5", ".5", "1.", "1e3", "1E-3", "-.inf", ".nan", "inf", "nan",
    "0x1F", "0o17", "017", "0b101", "1_000", "190:20:30", "12:30", "2001-12-14",
    "2001-12-14t21:59:43.10-05:00", "<<", "=", "- a", "-", "? a", ": a", "a: b", "a:", "a #b", "#a",
    "a, b", "[a]", "{a}", "{", "}", "!a", "&a", "*a", "%a", "@a", "`a", "|", ">", "'a'", '"a"',
    "a\nb", "a\tb", " a", "a ", "\u0085", "\u2028", "\ufeff", "\x00", "\x7f", "é", "°", "😀", "\\",
    "0x6065:00", "0x6065:0G", "name: x, role: y", ", role: z, value: 1", "a'b", "e", "_", "_1",
]  # fmt: skip

ROLES = ("position_window", "polarity")

signs = st.characters(exclude_categories=["Cs"])
texts = st.text(signs, max_size=20) | st.sampled_from(TRAPS)
codes = texts | st.from_regex(r"0x[0-9A-F]{4}:[0-9A-F]{2}", fullmatch=True)
numbers = st.integers(-(10**40), 10**40) | st.decimals(
    allow_nan=False, allow_infinity=False
).filter(lambda d: abs(d.adjusted()) < 60)
scalars: st.SearchStrategy[Scalar] = numbers | texts
parameters = st.builds(
    Parameter,
    code=codes,
    name=texts,
    value=scalars,
    raw=scalars,
    role=st.none() | st.sampled_from(ROLES) | texts,
    unit=st.none() | texts,
    label=st.none() | texts,
)
sets = st.lists(parameters, max_size=8, unique_by=lambda p: p.code).map(ParameterSet)


def foreign(text: bytes, version: str, *, pure: bool = True) -> Any:
    """What ruamel.yaml's safe loader reads by the rules of a YAML version."""
    loader = YAML(typ="safe", pure=pure)
    if pure:
        loader.version = version
    return loader.load(StringIO(text.decode()))


def kinds(value: Scalar) -> type:
    return str if isinstance(value, str) else int if isinstance(value, int) else Decimal


@settings(deadline=None)
@given(sets)
def test_any_set_reads_back_as_it_was_written(found: ParameterSet) -> None:
    again = read_parameters(parameters_text(found), "f")
    assert list(again.values()) == list(found.values())
    for one, other in zip(found.values(), again.values(), strict=True):
        assert kinds(one.value) is kinds(other.value)
        assert kinds(one.raw) is kinds(other.raw)


@settings(deadline=None)
@given(st.lists(parameters, max_size=8, unique_by=lambda p: p.code), st.randoms())
def test_equal_sets_give_equal_bytes_in_whatever_order_they_came(
    found: list[Parameter], order: random.Random
) -> None:
    mixed = found.copy()
    order.shuffle(mixed)
    assert parameters_text(ParameterSet(mixed)) == parameters_text(ParameterSet(found))


@settings(deadline=None)
@given(sets, sets)
def test_two_sets_give_the_same_bytes_only_where_they_are_equal(
    one: ParameterSet, other: ParameterSet
) -> None:
    def content(found: ParameterSet) -> list[object]:
        return [(p, kinds(p.value), kinds(p.raw)) for p in found.values()]

    same = parameters_text(one) == parameters_text(other)
    assert same == (content(one) == content(other))


def test_equal_decimals_are_written_alike() -> None:
    assert {scalar_text(Decimal(t)) for t in ("2.50", "2.5", "25e-1")} == {"2.5"}


@pytest.mark.parametrize("version", ["1.1", "1.2"])
@settings(deadline=None)
@given(found=sets)
def test_another_yaml_reader_sees_the_same_texts_and_numbers(
    version: str, found: ParameterSet
) -> None:
    document = foreign(parameters_text(found), version)
    assert document["schema"] == "axisvault/parameters/1"
    assert list(document["parameters"]) == list(found)
    for code, read in document["parameters"].items():
        ours = found[code]
        for key in ("name", "role", "unit", "label"):
            assert read.get(key) == getattr(ours, key)
        for key in ("value", "raw"):
            written: Scalar = getattr(ours, key)
            if isinstance(written, Decimal):
                assert isinstance(read[key], float)
                assert read[key] == float(written)
            else:
                assert type(read[key]) is type(written)
                assert read[key] == written


@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_a_text_stays_a_text_for_every_yaml_reader(version: str) -> None:
    values = "".join(f"x{n}: {scalar_text(text)}\n" for n, text in enumerate(TRAPS))
    assert list(foreign(values.encode(), version).values()) == TRAPS
    keys = "".join(f"{scalar_text(text)}: 1\n" for text in TRAPS)
    assert list(foreign(keys.encode(), version)) == TRAPS


@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_a_text_stays_a_text_in_a_parameter_line_for_every_yaml_reader(version: str) -> None:
    lines = [parameter_line(Parameter(text, *[text] * 6)) for text in TRAPS]
    found = foreign("\n".join(line.rstrip("\n") for line in lines).encode(), version)
    keys = ("name", "role", "value", "unit", "label", "raw")
    assert found == {text: dict.fromkeys(keys, text) for text in TRAPS}


@settings(deadline=None)
@given(texts)
def test_a_text_stays_a_text_for_the_c_reader_too(text: str) -> None:
    assert foreign(f"x: {scalar_text(text)}\n".encode(), "1.1", pure=False) == {"x": text}


@pytest.mark.parametrize("version", ["1.1", "1.2"])
@settings(deadline=None)
@given(number=st.integers())
def test_an_integer_stays_an_integer(version: str, number: int) -> None:
    assert foreign(f"x: {scalar_text(number)}\n".encode(), version) == {"x": number}


@settings(deadline=None)
@given(sets)
def test_our_own_reader_of_edited_files_reads_written_sets_exactly(found: ParameterSet) -> None:
    document = load(parameters_text(found), "f")
    for code, read in document["parameters"].items():
        for key in ("value", "raw"):
            written: Scalar = getattr(found[code], key)
            assert read[key] == written
            assert kinds(read[key]) is kinds(written)


@settings(deadline=None)
@given(sets)
def test_a_line_holds_one_parameter_and_nothing_that_breaks_it(found: ParameterSet) -> None:
    text = parameters_text(found).decode()
    if found:
        assert len(text.splitlines()) == len(found) + 2


@settings(deadline=None)
@given(sets, st.data())
def test_a_parameter_is_found_by_code_and_by_role(found: ParameterSet, data: st.DataObject) -> None:
    if not found:
        return
    wanted = data.draw(st.sampled_from(list(found.values())))
    text = parameters_text(found)
    assert find_parameter(text, wanted.code, None, "f") == wanted
    if wanted.role in ROLES:
        line = line_with_role(text.decode(), wanted.role)
        assert line is not None
        assert read_parameter_line(line).role == wanted.role


def test_a_name_that_reads_like_a_role_is_not_taken_for_one() -> None:
    trap = Parameter("A", "x, role: polarity, value: 1", 1, 1)
    text = parameters_text(ParameterSet([trap])).decode()
    assert line_with_role(text, "polarity") is None


def test_no_parameters_are_written_as_an_empty_mapping() -> None:
    text = parameters_text(ParameterSet([]))
    assert foreign(text, "1.2")["parameters"] == {}
    assert len(read_parameters(text, "f")) == 0


TWO = parameters_text(
    ParameterSet(
        [
            Parameter("0x6065:00", "Window", Decimal("2.5"), 2500, "following_error_window", "mm"),
            Parameter("0x6098:00", "Method: homing", 1, 1, label="Switch"),
        ]
    )
).decode()


def test_a_parameter_is_one_line_as_the_design_shows_it() -> None:
    assert TWO == (
        "schema: axisvault/parameters/1\n"
        "parameters:\n"
        "  0x6065:00: {name: Window, role: following_error_window, value: 2.5, unit: mm,"
        " raw: 2500}\n"
        '  0x6098:00: {name: "Method: homing", value: 1, label: Switch, raw: 1}\n'
    )


DAMAGES = [
    ("value: 2.5,", "value: 2.50,", 3),
    ("value: 2.5,", "value: 25e-1,", 3),
    ("value: 2.5,", "value: +2.5,", 3),
    ("value: 2.5,", "value: ,", 3),
    ("value: 2.5,", 'value: "2.5",,', 3),
    ("value: 2.5, ", "", 3),
    ("raw: 2500", "raw: 02500", 3),
    ("raw: 2500}", "raw: 2500", 3),
    ("raw: 2500}", "raw: 2500} ", 3),
    ("raw: 2500}", "raw: 2500}\r", 3),
    ("unit: mm", 'unit: "mm"', 3),
    ("name: Window", "name:  Window", 3),
    ("  0x6065", " 0x6065", 3),
    ("  0x6065:00", "  0x9065:00", 4),
    ("  0x6098:00", "  0x6065:00", 4),
    ("  0x6098:00", "  0x1000:00", 4),
    ('"Method: homing"', "Method: homing", 4),
    ('"Method: homing"', '"Method\\x: homing"', 4),
    ('"Method: homing"', '"Method\ufffd: homing"', 4),
    ('raw: 1}\n', "raw: 1}\n\n", 5),
    ('raw: 1}\n', "raw: 1}", 1),
    ("schema:", "Schema:", 1),
    ("parameters/1", "parameters/2", 1),
]  # fmt: skip


@pytest.mark.parametrize(("right", "wrong", "line"), DAMAGES)
def test_a_damaged_line_is_named(right: str, wrong: str, line: int) -> None:
    assert right in TWO
    with pytest.raises(Damaged) as caught:
        read_parameters(TWO.replace(right, wrong, 1).encode(), "lift/parameters.yaml")
    assert (caught.value.file, caught.value.line) == ("lift/parameters.yaml", line)


def test_a_byte_that_is_no_utf_8_is_damage() -> None:
    with pytest.raises(Damaged) as caught:
        read_parameters(TWO.encode().replace(b"homing", b"h\xffming"), "f")
    assert caught.value.line == 4


@settings(deadline=None)
@given(st.integers(0, len(TWO) - 1), signs)
@example(0, "x")
def test_one_changed_sign_is_damage_or_another_set(place: int, sign: str) -> None:
    text = (TWO[:place] + sign + TWO[place + 1 :]).encode()
    try:
        found = read_parameters(text, "f")
    except Damaged:
        return
    assert parameters_text(found) == text


@settings(deadline=None)
@given(parameters)
def test_a_line_reads_back_alone(parameter: Parameter) -> None:
    assert read_parameter_line(parameter_line(parameter)) == parameter


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
