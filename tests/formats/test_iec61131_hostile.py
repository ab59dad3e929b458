"""Controllers' projects that are made to keep whoever reads them busy for ever.

Every one of them is small. Where what is read grew with the square of its size, or with a power of
its depth, these would not come to an end.
"""

from __future__ import annotations

import pytest

from tests.controller_texts import old_pou, old_project, old_st, old_variables
from tests.formats.test_iec61131 import MOVE, entries, given_in_st, in_st
from vault.formats import iec61131
from vault.formats.iec_st import statements, tokens
from vault.model.axis_pick import AxisPick
from vault.model.errors import Unreadable

CALL = "Move(Axis := LiftAxis, Position := 10.0);"
INPUT = [("x", "LREAL", "")]


def block(name: str, inner: str, text: str = "") -> str:
    """A function block with an input, and with one instance of another within it."""
    interface = old_variables(INPUT, "inputVars") + old_variables([("inside", inner, "")])
    return old_pou(name, interface, old_st(text), "functionBlock")


@pytest.mark.parametrize("opening", ["(*", "{", "/*(", "'$", '"$', "'$\n"])
def test_what_is_opened_and_never_closed_hides_nothing_before_it(opening: str) -> None:
    found = entries(in_st(CALL + opening * 200_000))
    assert found["Main.Move.Position"].written == 10


def test_a_text_ends_with_its_line_at_the_latest() -> None:
    found = statements("a := 'never closed;\nb := 2;")
    assert [token.text for token in tokens("'never closed;\nb")] == ["'never closed;", "b"]
    assert found.given[0].target == "a"


def test_a_comment_that_is_never_closed_hides_what_stands_behind_it() -> None:
    assert [token.text for token in tokens("a (* b c")] == ["a"]
    assert [token.text for token in tokens("a (* b *) c { d } e { f")] == ["a", "c", "e"]


def test_brackets_that_do_not_match_stay_within_their_argument() -> None:
    found = statements("f(" + "(]," * 5_000 + "a[)," * 100_000 + "x := 1")
    assert found.called[0] == ("f", 0)


def test_blocks_that_multiply_are_refused() -> None:
    """Ten of each within each, eight deep: 6 KB that mean a hundred million places."""
    types = [
        old_pou(
            f"F{n}", old_variables([(f"i{k}", f"F{n + 1}", "") for k in range(10)]),
            old_st(""), "functionBlock",
        )
        for n in range(9)
    ]  # fmt: skip
    main = old_pou("Main", old_variables([*MOVE, ("f", "F0", "")]), old_st(CALL))
    with pytest.raises(Unreadable, match="within each other so often") as refused:
        entries(old_project(main + "".join(types)))
    assert "export the program of this axis alone" in str(refused.value.hint)


def test_a_block_that_holds_itself_is_looked_into_once() -> None:
    """No program of the trade compiles with one (IEC 61131-3, 6.6.1: no recursion; from memory)."""
    interface = old_variables([("Move", "MC_MoveAbsolute", "")] + [
        (f"again{n}", "Loop", "") for n in range(10)
    ])  # fmt: skip
    loop = old_pou("Loop", interface, old_st(CALL), "functionBlock")
    main = old_pou("Main", old_variables([("f", "Loop", "")]), old_st(""))
    found = iec61131.read_axis(old_project(main + loop), file="x.xml", pick=AxisPick(("*",)))
    paths = [entry.code for entry in found.entries if entry.code.endswith("Position")]
    assert paths == ["Main.f.Move.Position"]


def test_an_input_handed_down_by_many_calls_is_asked_for_once() -> None:
    """Thirty calls on each of eight levels are 30^8 ways to the one constant."""
    calls = "inside(x := x);" * 30
    last = old_pou(
        "G7", old_variables(INPUT, "inputVars") + old_variables(MOVE),
        old_st("Move(Axis := LiftAxis, Position := x);"), "functionBlock",
    )  # fmt: skip
    types = [block(f"G{n}", f"G{n + 1}", calls) for n in range(7)]
    main = old_pou("Main", old_variables([("g", "G0", "")]), old_st("g(x := 7.0);" * 30))
    found = entries(old_project(main + "".join(types) + last))
    (position,) = (entry for code, entry in found.items() if code.endswith("Position"))
    assert (position.written, position.access) == (7, "const")


def test_a_large_program_is_read_to_its_end() -> None:
    """10,000 variables that 10,000 statements write: every one of them is initial alone."""
    many = 10_000
    text = CALL + "".join(f"Lift{n} := 2.0;\n" for n in range(many))
    content = in_st(text, *((f"Lift{n}", "LREAL", "1.0") for n in range(many)))
    found = entries(content, AxisPick(("Lift*",)))
    assert len([entry for entry in found.values() if entry.access == "rw"]) == many


@pytest.mark.parametrize("spelled", ["-" * 5_000 + "1", "(" * 20_000 + "1" + ")" * 20_000])
def test_an_expression_of_signs_alone_is_known_at_run_time_only(spelled: str) -> None:
    assert given_in_st(spelled).access == "ro"


@pytest.mark.parametrize(
    "spelled", ["1E999", "-1e-999", "9" * 300, "LREAL#1E31", f"16#{'F' * 300}"]
)
def test_a_number_beyond_every_machine_is_told_as_it_is_spelled(spelled: str) -> None:
    """Written out, 1E999 takes a page of digits."""
    entry = given_in_st(spelled)
    assert (entry.written, entry.access, entry.role) == (spelled, "ro", None)
