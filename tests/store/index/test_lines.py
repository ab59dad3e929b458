"""Any line of parameters.yaml comes back from the index as it was, and is found by itself.

All codes, names and values are invented.
"""

from __future__ import annotations

import sqlite3
import zlib
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tests.sweeps import part_of
from vault.model.errors import Damaged
from vault.model.parameters import Parameter
from vault.store.files.parameters_text import numbers_apart, parameter_line
from vault.store.index import lines
from vault.store.index._reading import DamagedIndex
from vault.store.index.lines import (
    codes_like,
    enter_line,
    joined,
    line_number,
    parted,
    read_line,
)

texts = st.text(min_size=1, max_size=12) | st.sampled_from(
    ["a, value: 5, b", "x, raw: 3}", "5", "5.0", "0 0", "two\nlines", "nul\0", '"quoted"']
)
numbers = st.integers(-(10**20), 10**20) | st.decimals(
    -(10**6), 10**6, allow_nan=False, places=3
)  # fmt: skip
some_parameters = st.builds(
    Parameter,
    code=st.sampled_from(["set/1", "0x6065:00", "9"]),
    name=texts,
    value=numbers | texts,
    raw=numbers | texts,
    role=st.none() | st.just("following_error_window"),
    unit=st.none() | st.just("mm"),
    label=st.none() | texts,
)
LAG = Parameter("lim/lag", "Lag", Decimal("2.5"), 250, "following_error_window", "mm")


@pytest.fixture
def empty() -> sqlite3.Connection:
    made = sqlite3.connect(":memory:")
    made.executescript(lines.TABLES)
    return made


def kept(database: sqlite3.Connection, number: int) -> tuple[str, str]:
    question = "SELECT h.text, l.numbers FROM lines AS l JOIN shapes AS h ON h.id = l.shape"
    shape, written = database.execute(f"{question} WHERE l.id = ?", (number,)).fetchone()
    return shape, written


@settings(max_examples=part_of(1000, 2), deadline=None)
@given(some_parameters)
@example(Parameter("set/1", "a", "b, value: 5, c", 3))
@example(Parameter("set/1", "a, value: 1", 5, 3, label="x, raw: 7"))
@example(Parameter("set/1", "a", Decimal("0.0"), Decimal("-0.10")))
def test_any_line_comes_back_as_it_was(parameter: Parameter) -> None:
    database = sqlite3.connect(":memory:")
    database.executescript(lines.TABLES)
    line = parameter_line(parameter)
    assert joined(*parted(line)) == line
    number = enter_line(database, line)
    assert number is not None
    assert joined(*kept(database, number.line)) == line
    assert parameter_line(read_line(number.line, *kept(database, number.line))) == line
    assert line_number(database, line) == number == enter_line(database, line)


@given(st.text(alphabet=st.characters(exclude_characters="\n")))
def test_so_does_any_other_text(text: str) -> None:
    assert joined(*parted(text)) == text


def test_lines_that_differ_in_their_numbers_share_a_shape(empty: sqlite3.Connection) -> None:
    some = [parameter_line(Parameter("s/1", "Way", n, 10 * n, unit="mm")) for n in range(-9, 90)]
    entered = [enter_line(empty, line) for line in some]
    assert len(set(entered)) == len(some)
    assert empty.execute("SELECT count(*) FROM shapes").fetchone() == (1,)
    assert [line_number(empty, line) for line in some] == entered
    assert line_number(empty, some[0].replace("-9", "-99")) is None


def test_texts_that_look_like_numbers_are_no_part_of_the_numbers() -> None:
    for parameter in (
        Parameter("s/1", "a", "b, value: 5, c", 3),
        Parameter("s/1", "a", "5", 3),
        Parameter("s/1", "a", 5, "3"),
    ):
        assert numbers_apart(parameter_line(parameter)) is None


def test_however_many_lines_of_one_check_sum_there_are_any_other_is_entered(
    empty: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who writes an export can choose lines that have the check sum of somebody else's."""
    monkeypatch.setattr(lines, "_check_sum", lambda line: 7)
    some = [parameter_line(Parameter("s/1", "Way", n, n)) for n in range(1500)]
    some.append(parameter_line(LAG))
    entered = [enter_line(empty, line) for line in some]
    assert len(set(entered)) == len(some)
    assert [line_number(empty, line) for line in some] == entered
    for line, number in zip(some, entered, strict=True):
        assert number is not None
        assert parameter_line(read_line(number.line, *kept(empty, number.line))) == line


def test_shapes_of_one_crc_are_found_by_another_check_sum(empty: sqlite3.Connection) -> None:
    """Else each new one would be held against all that somebody made alike: CRC-32 is linear."""
    some = [parameter_line(Parameter("s/1", name, 5, 5)) for name in ("plumless", "buckeroo")]
    assert len({zlib.crc32(line.encode()) for line in some}) == 1
    entered = [enter_line(empty, line) for line in some]
    assert [line_number(empty, line) for line in some] == entered
    assert empty.execute("SELECT count(DISTINCT check_sum) FROM shapes").fetchone() == (2,)


def test_a_line_whose_places_others_have_is_as_one_that_cannot_be_read(
    empty: sqlite3.Connection, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lines, "_check_sum", lambda line: 7)
    monkeypatch.setattr(lines, "_long_check_sum", lambda line: 8)
    some = [parameter_line(Parameter("s/1", "Way", n, n)) for n in range(2)]
    entered = [enter_line(empty, line) for line in some]
    with pytest.raises(Damaged, match="check sums"):
        enter_line(empty, parameter_line(LAG))
    assert line_number(empty, parameter_line(LAG)) is None
    assert [line_number(empty, line) for line in some] == entered


def test_a_live_value_is_not_entered(empty: sqlite3.Connection) -> None:
    live = parameter_line(Parameter("l/1", "Place", 5, 5, "position_actual_value"))
    assert enter_line(empty, live) is None
    assert line_number(empty, live) is None


@pytest.mark.parametrize(
    "damage",
    [
        "lines SET numbers = '2.6 250'", "lines SET numbers = '2.5'", "lines SET numbers = ''",
        "lines SET numbers = '2.5 250 1'", "lines SET id = id + 1", "lines SET id = id - 1",
        "shapes SET text = replace(text, 'Lag', 'Log')",
        "shapes SET text = replace(text, char(10), '')",
    ],
)  # fmt: skip
def test_a_line_that_is_not_as_it_was_entered_is_damage(
    empty: sqlite3.Connection, damage: str
) -> None:
    enter_line(empty, parameter_line(LAG))
    empty.execute(f"UPDATE {damage}")
    ((number,),) = empty.execute("SELECT id FROM lines").fetchall()
    with pytest.raises(DamagedIndex):
        read_line(number, *kept(empty, number))


def test_a_missing_line_is_damage() -> None:
    for parts in ((None, None), (None, "1 1"), ("shape", None), (None, "")):
        assert joined(*parts) is None
        with pytest.raises(DamagedIndex):
            read_line(5, *parts)


def test_codes_are_found_by_code_role_and_words(empty: sqlite3.Connection) -> None:
    mode = Parameter("m/1", "Mode", 3, 3, label="Lagging ramp")
    tag = Parameter("t/1", "Tag", "Überlag", 1)
    for parameter in (LAG, mode, tag, Parameter("x/1", "Other", 5, 5, unit="lag")):
        enter_line(empty, parameter_line(parameter))
    assert codes_like(empty, "LIM/LAG") == ["lim/lag"]
    assert codes_like(empty, "following_error_window") == ["lim/lag"]
    assert codes_like(empty, "lAg") == ["lim/lag", "m/1", "t/1"]
    assert codes_like(empty, "überlag") == ["t/1"]
    assert codes_like(empty, "2.5") == codes_like(empty, "raw") == []
    empty.execute("UPDATE shapes SET text = replace(text, 'Mode', 'Made')")
    with pytest.raises(DamagedIndex):
        codes_like(empty, "Mode")


@pytest.mark.parametrize("text", ["Mode", "Mode\n", "Mode\n\n"])
def test_a_shape_that_nobody_entered_is_damage_whatever_its_check_sum(
    empty: sqlite3.Connection, text: str
) -> None:
    """A vault that comes from anybody may have an index that anybody wrote."""
    written = (text, lines._long_check_sum(text))
    empty.execute("INSERT INTO shapes (code, text, check_sum) VALUES (1, ?, ?)", written)
    with pytest.raises(DamagedIndex):
        codes_like(empty, "Mode")


def test_a_line_that_nobody_entered_is_damage_whatever_its_check_sum() -> None:
    with pytest.raises(DamagedIndex):
        read_line((zlib.crc32(b"Mode") >> 1) + 1, "Mode", "")
