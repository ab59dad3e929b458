"""parameters.yaml as the vault writes it: canonical bytes that any YAML reader takes alike."""

import random
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.store.files.yaml_readers import TRAPS, foreign, numbers, signs, texts
from vault.model.errors import Damaged
from vault.model.export import Scalar
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.parameters_text import (
    find_parameter,
    line_with_role,
    parameter_line,
    parameters_text,
    read_parameter_line,
    read_parameters,
)
from vault.store.files.yaml_text import load

ROLES = ("position_window", "polarity")

codes = texts | st.from_regex(r"0x[0-9A-F]{4}:[0-9A-F]{2}", fullmatch=True)
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
def test_a_text_stays_a_text_in_a_parameter_line_for_every_yaml_reader(version: str) -> None:
    lines = [parameter_line(Parameter(text, *[text] * 6)) for text in TRAPS]
    found = foreign("\n".join(line.rstrip("\n") for line in lines).encode(), version)
    keys = ("name", "role", "value", "unit", "label", "raw")
    assert found == {text: dict.fromkeys(keys, text) for text in TRAPS}


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


WRITTEN = ("0", "7", "-7", "10", "7.0", "-7.0", "7.5", "-0.5", "0.0")
OTHERS = ("-0", "07", "+7", "7.50", "-0.0", "1e3", ".5", "٣")


@pytest.mark.parametrize("raw", WRITTEN + OTHERS)
@pytest.mark.parametrize("value", WRITTEN + OTHERS)
@pytest.mark.parametrize(
    "line",
    [
        "  p/1: {{name: Window, role: following_error_window, value: {}, unit: mm, raw: {}}}",
        "  p/1: {{name: Window, value: {}, raw: {}}}",
        '  p/1: {{name: "W, value: 7, raw: 7}}", value: {}, label: "x, raw: 7", raw: {}}}',
    ],
)
def test_numbers_are_read_as_they_are_written_and_not_otherwise(
    line: str, value: str, raw: str
) -> None:
    text = line.format(value, raw)
    if value in WRITTEN and raw in WRITTEN:
        found = read_parameter_line(text)
        assert (str(found.value), str(found.raw)) == (value, raw)
        assert parameter_line(found) == text
        return
    with pytest.raises(ValueError, match="not a"):
        read_parameter_line(text)


@pytest.mark.parametrize("raw", WRITTEN)
@pytest.mark.parametrize("value", WRITTEN)
@pytest.mark.parametrize(
    ("line", "is_one"),
    [
        ('  p/1: {{name: W, value: 7, label: "x, value: {}, raw: 7", raw: {}}}', True),
        ('  p/1: {{name: W, value: 7, label: "x, value: {}, raw: {}}}", raw: 7}}', True),
        ('  p/1: {{name: "W, value: {}, raw: {}}}', False),
        ('  p/1: {{name: W, value: 7, label: "x, value: {}, raw: {}}}', False),
        ("  p/1: {{name: 7, value: {}, raw: {}}}", False),
        ("  p/1: {{value: {}, raw: {}}}", False),
    ],
)
def test_numbers_within_a_text_are_none(line: str, is_one: bool, value: str, raw: str) -> None:
    text = line.format(value, raw)
    if is_one:
        found = read_parameter_line(text)
        assert (found.value, parameter_line(found)) == (7, text)
        return
    with pytest.raises(ValueError, match="not a"):
        read_parameter_line(text)


def test_a_name_full_of_what_looks_like_numbers_is_read_in_one_go() -> None:
    """Whoever exports chooses it: held piece against piece it would take many minutes."""
    for raw in (5, "5"):
        parameter = Parameter("a", 50_000 * ", value: 1, raw: ", 5, raw)
        assert read_parameter_line(parameter_line(parameter)) == parameter
