"""What the index says of an axis is compared with git's files text after text, and in whole here.

All codes, names and values are invented.
"""

from __future__ import annotations

import sqlite3

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sweeps import part_of
from vault.model.names import Address
from vault.model.parameters import Parameter
from vault.store.files.parameters_text import lines_text, parameter_line
from vault.store.index import lines, values
from vault.store.index.lines import joined
from vault.store.index.values_agreement import Agreement, ParsedLine, parse_line

LIFT = Address("m1", "lift")
ROLES = {"a/1": None, "a/2": "following_error_window", "live": "position_actual_value"}
Text = dict[str, int]


def line(code: str, value: int) -> str:
    return parameter_line(Parameter(code, f"Name {code}", value, value, ROLES[code]))


def written(text: Text | None) -> bytes | None:
    if text is None:
        return None
    return lines_text([line(code, value) for code, value in sorted(text.items())])


def database(texts: list[Text | None]) -> sqlite3.Connection:
    """An index that has caught up with one axis; snapshots without a text have no changes."""
    made = sqlite3.connect(":memory:")
    made.executescript(lines.TABLES + values.TABLES)
    made.execute("CREATE TABLE snapshots (seq INTEGER, machine, axis, taken INTEGER, id TEXT)")
    for seq in range(1, len(texts) + 1):
        made.execute("INSERT INTO snapshots VALUES (?, 'm1', 'lift', ?, ?)", (seq, seq, str(seq)))
    values.fill(made, LIFT, lambda commit, _: written(texts[int(commit) - 1]) or b"damaged")
    return made


def shown(made: sqlite3.Connection, texts: list[bytes | None]) -> bool:
    agreement = Agreement(made, LIFT)
    for text in texts:
        agreement.compare_next(text)
    return agreement.agrees


def as_a_whole(made: sqlite3.Connection, texts: list[Text | None]) -> bool:
    """The same, where every text is compared with all that the index has at its snapshot."""
    state: dict[str, tuple[str | None, str]] = {}
    for seq, text in enumerate(texts, 1):
        for code, role, *parts in made.execute(
            "SELECT c.code, h.role, h.text, l.numbers FROM value_changes AS t"
            " JOIN codes AS c ON c.id = t.code LEFT JOIN lines AS l ON l.id = t.line"
            " LEFT JOIN shapes AS h ON h.id = l.shape WHERE t.seq = ?", (seq,),
        ):  # fmt: skip
            state.pop(code, None)
            if (of_code := joined(*parts)) is not None:
                state[code] = role, of_code
        kept = {c: (ROLES[c], line(c, v)) for c, v in (text or {}).items() if c != "live"}
        if text is not None and state != kept:
            return False
    return True


one_text = st.dictionaries(st.sampled_from(sorted(ROLES)), st.integers(0, 2))
some_texts = st.lists(st.none() | one_text, min_size=1, max_size=6)


@settings(max_examples=part_of(100, 2), deadline=None)
@given(some_texts)
def test_an_index_that_caught_up_agrees(texts: list[Text | None]) -> None:
    assert shown(database(texts), [written(text) for text in texts])


@settings(max_examples=part_of(200, 2), deadline=None)
@given(some_texts, some_texts)
def test_it_agrees_with_other_texts_where_they_say_the_same(
    texts: list[Text | None], others: list[Text | None]
) -> None:
    others = (others + texts)[: len(texts)]
    made = database(texts)
    assert shown(made, [written(text) for text in others]) == as_a_whole(made, others)


@settings(max_examples=part_of(200, 2), deadline=None)
@given(some_texts, st.data())
def test_any_change_that_is_altered_counts_as_in_the_whole(
    texts: list[Text | None], data: st.DataObject
) -> None:
    made = database(texts)
    rows = made.execute("SELECT seq, code FROM value_changes").fetchall()
    if rows:
        change = data.draw(
            st.sampled_from(["DELETE FROM value_changes", "UPDATE value_changes SET line = 0"])
        )
        made.execute(f"{change} WHERE seq = ? AND code = ?", data.draw(st.sampled_from(rows)))
    assert shown(made, [written(text) for text in texts]) == as_a_whole(made, texts)


def test_a_change_of_a_snapshot_that_is_not_there_does_not_agree() -> None:
    made = database([{"a/1": 1}])
    made.execute("INSERT INTO snapshots VALUES (9, 'm1', 'lift', 9, '9')")
    made.execute("INSERT INTO value_changes VALUES (9, 1, 0)")
    assert not shown(made, [])


@pytest.mark.parametrize(
    "odd", [b"damaged", None, b"schema: axisvault/parameters/1\nparameters:\n  no line\n"]
)
def test_a_text_that_says_nothing_hides_no_difference_after_it(odd: bytes | None) -> None:
    good, other = {"a/1": 1}, {"a/1": 2}
    made = database([good, None, good])
    assert shown(made, [written(good), odd, written(good)])
    assert not shown(made, [written(good), odd, written(other)])
    assert not shown(made, [odd, written(other)])
    made = database([good, other, good])
    made.execute("DELETE FROM value_changes WHERE seq = 3")
    assert not shown(made, [written(good), odd, written(good)])


def test_a_code_that_stood_twice_counts_as_it_stands_after_that() -> None:
    once, twice = {"a/1": 1}, lines_text([line("a/1", 1), line("a/1", 2)])
    for index, holds in (({"a/1": 1}, True), ({}, False), ({"a/1": 2}, False)):
        agreement = Agreement(database([index, index]), LIFT)
        agreement._current.follow(twice)
        agreement._changed.clear()
        agreement.compare_next(written(once))
        assert agreement.agrees == holds


def test_commits_come_in_the_order_of_their_time() -> None:
    made = database([{"a/1": 1}, {"a/1": 2}, {"a/1": 3}])
    made.execute("UPDATE snapshots SET taken = 0 WHERE seq = 3")
    assert Agreement(made, LIFT).commits == ["3", "1", "2"]


def test_a_line_tells_code_and_role_and_whether_it_is_a_live_value() -> None:
    for code, role in ROLES.items():
        assert parse_line(line(code, 5)) == ParsedLine(code, role, code == "live")
