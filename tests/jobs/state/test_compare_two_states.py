"""Comparing states of the example machines (invented): one axis over time, and two axes."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.conftest import BY, Take
from vault.cli import axisvault
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import set_axis
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

EXPORTS = Path(__file__).parents[3] / "example_machines" / "exports"


def told(works: Path, *words: str) -> str:
    result = CliRunner().invoke(axisvault, ["--vault", str(works), *words])
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


def test_what_a_new_encoder_shifts_is_folded_under_its_one_cause(works: Path) -> None:
    text = told(
        works, "compare", "glaze-line-1/lift@2019-12-31", "glaze-line-1/lift@2025-11-17T12:00:00Z"
    )
    assert text.count("## nameplate: ") == 1
    assert "really 0.0625 times what it was" in text  # 2^20 counted on an encoder of 2^24
    assert text.count("still") < 8
    assert "more; --all lists them" in text


def test_everything_lists_what_is_folded(works: Path) -> None:
    sides = ["glaze-line-1/lift@2019-12-31", "glaze-line-1/lift@2025-11-17T12:00:00Z"]
    assert told(works, "compare", *sides, "--all").count("in the drive, but really") > 8


def test_twins_are_named_by_what_tells_them_apart(works: Path) -> None:
    text = told(works, "compare", "glaze-line-1/lift@first", "glaze-line-2/lift")
    assert "Position gain: 30 1/s on glaze-line-1, 33 1/s on glaze-line-2" in text
    assert "became" not in text


def test_what_each_axis_has_for_itself_is_named_and_its_values_are_told_on_request(
    works: Path,
) -> None:
    sides = ["glaze-line-1/lift", "glaze-line-2/lift"]
    text = told(works, "compare", *sides)
    assert "not to be carried over: Encoder absolute offset; Home offset; Station alias;" in text
    assert "1013" not in text
    assert "Station alias: 1013 on glaze-line-1, 1023 on" in told(works, "compare", *sides, "--all")


def test_changes_of_which_the_same_is_said_stand_in_one_row(works: Path) -> None:
    text = told(works, "compare", "glaze-line-1/lift@first", "glaze-line-1/lift@2019-12-31")
    assert (
        "0x6083:00, 0x6084:00 Profile acceleration, Profile deceleration: 1,500 mm/s^2 became"
        in text
    )


def test_each_row_has_the_mark_of_its_class_and_the_classes_are_counted(works: Path) -> None:
    text = told(works, "compare", "glaze-line-1/lift@first", "glaze-line-1/lift@2019-12-31")
    assert text.count("~~ 0x") == 2
    assert "3 differ: 3 dynamics (~~); 197 are equal" in text


def test_one_axis_is_told_over_time(works: Path) -> None:
    text = told(works, "compare", "glaze-line-1/belt-feed@first", "glaze-line-1/belt-feed")
    assert "became" in text
    assert " on glaze-line-1" not in text


def test_a_cabinet_setting_is_told_whatever_parameters_changed_alike(
    vault: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path
) -> None:
    """A switch from 8 to 9 beside a parameter from 8 to 9, and off to on beside 0 to 1."""
    cabinets = ("{dip_switch: 8, bus_termination: false}", "{dip_switch: 9, bus_termination: true}")
    for number, (axis, cabinet) in enumerate(zip(("belt", "lift"), cabinets, strict=True)):
        (tmp_path / "axis.yaml").write_text(f"schema: axisvault/axis/1\ncabinet: {cabinet}\n")
        set_axis(vault, Address("m1", axis), tmp_path / "axis.yaml", BY)
        take(
            export_text(settings=7 + number, way=str(number)),
            to=f"m1/{axis}",
            override_reason="a test",
        )
    compared = compare_states(resolve(vault, "m1/belt"), resolve(vault, "m1/lift"))
    raw = {(c.left.value, c.right.value) for c in compared.comparison.changes if c.left and c.right}
    assert {(8, 9), (0, 1)} <= raw
    assert {around.path for around in compared.comparison.surroundings} == {
        "cabinet.dip_switch", "cabinet.bus_termination",
    }  # fmt: skip


def test_a_gear_that_was_changed_in_machine_and_set_alike_is_one_thing(
    plant: Vault, tmp_path: Path
) -> None:
    """The lift of the example, 2 : 1; an export of its drive with 1 : 1, and the record with it."""
    address = Address("glaze-line-1", "lift")
    text = (plant.read(f"machines/{address}/axis.yaml") or b"").decode()
    assert text.count("motor: 2, output: 1") == 1
    (tmp_path / "axis.yaml").write_text(text.replace("motor: 2, output: 1", "motor: 1, output: 1"))
    set_axis(plant, address, tmp_path / "axis.yaml", BY)
    export = EXPORTS / "glaze-line-1" / "lift" / "2025-11-18-as-left.dcf"
    before, start, rest = export.read_text().partition("[6091sub1]")
    geared = before + start + rest.replace("ParameterValue=2", "ParameterValue=1", 1)
    (tmp_path / "lift.dcf").write_text(geared)
    visit = parse_visit(by=BY, taken_at="2025-12-01T08:00:00+00:00")
    ingest(plant, tmp_path / "lift.dcf", address, visit)
    sides = (resolve(plant, f"{address}{when}") for when in ("@2025-11-30", ""))
    rows = {row.path: row for row in compare_states(*sides).comparison.surroundings}
    gearbox = rows["mechanics.gearbox.motor"]
    assert "From 866.7 mm/s a quick stop takes up to 104.3 mm" in gearbox.explanation


def found(works: Path, *words: str) -> dict[str, Any]:
    result = CliRunner().invoke(axisvault, ["--vault", str(works), *words, "--json"])
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.output)
    return document


def by_code(document: dict[str, Any], code: str) -> dict[str, Any]:
    (change,) = (c for c in document["changes"] if c["code"] == code)
    return dict(change)


def figures(change: dict[str, Any]) -> dict[str, float]:
    return {f["quantity"]: float(f["value"]) for f in change["findings"]}


_BELT = ("compare", "glaze-line-1/belt-feed@~3", "glaze-line-1/belt-feed@~2")


def test_the_widened_window_is_a_hazard_and_held_against_the_lag(works: Path) -> None:
    change = by_code(found(works, *_BELT), "0x6065:00")
    assert change["consequence"] == "hazard"
    assert figures(change)["following error window"] == pytest.approx(0.020)
    # The profile does not act in mode 8. 2 m/s, Kv 40 1/s, 98 % fed forward: 0.02 x 2 / 40 = 1 mm.
    assert figures(change)["steady lag at maximum speed"] == pytest.approx(0.001)


def test_the_raised_torque_limit_says_its_thrust(works: Path) -> None:
    change = by_code(found(works, *_BELT), "0x6072:00")
    assert change["consequence"] == "dynamics"  # no record says that it protects anybody
    assert figures(change)["limit"] == pytest.approx(13.36, rel=1e-3)
    assert figures(change)["thrust"] == pytest.approx(986, rel=1e-3)


def test_the_input_taken_out_of_use_is_a_hazard(works: Path) -> None:
    document = found(works, "compare", "glaze-line-1/turntable@~3", "glaze-line-1/turntable@~2")
    assert by_code(document, "in/4")["consequence"] == "hazard"


def test_the_new_user_unit_is_one_cause_and_nothing_else(works: Path) -> None:
    document = found(
        works, "compare", "glaze-line-1/spray-carriage@~4", "glaze-line-1/spray-carriage@~3"
    )
    assert document["changes"] == []
    assert document["surroundings"] == []
    assert [(c["cause"], c["shifts"]) for c in document["causes"]] == [("user_unit", False)]


def test_a_fault_ranks_what_can_explain_it(works: Path) -> None:
    # The resistor was taken out of use on 2022-10-19; F-11 is the family's DC-link over-voltage.
    document = found(
        works, "compare", "kiln-loader/hoist@2022-01-01", "kiln-loader/hoist@2022-12-31",
        "--fault", "F-11",
    )  # fmt: skip
    assert document["fault"] == {"code": "F-11", "name": "DC link too high", "standard": "0x3210"}
    assert document["suspects"][0]["code"] == "pwr-610"
    assert document["suspects"][0]["score"] == "1.000"


def test_an_unknown_fault_code_is_wrong_usage(works: Path) -> None:
    words = ["--vault", str(works), *_BELT, "--fault", "F-99"]
    result = CliRunner().invoke(axisvault, words)
    assert isinstance(result.exception, WrongUsage)
    assert "F-99" in str(result.exception)


def test_what_one_family_has_and_nobody_set_is_no_hazard(works: Path) -> None:
    document = found(works, "compare", "kiln-loader/hoist", "glaze-line-1/lift")
    untouched = by_code(document, "0x2301:05")  # input 5 inverted: No, as the drive comes
    assert (untouched["kind"], untouched["consequence"]) == ("only_right", "record")
    set_up = by_code(document, "0x2310:03")  # output 3 releases the brake, on the hoist output 2
    assert (set_up["kind"], set_up["consequence"]) == ("only_right", "travel")


def test_default_and_range_stand_in_the_unit_of_the_values(works: Path) -> None:
    text = told(works, "compare", "kiln-loader/hoist", "glaze-line-1/lift")
    # Invented: 1000 and 65535 user units of 0.001 mm/s.
    assert "1 mm/s on glaze-line-1/lift. Default: 1 mm/s." in text
    assert "user unit" not in text


def test_a_unit_code_is_told_with_its_unit(works: Path) -> None:
    text = told(works, "compare", "kiln-loader/hoist", "glaze-line-1/lift")
    assert "SI unit of velocity: only on glaze-line-1/lift, 0xFA010300 (µm/s)" in text
