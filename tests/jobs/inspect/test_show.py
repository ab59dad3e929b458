"""One parameter set for a reader: groups, values, and what they are on the machine. All invented.

Values are held against git's own files as ruamel.yaml reads them, sizes against bare fractions.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from decimal import Decimal
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from ruamel.yaml import YAML

from example_machines import EXPORTS
from tests.jobs.inspect.test_history import BY, LIFT, keep
from tests.meaning.drives import LENGTHS, TURNS, Drive, Machine, drives, machines, measured
from vault.cli import axisvault
from vault.jobs.inspect.show import ShownParameter, shown_parameters
from vault.jobs.records.edit import add_family
from vault.jobs.state.selectors import resolve
from vault.model import roles
from vault.model.parameters import code_order
from vault.store.files import layout
from vault.store.vault import Vault

AXIS = "glaze-line-1/lift"
# Latest snapshots of three families, and one from before the others.
SELECTORS = [AXIS, f"{AXIS}@first", "glaze-line-1/turntable", "kiln-loader/hoist"]
# The contract, and what it allows beside: what the set believes, for people, and what is so.
KEYS = {
    "code", "name", "role", "group", "value", "unit", "label", "raw", "access", "physical",
    "stated", "text", "really",
}  # fmt: skip
Take = Callable[..., Any]
Text = Callable[..., str]
Git = Callable[..., str]


def told(works: Path, *words: str) -> str:
    result = CliRunner().invoke(axisvault, ["--vault", str(works), "show", *words])
    assert result.exit_code == 0, result.output
    return result.output


def found(works: Path, *words: str) -> Any:
    return json.loads(told(works, *words, "--json"))


def line_of(text: str, code: str) -> str:
    """What stands beside a code, without padding."""
    (line,) = (line for line in text.splitlines() if line.startswith(f"  {code} "))
    return " ".join(line.split()).removeprefix(f"{code} ")


def parameter(works: Path, code: str, *words: str) -> dict[str, Any]:
    (one,) = (p for p in found(works, *words)["parameters"] if p["code"] == code)
    return dict(one)


# Groups.


@pytest.mark.parametrize("selector", SELECTORS)
def test_groups_stand_in_the_usual_order_and_codes_in_theirs(works: Path, selector: str) -> None:
    order = [name for name, _ in roles.GROUPS]
    with Vault.open(works) as vault:
        there = shown_parameters(resolve(vault, selector))
    groups = [name for name, _ in groupby(there, key=lambda one: one.group)]
    assert groups == sorted(set(groups), key=order.index)
    assert len(groups) >= 10
    for _, members in groupby(there, key=lambda one: one.group):
        codes = [one.parameter.code for one in members]
        assert codes == sorted(codes, key=code_order)


@pytest.mark.parametrize("selector", SELECTORS)
def test_nothing_is_left_out_and_nothing_told_twice(works: Path, selector: str) -> None:
    with Vault.open(works) as vault:
        state = resolve(vault, selector)
        codes = [one.parameter.code for one in shown_parameters(state)]
    assert sorted(codes, key=code_order) == list(state.parameters)


def test_text_has_a_heading_for_every_group(works: Path) -> None:
    text = told(works, AXIS)
    headings = [line for line in text.split("\n\n", 1)[1].splitlines() if line[:1].strip()]
    there = {one["group"] for one in found(works, AXIS)["parameters"]}
    assert headings == [title for name, title in roles.GROUPS if name in there]


def grouped(vault: Vault, family_text: str, **groups: str) -> None:
    """A dictionary of hazel that puts settings into groups, from before these were declared."""
    for number, group in groups.items():
        name = f"{{name: Setting {number[1:]},"
        assert name in family_text
        family_text = family_text.replace(name, f"{name} group: {group},")
    vault.write_files({layout.family_file("hazel"): family_text.encode()}, "Family hazel\n", BY)


def of_settings(vault: Vault) -> list[ShownParameter]:
    there = shown_parameters(resolve(vault, "m1/lift"))
    return [one for one in there if one.parameter.code in ("set/1", "set/2", "set/3")]


def test_the_group_of_the_dictionary_counts_and_without_one_it_is_the_device(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    grouped(vault, family_text, _3="brake")
    take(export_text())
    assert [(one.parameter.code, one.group) for one in of_settings(vault)] == [
        ("set/3", "brake"),
        ("set/1", "device"),
        ("set/2", "device"),
    ]


def test_what_the_dictionary_says_counts_more_than_what_is_usual_for_the_role(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    own = "name: Following error window, group: brake, access: ro,"
    path = tmp_path / "own.yaml"
    path.write_text(family_text.replace("name: Following error window,", own))
    add_family(vault, path, BY)
    take(export_text())
    (window,) = (
        one
        for one in shown_parameters(resolve(vault, "m1/lift"))
        if one.parameter.code == "lim/lag"
    )
    assert (window.group, window.access) == ("brake", "ro")


def test_text_has_every_parameter_whatever_its_group_is_called(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    grouped(vault, family_text, **{f"_{n}": "PLC spindle" for n in range(1, 21)})
    take(export_text())
    text = told(tmp_path / "plant", "m1/lift")
    assert text.count("\nPLC spindle\n") == 1
    assert text.index("\nPLC spindle\n") < text.index("  set/1 ")
    for one in shown_parameters(resolve(vault, "m1/lift")):
        assert one.parameter.raw == 0 or line_of(text, one.parameter.code)


def test_a_group_of_the_familys_own_comes_last(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    grouped(vault, family_text, _1="spindle")
    take(export_text())
    assert [one.group for one in shown_parameters(resolve(vault, "m1/lift"))][-2:] == [
        "device",
        "spindle",
    ]


def test_two_groups_of_the_familys_own_are_kept_apart(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    grouped(vault, family_text, _1="spindle", _2="magazine", _3="spindle")
    take(export_text())
    assert len([name for name, _ in groupby(of_settings(vault), key=lambda one: one.group)]) == 2


# Own value and what it is.


@pytest.mark.parametrize(
    ("units", "window", "speed", "ramp"),
    [
        ("drive", "4 mm", "300 mm/s", "1,200 mm/s^2"),
        ("si", "0.004 m", "0.3 m/s", "1.2 m/s^2"),
        # An inch is 25.4 mm; to five digits.
        ("inch", "0.15748 in", "11.811 in/s", "47.244 in/s^2"),
    ],
)
def test_user_units_are_told_in_the_unit_of_the_reader(
    works: Path, units: str, window: str, speed: str, ramp: str
) -> None:
    text = told(works, AXIS, "--units", units)
    assert line_of(text, "0x6065:00") == f"Following error window 4,000 user units = {window}"
    assert line_of(text, "0x6081:00") == f"Profile velocity 300,000 user units/s = {speed}"
    ending = f"1,200,000 user units/s^2 = {ramp}"
    assert line_of(text, "0x6083:00") == f"Profile acceleration {ending}"


@pytest.mark.parametrize(
    ("units", "limit", "speed"),
    [
        ("drive", "185 deg", "150 deg/s"),
        # 185 x pi / 180 and 150 x pi / 180, to five digits.
        ("si", "185 deg = 3.2289 rad", "150 deg/s = 2.618 rad/s"),
        # What turns has no inches; 150 deg/s are 25 turns a minute.
        ("inch", "185 deg", "150 deg/s = 25 r/min"),
    ],
)
def test_what_the_drive_has_in_a_unit_speaks_for_itself_unless_another_is_wanted(
    works: Path, units: str, limit: str, speed: str
) -> None:
    text = told(works, "glaze-line-1/turntable", "--units", units)
    name = "Software position limit, upper"
    assert line_of(text, "pos/limit-high") == f"{name} {limit} (raw 185000)"
    assert line_of(text, "pos/speed") == f"Profile velocity {speed} (raw 1500)"


@pytest.mark.parametrize(
    ("units", "said", "really"),
    [
        ("drive", "4 mm", "0.25 mm"),
        ("si", "0.004 m", "0.00025 m"),
        ("inch", "0.15748 in", "0.0098425 in"),
    ],
)
def test_where_the_set_is_wrong_about_the_machine_both_sizes_are_told(
    works: Path, units: str, said: str, really: str
) -> None:
    """2^20 increments counted of the 2^24 of a turn: a sixteenth."""
    text = told(works, f"{AXIS}@2025-11-17T12:00:00Z", "--units", units)
    window = line_of(text, "0x6065:00")
    assert window == f"Following error window 4,000 user units = {said}, really {really}"


def test_a_torque_in_permille_is_told_in_newton_metres(works: Path) -> None:
    text = told(works, AXIS)
    assert line_of(text, "0x6076:00") == "Motor rated torque 3,200 mN*m"
    limit = line_of(text, "0x6072:00")
    assert limit == "Maximum torque 2,500 permille of rated torque = 8 N*m"  # 2.5 x 3.2


def test_choices_and_texts_are_told_as_such(works: Path) -> None:
    text = told(works, AXIS)
    assert line_of(text, "0x2050:01") == "Holding brake used Yes (1)"
    assert line_of(text, "0x2020:04") == 'Axis name "lift"'
    assert line_of(text, "0x6066:00") == "Following error time-out 10 ms"


def test_the_head_tells_which_state_it_is_and_who_took_it(works: Path) -> None:
    text = told(works, f"{AXIS}@2019-12-31")
    head, taken, note, plate = text.splitlines()[:4]
    identity = found(works, f"{AXIS}@2019-12-31")["snapshot"][:10]
    assert head == f"{AXIS}@2019-12-31"
    who = "2019-10-29 10:10, as-left, by Tomas Quillfeather, WO-19-0741"
    assert taken == f"Snapshot {identity}, {who}"
    assert note == "Note: gentler ramps for thin tiles, torque filter raised"
    assert plate.startswith("Nameplate: axis_name lift, ")


def test_an_older_state_is_told_with_the_values_it_had(works: Path) -> None:
    first, latest = (told(works, f"{AXIS}@{when}") for when in ("first", "latest"))
    assert "= 1,500 mm/s^2" in line_of(first, "0x6083:00")
    assert "= 1,200 mm/s^2" in line_of(latest, "0x6083:00")


# JSON.


@pytest.mark.parametrize("selector", SELECTORS)
def test_json_tells_every_parameter_as_git_holds_it(works: Path, git: Git, selector: str) -> None:
    document = found(works, selector)
    path = f"{document['snapshot']}:machines/{document['axis']}/parameters.yaml"
    held = YAML(typ="base").load(git("show", path, where=works))["parameters"]
    assert len(held) >= 120
    told_of = {one["code"]: one for one in document["parameters"]}
    assert told_of.keys() == held.keys()
    for code, one in told_of.items():
        assert one.keys() == KEYS
        for key in ("name", "role", "unit", "label"):
            assert one[key] == held[code].get(key), (code, key)
        for key in ("value", "raw"):
            is_same = one[key] == held[code][key]
            assert is_same or Decimal(one[key]) == Decimal(held[code][key]), (code, key)


def test_json_says_whose_set_it_is(works: Path) -> None:
    document = found(works, f"{AXIS}@2019-12-31")
    assert document.pop("snapshot").isalnum()
    assert document.pop("nameplate")["serial"] == "AL19-004431"
    assert document.pop("parameters")
    versions = document.pop("dictionary")
    assert versions["recorded"] == versions["today"]
    assert document == {
        "axis": AXIS,
        "taken_at": "2019-10-29T10:10:00+01:00",
        "taken_at_from": "given",
        "coverage": {
            "kind": "complete",
            "left_out": [],
            "defaults": [],
            "outside": [],
            "warnings": [],
        },
        "occasion": "as-left",
        "by": "Tomas Quillfeather <tomas.quillfeather@tileworks.example>",
        "work_order": "WO-19-0741",
        "note": "gentler ramps for thin tiles, torque filter raised",
        "addenda": [],
        "family": "alder",
        "reread": False,
    }


def test_json_tells_exact_text_group_access_and_size(works: Path) -> None:
    assert parameter(works, "0x2200:06", AXIS) == {
        "code": "0x2200:06",
        "name": "Velocity feed-forward",
        "role": "velocity_feed_forward",
        "group": "control",
        "value": "90",
        "unit": "percent",
        "label": None,
        "raw": "900",
        "access": "rw",
        "physical": {"value": "0.9", "unit": "1"},
        "stated": {"value": "0.9", "unit": "1"},
        "text": "90 %",
        "really": None,
    }


def test_access_is_that_of_the_dictionary(works: Path) -> None:
    access = {one["code"]: one["access"] for one in found(works, AXIS)["parameters"]}
    codes = ("0x1008:00", "0x603F:00", "0x6065:00")
    assert [access[code] for code in codes] == ["const", "ro", "rw"]


@pytest.mark.parametrize("units", ["si", "inch"])
def test_json_in_another_unit_differs_in_its_texts_alone(works: Path, units: str) -> None:
    plain, other = found(works, AXIS), found(works, AXIS, "--units", units)
    texts = [
        {one["code"]: one.pop("text") for one in document["parameters"]}
        for document in (plain, other)
    ]
    assert plain == other
    assert texts[0]["0x6065:00"] == "4 mm"
    assert texts[1]["0x6065:00"] == {"si": "0.004 m", "inch": "0.15748 in"}[units]


def test_json_tells_the_size_that_is_real(works: Path) -> None:
    window = parameter(works, "0x6065:00", f"{AXIS}@2025-11-17T12:00:00Z")
    assert window["physical"] == {"value": "0.00025", "unit": "m"}


def test_a_file_on_disk_is_shown_as_the_snapshot_that_it_became(works: Path) -> None:
    file = f"file:{EXPORTS / AXIS / '2019-05-15-commissioning.dcf'}"
    document, kept = found(works, file), found(works, f"{AXIS}@first")
    assert (document["axis"], document["snapshot"], document["by"]) == (file, None, None)
    assert (document["family"], document["nameplate"]) == (kept["family"], kept["nameplate"])
    assert document["parameters"] == kept["parameters"]


def moves_the_axis(drive: Drive) -> bool:
    """Whether no rate is in turns of the motor, as one in turns is beside a position in mm."""
    return drive.position not in LENGTHS or not {drive.velocity, drive.acceleration} & set(TURNS)


RATES = ("user_position", "user_velocity", "user_acceleration", "permille_rated_torque")


@settings(max_examples=15, deadline=None)
@given(drives().filter(moves_the_axis), machines.filter(lambda machine: machine.recorded))
def test_a_size_is_the_value_times_what_one_unit_moves_on_the_machine(
    drive: Drive, machine: Machine
) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        Vault.create(Path(folder) / "plant", "Works", BY) as vault,
    ):
        keep(vault, [(1, drive, machine)])
        there = {one.parameter.code: one for one in shown_parameters(resolve(vault, str(LIFT)))}
    assert there.keys() == {one.code for one in drive.parameters()}
    for code in drive.values:
        size, expected = there[code].reading.physical, measured(drive, machine, code)
        if there[code].parameter.unit in RATES:
            assert size is not None and expected is not None
            assert size.number() == expected[0], code
