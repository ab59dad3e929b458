"""What people type about a restore, in options or a form: fitted hardware, the as-left export."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.intake.visit import Visit
from vault.jobs.restore.request import PlanRequest, parse_as_left, parse_plan_request
from vault.model.errors import WrongUsage
from vault.model.quantities import Measure
from vault.model.replacement import Replacement
from vault.store.vault import Vault

LIFT = "m1/lift@golden"


def test_what_was_left_empty_is_as_it_was() -> None:
    empty = parse_plan_request(LIFT, drive="", firmware=" ", encoder_bits=" ", rated_torque="")
    assert empty == PlanRequest(LIFT)


def test_plates_are_read_and_a_number_alone_has_the_usual_unit() -> None:
    found = parse_plan_request(
        LIFT,
        drive=" ALD-5A ",
        firmware="2.43.1",
        encoder_bits="24 + 12",
        motor="M-7",
        rated_current="3.5",
        rated_torque="2300 mN*m",
        onto="larch",
        adapt=True,
    )
    fitted = Replacement(
        drive="ALD-5A",
        firmware="2.43.1",
        motor="M-7",
        encoder_single_turn_bits=24,
        encoder_multi_turn_bits=12,
        rated_current=Measure.parse("3.5 A"),
        rated_torque=Measure.parse("2300 mN*m"),
    )
    assert found == PlanRequest(LIFT, fitted, "larch", adapt=True)


def test_bits_of_one_turn_can_stand_alone() -> None:
    fitted = parse_plan_request(LIFT, encoder_bits="20").fitted
    assert fitted == Replacement(encoder_single_turn_bits=20)


def test_what_was_typed_goes_before_a_nameplate() -> None:
    plate = Replacement(firmware="2.43.1", encoder_single_turn_bits=24)
    fitted = parse_plan_request(LIFT, plate, encoder_bits="20").fitted
    assert fitted == Replacement(firmware="2.43.1", encoder_single_turn_bits=20)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("encoder_bits", "many", "encoder bits: 'many' is no such number"),
        ("encoder_bits", "24+x", "encoder bits: 'x'"),
        ("encoder_bits", "99", "encoder single turn bits: "),
        ("rated_current", "3 kg", "rated current: "),
        ("rated_torque", "much", "rated torque: "),
    ],
)
def test_a_plate_that_cannot_be_is_named(name: str, text: str, said: str) -> None:
    with pytest.raises(WrongUsage, match=f"^{said}") as caught:
        parse_plan_request(LIFT, **{name: text})  # type: ignore[arg-type]
    how = "encoder bits are written as 24+12, or 20" if name == "encoder_bits" else None
    assert caught.value.hint == how


@pytest.mark.parametrize(
    "move",
    [{"moved": " 10 mm=10.02 mm "}, {"commanded": "10 mm", "measured": " 10.02 mm"}],
)
def test_a_move_is_one_text_or_its_two_sides(move: dict[str, str]) -> None:
    visit = parse_as_left(BY, work_order="WO-7", channel="1", **move)
    assert visit == Visit(
        BY, occasion="as-left", work_order="WO-7", channel=1, moved="10 mm=10.02 mm"
    )


def test_without_a_move_there_is_none() -> None:
    assert parse_as_left(BY, moved=" ", commanded="", measured=None).moved is None


@pytest.mark.parametrize(
    ("move", "said"),
    [
        ({"commanded": "10 mm"}, "the field 'measured' is empty"),
        ({"measured": "10 mm"}, "the field 'commanded' is empty"),
        ({"moved": "10 mm"}, "COMMANDED=MEASURED"),
        ({"moved": "10 mm=1 kg"}, "sets"),
    ],
)
def test_half_a_move_is_none(move: dict[str, str], said: str) -> None:
    with pytest.raises(WrongUsage, match=said):
        parse_as_left(BY, **move)


def test_node_id_and_partial_of_an_as_left_export_are_taken() -> None:
    visit = parse_as_left(BY, node_id="0x10", partial=True)
    assert (visit.node_id, visit.partial) == (16, True)
    with pytest.raises(WrongUsage, match="no node id"):
        parse_as_left(BY, node_id="200")


def test_the_command_takes_them_too(
    vault: Vault,
    take: Take,
    export_text: Callable[..., str],
    cli: Callable[..., Outcome],
    tmp_path: Path,
) -> None:
    take(export_text())
    left = tmp_path / "left.csv"
    left.write_text(export_text() + "what is this\r\n")
    assert cli("restore", "check", "m1/lift", left).code == 4
    done = cli("restore", "check", "m1/lift", left, "--partial", "--node-id", "9", "--json")
    assert done.code == 0, done.stderr
    vault.refresh()
    latest = vault.latest(vault.axes()[0])
    assert latest is not None
    assert [line.text for line in latest.record.skipped] == ["what is this"]
    assert done.json["restored"]


def test_a_value_that_needs_the_node_id_says_how_to_give_it(
    vault: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    vault.close()
    (tmp_path / "lift.dcf").write_text(
        "[1400]\nParameterName=Sent\nDataType=0x0007\nAccessType=rw\nParameterValue=$NODEID+0x200\n"
    )
    done = cli("ingest", "lift.dcf", "--to", "m1/lift")
    assert done.code == 4
    assert "say the node id: --node-id N" in done.stderr
