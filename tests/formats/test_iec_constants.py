"""What counts as a constant of a controller's program: nothing that anything else may write.

Each case is a habit of the trade; grammar of IEC 61131-3, from memory.
"""

from __future__ import annotations

import pytest

from tests.controller_texts import old_pou, old_project, old_st, old_variables
from vault.formats import iec61131
from vault.formats.iec_st import statements
from vault.model.axis_pick import AxisPick
from vault.model.export import Entry

MOVE = ("Move", "MC_MoveAbsolute", "")
SPEED = ("vSpeed", "LREAL", "50.0")
GIVES = "Move(Axis := LiftAxis, Velocity := 50.0);"
TAKES = "Move(Axis := LiftAxis, Velocity := vSpeed);"
FROM_LIST = "Move(Axis := LiftAxis, Velocity := Speeds.vFast);"


def in_list(text: str) -> str:
    return old_st(text).replace("ST>", "IL>")


def main(text: str, *variables: tuple[str, str, str]) -> str:
    return old_pou("Main", old_variables([MOVE, *variables]), old_st(text))


def other(text: str, kind: str = "program") -> str:
    return old_pou("Other", old_variables([("x", "BOOL", "")]), old_st(text), kind)


def listed(**speeds: str) -> str:
    return "".join(
        f'<globalVars name="{name}"><variable name="vFast"><type><LREAL/></type><initialValue>'
        f'<simpleValue value="{speed}"/></initialValue></variable></globalVars>'
        for name, speed in speeds.items()
    )


def velocity(pous: str, globals_: str = "") -> Entry | None:
    """What the velocity of the lift's one block is read as."""
    content = old_project(pous, globals_=globals_)
    found = iec61131.read_axis(content, file="line.xml", pick=AxisPick(("LiftAxis",)))
    return next((one for one in found.entries if one.code.endswith(".Velocity")), None)


def is_constant(pous: str, globals_: str = "") -> bool:
    found = velocity(pous, globals_)
    return found is not None and found.access == "const" and found.role is not None


@pytest.mark.parametrize(
    "text",
    [
        "THIS^.Move.Velocity := 80.0;",
        "Main.Move.Velocity := 80.0;",
        "IF slow THEN Move.Velocity := 80.0; END_IF",
        "CASE step OF 1: Move(Velocity := 80.0); END_CASE",
        "Ramp(Out => Move.Velocity);",
        "Move(LiftAxis, go, 100.0, 80.0);",
        "Move := Spare;",
    ],
)
def test_an_input_that_is_given_something_else_elsewhere_is_no_constant(text: str) -> None:
    assert is_constant(main(GIVES))
    assert not is_constant(main(f"{GIVES} {text}"))


@pytest.mark.parametrize(
    "text",
    [
        "THIS^.vSpeed := 80.0;",
        "Main.vSpeed := 80.0;",
        "p := ADR(vSpeed); p^ := 80.0;",
        "r REF= vSpeed; r := 80.0;",
        "r := REF(vSpeed);",
        "Scale(Value := vSpeed);",
        "y := ScaleIt(vSpeed);",
        "a := vSpeed := 80.0;",
        "vSpeed.3 := TRUE;",
    ],
)
def test_a_variable_that_may_be_written_has_an_initial_value_alone(text: str) -> None:
    assert is_constant(main(TAKES, SPEED))
    found = velocity(main(f"{TAKES} {text}", SPEED))
    assert found is not None
    assert (found.access, found.role) == ("rw", None)


@pytest.mark.parametrize(
    "text",
    [
        "Wait(IN := go, PT := vSpeed);",
        "y := LREAL_TO_REAL(vSpeed);",
        "y := LIMIT(0.0, vSpeed, 9.0);",
        "Jog(Velocity := vSpeed);",
        "IF (vSpeed) > 3 THEN y := (vSpeed); END_IF",
        "Copy(From := vSpeed, To := y);",
    ],
)
def test_what_only_reads_a_variable_leaves_it_a_constant(text: str) -> None:
    own = old_pou(
        "Copier",
        old_variables([("From", "LREAL", "")], "inputVars")
        + old_variables([("To", "LREAL", "")], "inOutVars"),
        old_st("To := From;"),
        "functionBlock",
    )
    kinds = (("Wait", "TON", ""), ("Jog", "MC_MoveVelocity", ""), ("Copy", "Copier", ""))
    assert is_constant(own + main(f"{TAKES} {text}", SPEED, *kinds))
    turned = text.replace("From := vSpeed, To := y", "From := y, To := vSpeed")
    assert is_constant(own + main(f"{TAKES} {turned}", SPEED, *kinds)) == (turned == text)


@pytest.mark.parametrize(
    "text", ["Main.Move.Velocity := 80.0;", "Main.Move(Velocity := 80.0);", "Main.vSpeed := 80.0;"]
)
def test_another_program_may_reach_in(text: str) -> None:
    held = TAKES if "vSpeed" in text else GIVES
    assert is_constant(main(held, SPEED) + other("x := TRUE;"))
    assert not is_constant(main(held, SPEED) + other(text))


def test_an_instance_of_the_same_name_in_another_program_is_another() -> None:
    theirs = old_pou("Other", old_variables([MOVE]), old_st("Move(Velocity := 80.0);"))
    assert is_constant(main(GIVES) + theirs)


def test_two_of_an_array_are_two_and_any_of_it_may_be_either() -> None:
    first, second = "Move[1](Axis := LiftAxis, Velocity := 50.0);", "Move[2].Velocity := 80.0;"
    assert is_constant(main(f"{first} {second}"))
    assert not is_constant(main(first + second.replace("2", "n", 1)))


@pytest.mark.parametrize(
    ("writes", "kind"),
    [
        (old_pou("Set", "", old_st("Speeds.vFast := 3.0;"), "function"), "function"),
        (old_pou("Set", "", old_st("vFast := 3.0;")), "program"),
        (old_pou("Set", "", in_list("LD 80.0\nST Speeds.vFast\n")), "list"),
        (old_pou("Set", "", in_list("LD TRUE\n(* why *) s: R vFast\n")), "list"),
    ],
)
def test_a_global_one_may_be_written_in_any_language(writes: str, kind: str) -> None:
    lists = listed(Speeds="50.0")
    reads = old_pou("Get", "", in_list("LD vFast\n(* ST vFast\n*)"))
    assert is_constant(main(FROM_LIST) + reads, lists), kind
    assert not is_constant(main(FROM_LIST) + writes, lists)


def test_a_list_of_instructions_is_read_as_far_as_it_calls() -> None:
    calls = "CAL Move(Axis := LiftAxis, Velocity := vSpeed)\n"
    variables = old_variables([MOVE, SPEED])
    assert is_constant(old_pou("Main", variables, in_list(calls)))
    assert not is_constant(old_pou("Main", variables, in_list(f"{calls}LD 80.0\nST vSpeed\n")))


def test_a_name_of_two_lists_is_that_of_the_list_that_is_named() -> None:
    lists = listed(Speeds="50.0", Recipe="80.0")
    found = velocity(main("Move(Axis := LiftAxis, Velocity := Recipe.vFast);"), lists)
    assert found is not None
    assert (found.written, found.access) == (80, "const")
    assert not is_constant(main("Move(Axis := LiftAxis, Velocity := vFast);"), lists)
    assert not is_constant(main("Move(Axis := LiftAxis, Velocity := Panel.vFast);"), lists)


def test_an_input_of_a_block_of_the_house_may_be_given_from_elsewhere_or_changed_within() -> None:
    inner = old_pou(
        "Station",
        old_variables([("Speed", "LREAL", "7.0")], "inputVars")
        + old_variables([("Jog", "MC_MoveVelocity", "")]),
        old_st("Jog(Axis := LiftAxis, Velocity := Speed);"),
        "functionBlock",
    )
    runs = old_pou("Main", old_variables([("One", "Station", "")]), old_st("One(Speed := 9.0);"))
    idle = old_pou("Main", old_variables([("One", "Station", "")]), old_st("One();"))
    assert is_constant(inner + runs)
    assert is_constant(inner + idle)
    for text in ("Main.One.Speed := 80.0;", "Main.One(Speed := 80.0);"):
        assert not is_constant(inner + runs + other(text))
        assert not is_constant(inner + idle + other(text))
    halved = inner.replace("Jog(Axis", "Speed := Speed / 2.0; Jog(Axis")
    assert not is_constant(halved + runs)


@pytest.mark.parametrize(
    ("elsewhere", "is_still"), [("Inside.x := 80.0;", True), ("Inside[i].x := 80.0;", False)]
)
def test_a_block_of_the_house_that_another_program_calls_alike_is_another_but_by_an_index(
    elsewhere: str, is_still: bool
) -> None:
    house = old_pou(
        "Lifter",
        old_variables([("x", "LREAL", "")], "inputVars") + old_variables([MOVE]),
        old_st("Move(Axis := LiftAxis, Velocity := x);"),
        "functionBlock",
    )
    held = old_pou("Main", old_variables([("Inside", "Lifter", "")]), old_st("Inside(x := 50.0);"))
    theirs = old_pou("Other", old_variables([("Inside", "Lifter", "")]), old_st(elsewhere))
    assert is_constant(house + held + theirs) == is_still


def test_what_an_instance_begins_with_is_given_to_it_too() -> None:
    begins = (
        '<localVars><variable name="Move"><type><derived name="MC_MoveAbsolute"/></type>'
        '<initialValue><structValue><value member="Velocity"><simpleValue value="80.0"/></value>'
        "</structValue></initialValue></variable></localVars>"
    )
    calls = "Move(Axis := LiftAxis);"
    found = velocity(old_pou("Main", begins, old_st(calls)))
    assert found is not None
    assert (found.written, found.access) == (80, "const")
    slower = f"{calls} IF slow THEN Move.Velocity := 10.0; END_IF"
    assert not is_constant(old_pou("Main", begins, old_st(slower)))


@pytest.mark.parametrize(
    ("text", "given"),
    [
        ("(* old (* why *) Move.Velocity := 80.0; *) a := 1;", ["a"]),
        ("/* old /* why */ b := 2; */ a := 1;", ["a"]),
        ("(* never (* paired *) a := 1;", ["a"]),
        ("(* one *) a := 1; (* two *) b := 2;", ["a", "b"]),
        ("'(*' a := 1; // (*\nb := 2;", ["a", "b"]),
    ],
)
def test_what_stands_in_a_comment_gives_nothing(text: str, given: list[str]) -> None:
    assert [one.target for one in statements(text).given] == given


def test_lines_are_counted_through_comments() -> None:
    (found,) = statements("(* one\n(* two\n*)\n*)\n\na := 1;").given
    assert found.line == 5


def test_a_text_of_comments_that_never_close_ends() -> None:
    assert not statements("(*" * 20_000).given
    assert not statements("(* (* *) " * 20_000).given
