"""Every snapshot of the tile works goes back into a drive as delivered: nothing is lost.

The drive is a test double that knows what its (invented) tool knows, and reads load files with the
standard library.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from example_machines.visits import AxisStory
from example_machines.write_exports import AXES
from tests.simulated_drive import SimulatedDrive
from tests.sweeps import some_of
from vault.jobs.restore.plan import make_plan
from vault.jobs.restore.request import PlanRequest
from vault.jobs.restore.verdict import hold_against
from vault.jobs.state import selectors
from vault.store.vault import Vault

STORIES = {f"{one.machine}/{one.axis}": one for one in AXES}


@pytest.fixture(scope="module")
def vault(works: Path) -> Iterator[Vault]:
    with Vault.open(works) as opened:
        yield opened


def left_by(
    drive: SimulatedDrive, vault: Vault, story: AxisStory, tmp_path: Path
) -> selectors.State:
    """The state that a drive exports."""
    path = tmp_path / "as-left"
    path.write_bytes(drive.export("2026-11-20T08:00:00+01:00"))
    return selectors.resolve(vault, f"file:{path}", family=story.family, channel=story.channel)


@pytest.mark.parametrize("name", STORIES)
def test_a_snapshot_loaded_into_a_drive_as_delivered_gives_the_target(
    name: str, vault: Vault, tmp_path: Path
) -> None:
    story = STORIES[name]
    for state in some_of(tuple(story.states())):
        taken = datetime.fromisoformat(state.visit.taken_at) + timedelta(seconds=1)
        plan = make_plan(vault, PlanRequest(f"{name}@{taken.isoformat()}"))
        assert plan.load_file is not None
        drive = SimulatedDrive.like(state)
        delivered = left_by(drive, vault, story, tmp_path)
        assert len(hold_against(plan.target, delivered).differences) > 20
        assert drive.load(plan.load_file.content) == []
        drive.restart()
        drive.validate_safety(state.settings)
        left = left_by(drive, vault, story, tmp_path)
        rest = hold_against(plan.target, left, plan.adapted)
        said = [(r.change.shown.code, r.change.explanation) for r in rest.differences + rest.safety]
        assert said == []
        assert {i.reason for i in rest.ignored} <= {
            "the drive sets it itself", "a live value", "it belongs to the hardware",
        }  # fmt: skip
