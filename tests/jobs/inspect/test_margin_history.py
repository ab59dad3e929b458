"""Margins over time: each snapshot at which one was another than before; the works are invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from tests.conftest import Outcome
from tests.jobs.inspect.test_margins import set_record
from vault.jobs.inspect.margin_history import margin_history
from vault.jobs.inspect.margins import axis_margins
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
LIFT, HOIST = Address("glaze-line-1", "lift"), Address("kiln-loader", "hoist")


def test_a_step_is_what_the_margins_of_its_snapshot_are(plant: Vault) -> None:
    """Held against the margins of every snapshot, which are asked for one by one."""
    timelines = {each.name: each for each in margin_history(plant, HOIST)}
    then = {
        snapshot.id: {
            row.margin.name: row.margin.ratio
            for row in axis_margins(resolve(plant, f"{HOIST}@{snapshot.id}")).rows
        }
        for snapshot in plant.index.snapshots(HOIST)
    }
    assert {name for ratios in then.values() for name in ratios} == timelines.keys()
    for name, timeline in timelines.items():
        steps = {step.snapshot.id: step.margin for step in timeline.steps}
        ratio = None
        for snapshot, ratios in then.items():
            if snapshot in steps:
                margin = steps[snapshot]
                ratio = margin.ratio if margin is not None else None
            assert ratios.get(name) == pytest.approx(ratio), f"{name} at {snapshot}"


def test_only_what_moved_is_a_step(plant: Vault) -> None:
    for timeline in margin_history(plant, LIFT):
        ratios = [step.margin.ratio if step.margin else None for step in timeline.steps]
        assert [one for one, other in pairwise(ratios) if one == other] == []
        told = [step.margin.ratio if step.margin else None for step in timeline.told]
        assert timeline.has_moved is (len(told) > 1)
        hardly = [a for a, b in pairwise(told) if a and b and 0.99 < a / b < 1.01]
        assert hardly == []


def test_what_hardly_moved_is_not_said_to_have_moved(plant: Vault, cli: Cli) -> None:
    """A torque filter of a tenth of a millisecond more takes less than a hundredth of it."""
    (phase,) = margin_history(plant, LIFT, "position_phase")
    assert (len(phase.steps), len(phase.told), phase.has_moved) == (2, 1, False)
    assert "position_phase" not in cli("margins", LIFT, "--over-time").stdout
    assert cli("margins", LIFT, "--over-time", "--all").stdout.count("ok up to 4.36  from") == 2


def test_a_drive_that_counted_wrongly_is_seen_and_put_right(plant: Vault, cli: Cli) -> None:
    """For a day in 2025 the lift's drive took a turn of 2^24 increments for one of 2^20."""
    found = cli("margins", LIFT, "--over-time", "--json").json
    assert found["axis"] == str(LIFT)
    (speed,) = (one for one in found["margins"] if one["name"] == "machine_speed")
    told = [(step["taken_at"][:10], float(step["ratio"])) for step in speed["steps"]]
    assert told == [("2019-05-15", 1.0), ("2025-11-17", 16.0), ("2025-11-18", 1.0)]


def test_the_machine_is_taken_as_it_was_recorded_and_for_the_latest_as_it_is(
    plant: Vault, tmp_path: Path
) -> None:
    """Built for 800 mm/s, by the record, when its exports came in; for 1600 mm/s since then."""
    change = ("max_speed: 800 mm/s", "max_speed: 1600 mm/s")
    set_record(plant, tmp_path, str(HOIST), change)
    (speed,) = margin_history(plant, HOIST, "machine_speed")
    ratios = [step.margin.ratio if step.margin else None for step in speed.steps]
    assert ratios == pytest.approx([1.0, 2.0])
    assert speed.steps[-1].snapshot.id == speed.last.id


def test_a_margin_that_the_axis_has_not_for_a_while_is_told_as_such(plant: Vault, cli: Cli) -> None:
    """The hoist's braking resistor was switched off, and on again."""
    out = cli("margins", HOIST, "--over-time", "--margin", "trip_above_chopper").stdout
    lines = [line.split("  from ")[0] for line in out.splitlines() if "  from " in line]
    assert lines == ["ok 1.06", "?? no such margin", "ok 1.06"]


def test_what_never_moved_is_counted_and_told_on_request(plant: Vault, cli: Cli) -> None:
    out = cli("margins", HOIST, "--over-time").stdout
    (rest,) = re.findall(
        r"^(\d+) margins never moved, or hardly; --all lists them\.$", out, re.MULTILINE
    )
    every = cli("margins", HOIST, "--over-time", "--all").stdout
    heads = re.compile(r"^(\w+): \w", re.MULTILINE)
    assert len(heads.findall(every)) == len(heads.findall(out)) + int(rest)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((f"{LIFT}@first", "--over-time"), "about a whole axis"),
        ((LIFT, "--over-time", "--margin", "stop_rom"), "did you mean stop_room?"),
        (("glaze-line-1/none", "--over-time"), "none"),
    ],
)
def test_a_question_without_an_answer_says_why(
    words: tuple[object, ...], said: str, plant: Vault, cli: Cli
) -> None:
    done = cli("margins", *words)
    assert done.code == 2
    assert said in done.stderr


def test_the_page_has_a_picture_for_each_that_moved(plant: Vault) -> None:
    client = create_app(plant.repository.path, is_local=True).test_client()
    text = client.get(f"/axis/{LIFT}/margins/over-time").text
    moved = [each for each in margin_history(plant, LIFT) if each.has_moved]
    assert text.count("<svg") == len(moved) > 3
    (told,) = re.findall(r'<desc id="steps-machine_speed-d">(.*?)</desc>', text)
    assert told == "2019-05-15 1; 2025-11-17 16; 2025-11-18 1; last seen 2025-11-18"
    still = text[text.index("What never moved") :]
    assert "The delay that the motor holds" in still
    assert "/margins/over-time" in client.get(f"/axis/{LIFT}/margins").text
