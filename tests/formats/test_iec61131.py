"""Controllers' projects: what the reader finds is what was written, and nothing else.

Reference readers: `xml.etree.ElementTree` of the standard library for what stands in a file, and
Python's `decimal` for numbers. Grammar of literals and texts: IEC 61131-3, from memory.
"""

from __future__ import annotations

import re
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from example_machines import controller_project, story_controllers
from tests.controller_texts import old_picture, old_pou, old_project, old_st, old_variables
from vault.formats import iec61131
from vault.formats.iec_literals import literal, microseconds
from vault.formats.iec_st import statements, tokens
from vault.formats.registry import Writes as WritesAnew
from vault.formats.registry import WritesBack, format_named
from vault.model import roles
from vault.model.axis_pick import AxisPick
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import Entry
from vault.model.normalise import normalise

LIFT = AxisPick(("LiftAxis",))
RELEASE = controller_project.Release("line", "2026-01-01T00:00:00", {})
MOVE = [("Move", "MC_MoveAbsolute", "")]


def entries(content: bytes, pick: AxisPick | None = LIFT) -> dict[str, Entry]:
    """What is the axis's, by code."""
    found = iec61131.read_axis(content, file="line.xml", pick=pick)
    return {entry.code: entry for entry in found.entries}


def in_st(text: str, *variables: tuple[str, str, str]) -> bytes:
    """A project with one program in structured text, in which Move is a move to a position."""
    interface = old_variables([("Move", "MC_MoveAbsolute", ""), *variables])
    return old_project(old_pou("Main", interface, old_st(text)))


def given_in_st(spelled: str, *variables: tuple[str, str, str]) -> Entry:
    """The entry of a position that is given so."""
    text = f"Move(Axis := LiftAxis, Position := {spelled}, Velocity := 1.0);"
    return entries(in_st(text, *variables))["Main.Move.Position"]


# Constants come out exact, whatever they are written in

numbers = st.decimals(
    min_value=-(10**9), max_value=10**9, allow_nan=False, allow_infinity=False, places=6
)


@given(numbers)
def test_a_constant_in_structured_text_is_exact(number: Decimal) -> None:
    assert given_in_st(f"{number:f}").written == number
    assert given_in_st(f"LREAL#{number:f}").written == number


@given(numbers)
@pytest.mark.parametrize("language", ["LD", "FBD"])
def test_a_constant_in_a_picture_is_exact(language: str, number: Decimal) -> None:
    body = old_picture(
        language, "MC_MoveAbsolute", "Move", [("Axis", "LiftAxis"), ("Position", f"{number:f}")]
    )
    found = entries(old_project(old_pou("Main", old_variables(MOVE), body)))["Main.Move.Position"]
    assert (found.written, found.access) == (number, "const")


@given(numbers)
def test_an_initial_value_that_nothing_writes_is_as_good_as_a_constant(number: Decimal) -> None:
    found = given_in_st("Place", ("Place", "LREAL", f"{number:f}"))
    assert (found.written, found.access) == (number, "const")
    assert found.role == "controller_move_position"


@given(st.integers(min_value=0, max_value=2**63), st.sampled_from([2, 8, 16]))
def test_a_number_of_any_base_is_exact(number: int, base: int) -> None:
    digits = {2: f"{number:b}", 8: f"{number:o}", 16: f"{number:X}"}[base]
    spelled = "_".join(digits)
    found = literal(f"{base}#{spelled}")
    assert found is not None
    assert found.value == number


@given(st.integers(min_value=0, max_value=10**9))
def test_a_duration_is_whole_microseconds_however_it_is_cut(us: int) -> None:
    seconds, rest = divmod(us, 1_000_000)
    ms, left = divmod(rest, 1000)
    assert microseconds(f"T#{seconds}s{ms}ms{left}us") == us
    assert microseconds(f"time#{seconds}s_{ms}.{left:03}ms") == us
    assert microseconds(f"PT{seconds}.{rest:06}S") == us


@pytest.mark.parametrize(
    ("spelled", "value", "unit"),
    [
        ("T#4ms", 4000, "us"),
        ("LTIME#1m30s", 90_000_000, "us"),
        ("T#1d2h", 93_600_000_000, "us"),
        ("t#100ns", Decimal("0.1"), "us"),
        ("T#-2.5s", -2_500_000, "us"),
        ("1_000", 1000, ""),
        ("16#FF", 255, ""),
        ("DINT#16#1_0", 16, ""),
        ("1.5E-3", Decimal("0.0015"), ""),
        ("TRUE", "TRUE", ""),
        ("BOOL#0", "FALSE", ""),
        ("'it$'s'", "it's", ""),
    ],
)
def test_a_literal_is_what_the_standard_says(spelled: str, value: object, unit: str) -> None:
    found = literal(spelled)
    assert found is not None
    assert (found.value, found.unit) == (value, unit)


@pytest.mark.parametrize(
    "spelled", ["Speed", "", "T#", "T#4", "T#ms4", "16#", "16#G1", "2#12", "1.", "1e", "a.b", "1 2"]
)
def test_what_is_no_literal_is_none(spelled: str) -> None:
    found = literal(spelled)
    assert found is None or found.unit == ""
    assert microseconds(spelled) is None


# Constant, initial, at run time


@pytest.mark.parametrize(
    ("text", "access", "written"),
    [
        ("", "const", Decimal("12.5")),
        ("Place := Panel.Place;", "rw", Decimal("12.5")),
        ("IF x THEN place := 3.0; END_IF", "rw", Decimal("12.5")),
        ("Reader(Axis := TableAxis, Value => Place);", "rw", Decimal("12.5")),
        ("FOR Place := 1 TO 9 DO END_FOR", "rw", Decimal("12.5")),
        ("(* Place := 1.0; *) // Place := 2.0;\n{ Place := 3.0; }", "const", Decimal("12.5")),
        ("Told := 'Place := 4.0;';", "const", Decimal("12.5")),
    ],
)
def test_a_variable_that_is_written_anywhere_has_an_initial_value_alone(
    text: str, access: str, written: Decimal
) -> None:
    said = f"Move(Axis := LiftAxis, Position := Place);\n{text}"
    variables = (("Place", "LREAL", "12.5"), ("Reader", "MC_ReadParameter", ""))
    found = entries(in_st(said, *variables))["Main.Move.Position"]
    assert (found.access, found.written) == (access, written)
    assert (found.role is None) == (access != "const")


@pytest.mark.parametrize(
    "spelled", ["Place", "a + 1.0", "Recipe.Place", "Ways[3]", "LIMIT(1, a, 3)"]
)
def test_what_only_the_running_knows_is_told_as_it_is_written(spelled: str) -> None:
    found = given_in_st(spelled, ("Place", "LREAL", ""))
    assert (found.access, found.role) == ("ro", None)
    assert str(found.written).replace(" ", "") == spelled.replace(" ", "")


def test_two_calls_that_give_two_values_are_known_at_run_time_only() -> None:
    text = "Move(Axis := LiftAxis, Position := 1.0);\nMove(Axis := LiftAxis, Position := 2.0);"
    found = entries(in_st(text))["Main.Move.Position"]
    assert (found.written, found.access, found.role) == ("1.0 or 2.0", "ro", None)
    same = entries(in_st(text.replace("2.0", "1.00")))["Main.Move.Position"]
    assert (same.written, same.access) == (1, "const")


def test_what_an_assignment_gives_an_input_counts_as_what_a_call_gives() -> None:
    found = entries(in_st("move.Velocity := -100.5;\nMove(Axis := LiftAxis);"))
    assert [(e.written, e.access) for e in found.values() if "velocity" in e.code.lower()] == [
        (Decimal("-100.5"), "const")
    ]


@pytest.mark.parametrize("spelled", ["mcNegativeDirection", "MC_DIRECTION#mcNegativeDirection"])
def test_an_element_of_an_enumeration_is_what_it_means_for_the_input(spelled: str) -> None:
    found = entries(in_st(f"Move(Axis := LiftAxis, Direction := {spelled});"))
    entry = found["Main.Move.Direction"]
    assert (entry.written, entry.role) == ("Negative way", "controller_move_direction")


@pytest.mark.parametrize(
    ("block", "given", "role", "label"),
    [
        ("MC_MoveAbsolute", "Direction := mcShortestWay", "move_direction", "Shortest way"),
        ("MC_MoveAbsolute", "BufferMode := mcBuffered", "move_buffer_mode",
         "After the move under way"),
        ("MC_Home", "Direction := mcPositiveDirection", "homing_direction", "Positive"),
        ("MC_Home", "Direction := MC_DIRECTION#mcNegativeDirection", "homing_direction",
         "Reversed"),
        # The numbers of one enumeration are not those of another.
        ("MC_Home", "Direction := mcShortestWay", None, None),
        ("MC_Home", "Direction := mcCurrentDirection", None, None),
        ("MC_MoveAbsolute", "BufferMode := mcNegativeDirection", None, None),
        ("MC_MoveAbsolute", "Velocity := mcBuffered", None, None),
        # What a bare number counts, its own enumeration would have to say.
        ("MC_Home", "Direction := 1", "homing_direction", None),
        ("MC_MoveAbsolute", "Direction := 2", "move_direction", None),
        ("MC_MoveAbsolute", "BufferMode := 1", "move_buffer_mode", None),
        # Homing methods have the numbers of the drive standard.
        ("MC_Home", "HomingMethod := 37", "homing_method", "Present position becomes home"),
    ],
)  # fmt: skip
def test_a_choice_is_what_its_name_says_and_a_number_of_it_says_nothing(
    block: str, given: str, role: str | None, label: str | None
) -> None:
    content = in_st(f"One(Axis := LiftAxis, {given});", ("One", block, ""))
    listing = iec61131.read_axis(content, file="line.xml", pick=LIFT)
    found = normalise(listing, None).parameters[f"Main.One.{given.partition(' ')[0]}"]
    assert found.role == (None if role is None else f"controller_{role}")
    assert found.label == label


def test_an_element_and_a_number_given_to_one_input_are_no_constant() -> None:
    moves = (f"Move(Axis := LiftAxis, Direction := {one});" for one in ("mcShortestWay", "1"))
    found = entries(in_st("".join(moves)))["Main.Move.Direction"]
    assert (found.access, found.role) == ("ro", None)


def test_a_retained_variable_has_an_initial_value_alone() -> None:
    interface = old_variables(MOVE) + old_variables(
        [("Place", "LREAL", "3.0")], 'localVars retain="true"'
    )
    content = old_project(
        old_pou("Main", interface, old_st("Move(Axis := LiftAxis, Position := Place);"))
    )
    assert entries(content)["Main.Move.Position"].access == "rw"


def test_a_block_of_the_house_is_looked_into_wherever_it_stands() -> None:
    inner = old_pou(
        "Station",
        old_variables([("Speed", "LREAL", "7.0")], "inputVars")
        + old_variables([("Who", "AXIS_REF", "")], "inOutVars")
        + old_variables([("Jog", "MC_MoveVelocity", "")]),
        old_picture("FBD", "MC_MoveVelocity", "Jog", [("Axis", "Who"), ("Velocity", "Speed")]),
        "functionBlock",
    )
    main = old_pou(
        "Main",
        old_variables([("One", "Station", ""), ("Two", "Station", "")]),
        old_st("One(Who := LiftAxis, Speed := 12.5); Two(Who := TableAxis);"),
    )
    content = old_project(inner + main)
    assert entries(content)["Main.One.Jog.Velocity"].written == Decimal("12.5")
    other = entries(content, AxisPick(("tableaxis",)))
    assert other["Main.Two.Jog.Velocity"].written == 7
    assert "Main.One.Jog.Velocity" not in other


SPEEDS = "Axis := LiftAxis, Velocity := 5.0, Acceleration := 6.0, Jerk := 7.0"


@pytest.mark.parametrize(
    ("instance", "block", "roles_found"),
    [
        ("JogUp", "MC_MoveVelocity", ["jog_velocity", "jog_acceleration", "move_jerk"]),
        ("Lift_JOG", "MC_MoveVelocity", ["jog_velocity", "jog_acceleration", "move_jerk"]),
        ("Run", "MC_MoveVelocity", ["move_velocity", "move_acceleration", "move_jerk"]),
        # A move to a place ends by itself, whatever it is called.
        ("JogUp", "MC_MoveAbsolute", ["move_velocity", "move_acceleration", "move_jerk"]),
    ],
)
def test_a_move_at_a_speed_jogs_where_it_is_called_so(
    instance: str, block: str, roles_found: list[str]
) -> None:
    found = entries(in_st(f"{instance}({SPEEDS});", (instance, block, "")))
    told = [one.role for code, one in found.items() if code.startswith(f"Main.{instance}.")]
    assert told == [f"controller_{role}" for role in roles_found]


@pytest.mark.parametrize(
    ("kind", "instance", "role"),
    [
        ("ByHand", "JogLift", "controller_jog_velocity"),
        ("JogBlock", "Hand", "controller_jog_velocity"),
        ("ByHand", "Hand", "controller_move_velocity"),
    ],
)
def test_a_block_of_the_house_called_so_jogs_with_what_stands_in_it(
    kind: str, instance: str, role: str
) -> None:
    block = old_pou(
        kind,
        old_variables([("Run", "MC_MoveVelocity", "")]),
        old_st("Run(Axis := LiftAxis, Velocity := 5.0);"),
        "functionBlock",
    )
    main = old_pou("Main", old_variables([(instance, kind, "")]), old_st(f"{instance}();"))
    assert entries(old_project(block + main))[f"Main.{instance}.Run.Velocity"].role == role


def test_a_block_that_the_open_specification_does_not_have_is_none_of_motion() -> None:
    """The specification has no block for jogging (parts 1 and 2, version 2.0, from memory)."""
    found = entries(in_st(f"Move({SPEEDS}); Hand({SPEEDS});", ("Hand", "MC_HandMove", "")))
    assert "Main.Move.Velocity" in found
    assert not [code for code in found if "Hand" in code]


def test_a_block_that_holds_itself_ends() -> None:
    loop = old_pou(
        "Loop",
        old_variables([("Again", "Loop", ""), ("Jog", "MC_MoveVelocity", "")]),
        old_st("Jog(Axis := LiftAxis, Velocity := 1.0); Again();"),
        "functionBlock",
    )
    main = old_pou("Main", old_variables([("One", "Loop", "")]), old_st("One();"))
    assert entries(old_project(loop + main))["Main.One.Jog.Velocity"].written == 1


def test_what_is_written_into_the_axis_has_the_role_of_its_number() -> None:
    text = "Set(Axis := LiftAxis, ParameterNumber := 7, Value := 4.5);"
    found = entries(in_st(text, ("Set", "MC_WriteParameter", "")))
    assert found["Main.Set.Value"].role == "controller_following_error_limit"
    unknown = entries(in_st(text.replace("7", "n"), ("Set", "MC_WriteParameter", "")))
    assert unknown["Main.Set.Value"].role is None


# Tasks, and which axis it is


@pytest.mark.parametrize("task", ["Motion", None])
def test_the_task_is_the_one_that_the_program_runs_in_or_that_the_rule_names(
    task: str | None,
) -> None:
    interface, body = old_variables(MOVE), old_st("Move(Axis := LiftAxis, Velocity := 1.0);")
    content = old_project(
        old_pou("Main", interface, body),
        running=[("Main", "Slow")],
        tasks=[("Motion", "T#2ms", "1"), ("Slow", "t#1s", "20")],
    )
    found = entries(content, AxisPick(("LiftAxis",), task))
    named = task or "Slow"
    told = {e.code: (e.written, e.unit) for e in found.values() if e.code.startswith("task/")}
    assert told == {
        f"task/{named}/interval": (2000 if task else 1_000_000, "us"),
        f"task/{named}/priority": (1 if task else 20, ""),
    }
    assert found[f"task/{named}/interval"].role == "controller_task_interval"


def test_several_axes_of_one_project_are_told_apart_in_every_language() -> None:
    content = controller_project.text(RELEASE)
    by_axis = {
        axis: entries(content, AxisPick((axis,)))
        for axis in ("LiftAxis", "CarriageAxis", "BeltAxis", "TableAxis", "PumpAxis")
    }
    programs = {
        axis: {code.split(".")[0] for code in found if not code.startswith("task/")}
        for axis, found in by_axis.items()
    }
    assert programs == {
        "LiftAxis": {"Lift"},
        "CarriageAxis": {"Carriage"},
        "BeltAxis": {"Belt"},
        "TableAxis": {"Table"},
        "PumpAxis": {"Pump"},
    }
    written = {code: e.written for found in by_axis.values() for code, e in found.items()}
    assert written["Carriage.Sweep.Position"] == 725
    assert written["Belt.Advance.Distance"] == 410
    assert written["Table.Turntable.Turn.Distance"] == 90
    assert written["Pump.Run.Velocity"] == 24
    assert {e.role for e in by_axis["PumpAxis"].values() if "task" in e.code} == {
        "controller_task_interval",
        "controller_task_priority",
    }


@pytest.mark.parametrize("glob", ["Main.M*", "move", "*Axis", "LIFT*", "[lm]ove"])
def test_a_glob_may_mean_an_instance_its_place_or_the_axis(glob: str) -> None:
    content = in_st("Move(Axis := LiftAxis, Velocity := 1.0);")
    assert "Main.Move.Velocity" in entries(content, AxisPick((glob,)))


def test_a_variable_is_taken_where_the_rule_names_it() -> None:
    content = in_st(
        "Move(Axis := LiftAxis, Velocity := 1.0);",
        ("LiftTop", "LREAL", "550.0"),
        ("Other", "DINT", "3"),
    )
    found = entries(content, AxisPick(("Lift*",)))
    assert found["Main.LiftTop"].written == 550
    assert "Main.Other" not in found


def test_roles_are_numbered_in_the_order_of_the_file() -> None:
    text = "".join(f"M{n}(Axis := LiftAxis, Position := {n}.0);\n" for n in (3, 1, 2))
    variables = [(f"M{n}", "MC_MoveAbsolute", "") for n in (1, 2, 3)]
    found = entries(in_st(text, *variables))
    numbered = {e.role: e.written for e in found.values() if "Position" in e.code}
    assert numbered == {
        "controller_move_position": 3,
        "controller_move_position.2": 1,
        "controller_move_position.3": 2,
    }
    assert all(roles.find(role or "") for role in numbered)


@pytest.mark.parametrize("pick", [None, AxisPick(("Nobody*",))])
def test_without_a_rule_that_fits_the_axes_and_instances_are_listed(pick: AxisPick | None) -> None:
    with pytest.raises(WrongUsage) as told:
        iec61131.read_axis(controller_project.text(RELEASE), file="line.xml", pick=pick)
    assert "LiftAxis" in told.value.message
    assert "MoveUp" in told.value.message
    assert "match: [" in (told.value.hint or "")
    if pick is not None:
        assert "Nobody*" in told.value.message


def test_a_project_with_one_axis_needs_no_rule() -> None:
    assert "Main.Move.Velocity" in entries(in_st("Move(Axis := A, Velocity := 1.0);"), None)


# Both forms of the XML, and other namespaces


@pytest.mark.parametrize("namespace", ["urn:elsewhere", "", "http://www.plcopen.org/xml/tc6.xsd"])
def test_the_namespace_is_not_asked(namespace: str) -> None:
    body = old_st("Move(Axis := LiftAxis, Position := 2.5);")
    content = old_project(old_pou("Main", old_variables(MOVE), body), namespace=namespace)
    assert iec61131.recognises(content, "line.xml")
    assert entries(content)["Main.Move.Position"].written == Decimal("2.5")


def test_a_prefix_changes_nothing() -> None:
    plain = old_project(
        old_pou("Main", old_variables(MOVE), old_st("Move(Axis := LiftAxis, Position := 2.5);"))
    ).decode()
    prefixed = re.sub(r"<(/?)(?!\?)(?!/?xhtml)", r"<\1iec:", plain).replace(
        "xmlns=", "xmlns:iec=", 1
    )
    assert ElementTree.fromstring(prefixed).tag.endswith("}project")
    assert entries(prefixed.encode()) == entries(plain.encode())


@pytest.mark.parametrize("story", story_controllers.CONTROLLERS, ids=lambda one: one.machine)
def test_the_example_has_the_structure_of_the_standard(
    story: story_controllers.ControllerStory,
) -> None:
    # IEC 61131-10 edition 1, order and nesting of its outer elements; from memory.
    for _, release in story.visits:
        root = ElementTree.fromstring(controller_project.text(release))
        tag = f"{{{controller_project.NAMESPACE}}}"
        assert root.tag == f"{tag}Project"
        assert [child.tag.removeprefix(tag) for child in root] == [
            "FileHeader", "ContentHeader", "Types", "Instances",
        ]  # fmt: skip
        names = {p.get("name") for p in root.iter(f"{tag}Program")}
        running = {p.get("typeName") for p in root.iter(f"{tag}ProgramInstance")}
        tasks = {t.get("name") for t in root.iter(f"{tag}Task")}
        assert running == names
        assert {p.get("associatedTaskName") for p in root.iter(f"{tag}ProgramInstance")} <= tasks
        outs = [o.get("connectionPointOutId") for o in root.iter(f"{tag}ConnectionPointOut")]
        wired = [c.get("refConnectionPointOutId") for c in root.iter(f"{tag}Connection")]
        assert set(wired) <= set(outs)


def test_every_constant_that_a_reference_reader_sees_is_found() -> None:
    content = controller_project.text(RELEASE)
    root = ElementTree.fromstring(content)
    tag = f"{{{controller_project.NAMESPACE}}}"
    sources = [one.get("identifier") or "" for one in root.iter(f"{tag}FbdObject")]
    stated = sorted(Decimal(text) for text in sources if re.fullmatch(r"[0-9.]+", text))
    found = [
        *entries(content, AxisPick(("CarriageAxis",))).values(),
        *entries(content, AxisPick(("BeltAxis",))).values(),
    ]
    seen = [
        Decimal(e.written)
        for e in found
        if isinstance(e.written, int | Decimal)
        and not e.code.startswith("task/")
        and e.role != "controller_move_direction"
        and not (e.code.startswith("Carriage.Sweep") and "celeration" in e.code)  # by a variable
    ]
    assert sorted(seen) == stated


# Hostile and broken files


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b'<!DOCTYPE project [<!ENTITY a "b">]><project>&a;</project>', "document type"),
        (b"<project><types>", "cut off"),
        (b"<project>" * 300 + b"</project>" * 300, "nested more than"),
        (b"<other/>", "no controller's project"),
        (b"<project/>", "no program and no task"),
        (old_project(old_pou("Main", "", old_st("x := 1;"))), "no motion block"),
    ],
)
def test_hostile_and_broken_files_are_refused_in_words(content: bytes, said: str) -> None:
    with pytest.raises(Unreadable, match=said):
        iec61131.read_axis(content, file="line.xml", pick=LIFT)


@given(st.text(max_size=200))
def test_any_text_of_a_program_is_read_or_refused(text: str) -> None:
    assert sum(token.line >= 0 for token in tokens(text)) >= 0
    body = f"Move(Axis := LiftAxis, Position := 1.5);\n{text}"
    body = "".join(c for c in body if c in "\t\n" or " " <= c < "\ud800")
    try:
        found = entries(in_st(body))
    except VaultError:
        return
    assert "Main.Move.Position" in found


@pytest.mark.parametrize("text", ["(" * 5000, "a[" * 5000, "x.(" * 3000, "a(b:=" * 3000, "'" * 999])
def test_a_text_of_brackets_ends(text: str) -> None:
    assert statements(text).written == frozenset()


def test_a_large_project_is_read_whole() -> None:
    count = 2000
    variables = [(f"M{n}", "MC_MoveAbsolute", "") for n in range(count)]
    text = "\n".join(
        f"M{n}(Axis := Axis{n % 20}, Position := {n}.25, Velocity := 10.0);" for n in range(count)
    )
    found = entries(
        old_project(old_pou("Main", old_variables(variables), old_st(text))), AxisPick(("Axis7",))
    )
    positions = {e.written for e in found.values() if e.code.endswith("Position")}
    assert positions == {Decimal(n) + Decimal("0.25") for n in range(7, count, 20)}


def test_build_files_with_the_same_root_are_none_of_it() -> None:
    build = b'<Project Sdk="x"><PropertyGroup><Types>a</Types></PropertyGroup></Project>'
    assert not iec61131.recognises(build, "a.xml")


def test_a_project_is_read_and_never_written() -> None:
    ours = format_named("iec61131")
    assert not isinstance(ours, WritesBack)
    assert not isinstance(ours, WritesAnew)
