"""A story of the example plant: a drive is restored, and the controller's task is another one.

Glaze line 2 was accepted with a motion task of 1 ms; since May 2024 it takes 4 ms. All invented.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from example_machines import alder_export, story_controllers
from example_machines.story_glaze_line_2 import AXES
from example_machines.visits import State
from tests.conftest import BY, Outcome
from tests.webui.visiting import Visit, add_people
from vault.jobs.baseline.golden import approve
from vault.jobs.demo.controllers import add_controllers
from vault.jobs.state.cross_checks import cross_checks, misfits
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
LIFT = "glaze-line-2/lift"
CHANGED = "the controller's program changed since the baseline: 1 setting"
LATE = "is 4 ms, the drive expects set points every 1 ms"


@pytest.fixture(scope="module")
def with_controllers(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example plant with its controllers' projects, both sides of the lift approved."""
    folder = tmp_path_factory.mktemp("controllers") / "plant"
    shutil.copytree(works, folder)
    add_controllers(folder, lambda done, wanted: None)
    with Vault.open(folder) as vault:
        approve(vault, LIFT, BY, "tried after the brake was changed")
        approve(vault, f"{LIFT}:controller@first", BY, "as accepted")
    return folder


@pytest.fixture
def lines(with_controllers: Path, tmp_path: Path) -> Iterator[Path]:
    """A copy of it."""
    shutil.copytree(with_controllers, tmp_path / "plant")
    return tmp_path / "plant"


def as_left(tmp_path: Path, taken_at: str = "2026-03-20T06:10:00+01:00") -> Path:
    """What the lift's drive holds after the restore: its approved numbers, a week later."""
    (story,) = (one for one in AXES if one.axis == "lift")
    approved = list(story.states())[-1]
    visit = replace(approved.visit, taken_at=taken_at, changes={}, live={})
    path = tmp_path / "as-left.dcf"
    path.write_bytes(
        alder_export.text(State(story, visit, approved.number, approved.settings, approved.fitted))
    )
    return path


def flat(text: str) -> str:
    """A text on one line."""
    return re.sub(r"\s+", " ", text)


def test_the_numbers_are_right_and_the_task_that_changed_is_told(
    lines: Path, cli: Cli, tmp_path: Path
) -> None:
    out = tmp_path / "lift-plan"
    planned = cli("--vault", lines, "restore", "plan", LIFT, "--out", out)
    assert CHANGED in flat(planned.stdout)
    assert LATE in flat(planned.stdout)
    sheet = flat((out / "sheet.html").read_text("utf-8"))
    assert "program changed since the baseline: 1 setting" in sheet
    assert "4,000 us" in sheet
    checked = cli("--vault", lines, "restore", "check", LIFT, as_left(tmp_path), "--by", BY,
                  "--even-so", "taken the week before", "--json").json  # fmt: skip
    assert checked["differences"] == []
    assert [one["rule"] for one in checked["misfits"]] == ["controller_interval"]
    assert any(CHANGED in warning for warning in checked["warnings"])


def test_the_page_of_the_verdict_tells_it_too(lines: Path, cli: Cli, tmp_path: Path) -> None:
    checked = cli("--vault", lines, "restore", "check", LIFT, as_left(tmp_path), "--by", BY,
                  "--json").json  # fmt: skip
    add_people(lines)
    app = create_app(lines)
    visit = Visit(app)
    visit.log_in("technician")
    page = visit.get(f"/restore/{LIFT}/checked/{checked['snapshot']}").get_data(as_text=True)
    assert "The controller's program does not fit the drive as restored" in flat(page)
    assert LATE in flat(page)
    assert CHANGED in unescape(flat(page))
    told = visit.get(f"/api/v1/restore/{LIFT}/checked/{checked['snapshot']}").get_json()
    assert [CHANGED in warning for warning in told["warnings"]] == [True]
    # Of an as-left state that is no more the latest one the present program says nothing.
    (tmp_path / "later").mkdir()
    later = as_left(tmp_path / "later", "2026-03-27T06:10:00+01:00")
    assert cli("--vault", lines, "ingest", later, "--to", LIFT, "--by", BY,
               "--taken-at", "now").code == 0  # fmt: skip
    page = visit.get(f"/restore/{LIFT}/checked/{checked['snapshot']}").get_data(as_text=True)
    assert CHANGED not in unescape(flat(page))
    app.extensions["work_queue"].wait(60)


# What the cross-checks find on the example plant is what its story tells, each once.


def test_what_the_check_finds_of_both_sides_is_what_the_story_tells(lines: Path) -> None:
    with Vault.open(lines) as vault:
        found = {
            str(axis): [one.rule for one in misfits(resolve(vault, str(axis)))[0]]
            for axis in vault.axes()
            if vault.latest(axis)
        }
    slow = ["controller_interval"]  # of the axes that run in the task that was slowed down
    assert {axis: rules for axis, rules in found.items() if rules} == {
        "glaze-line-1/lift": ["controller_homing_method"],
        "glaze-line-1/spray-carriage": ["controller_jog_speed"],
        "glaze-line-2/belt-feed": slow,
        "glaze-line-2/lift": slow,
        "glaze-line-2/spray-carriage": slow,
    }


@pytest.mark.parametrize("axis", story_controllers.AXES)
@pytest.mark.parametrize("line", ["glaze-line-1", "glaze-line-2"])
def test_the_program_as_it_was_accepted_fits_every_drive_as_it_is(
    lines: Path, line: str, axis: str
) -> None:
    address = Address(line, axis)
    with Vault.open(lines) as vault:
        accepted = resolve(vault, f"{address.controller}@first")
        assert cross_checks(resolve(vault, str(address)), accepted) == []
