"""What `axisvault demo` prints: three jobs with their answers, and a drive that nobody knew."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from tests.conftest import Outcome


def test_the_demo_tells_each_job_the_unknown_drive_and_how_to_open_it(
    tmp_path: Path, cli: Callable[..., Outcome]
) -> None:
    """In one test, for building it takes longest of all."""
    told = cli("demo", tmp_path / "plant").stdout
    tells_the_jobs(told)
    last = told.splitlines()[-1]
    assert f"axisvault --vault {tmp_path / 'plant'} serve; log in as demo with the password" in last
    tells_the_unknown_drive(told)
    again = cli("demo", tmp_path / "plant").stdout.splitlines()[-1]
    assert "axisvault user password demo" in again
    counted = cli("demo", tmp_path / "plant", "--json").json  # nothing is added twice
    assert counted["snapshots"] == 82 + 6 + 30  # 3 projects a line, each of 5 axes
    assert counted["axes"] == 14 + 2


def tells_the_jobs(told: str) -> None:
    jobs = re.findall(r"^(\d)\. (.*?)\n\n", told, re.MULTILINE | re.DOTALL)
    assert [number for number, _ in jobs] == ["1", "2", "3"]
    for _, job in jobs:
        assert "   $ axisvault " in job
        assert "   Answer: " in job
    assert "can explain it" in jobs[2][1]


def tells_the_unknown_drive(told: str) -> None:
    _, _, step = told.partition("A drive that nobody had a dictionary for")
    story, _, compared = step.partition("$ axisvault compare palletiser/mast@previous")
    assert "sheet 'Parameterliste', 79 parameters, 0 lines refused" in story
    assert "to be looked at: recognise: 'drive: HZL-2M'" in story
    assert "asked: 55 roles whose change can be a hazard" in story
    assert "said by Henrike Solvang: 52 are right, 3 are not:" in story
    assert "anw.pumpe Stromgrenze Vakuumpumpe: not max_current" in story
    assert "for 45 ms nothing holds the load" in compared
