"""The short form of the soak, and that it would notice what it looks for."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from http.client import IncompleteRead
from pathlib import Path
from random import Random
from typing import Any
from xml.etree import ElementTree

import pytest

from tests.conftest import ROOT
from tests.soak import asking, judging
from tests.soak.campaign import Pace, Soak
from tests.soak.copies import Copy, Disk, Plant
from tests.soak.dropping import Dropper
from tests.soak.exports import Exports, Put
from tests.soak.picture import draw
from tests.soak.processes import Life, Sample, Service, run
from tests.soak.report import Done, Report
from vault.jobs.faults.log import faults_of
from vault.model.names import Address
from vault.store.vault import Vault

SHORT = """
import sys, tempfile
from pathlib import Path
from tests.soak.campaign import Pace, soak
pace = Pace(troubles=0.5, viewers=1, most_acts=10)
report = soak(300, 1, Path(sys.argv[1]).resolve(), lambda text: None, pace)
print("\\n".join(report.lines()))
sys.exit(1 if report.problems else 0)
"""
LIFT = Address("m1", "lift")
Take = Callable[..., Any]
Export = Callable[..., str]


def test_three_copies_agree_after_everything_at_once(clean: dict[str, str], tmp_path: Path) -> None:
    # In a process of its own: it forks, and threads of other tests must not be in the way.
    done = subprocess.run(
        [sys.executable, "-c", SHORT, str(tmp_path)], env=clean, cwd=ROOT,
        capture_output=True, text=True, check=False, timeout=900,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert ", 0 found." in done.stdout


@pytest.fixture
def soaked(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Soak:
    """A soak that is over: three copies with one export, which was taken in by hand."""
    exports = Exports(Random(1))
    content = export_text("1").encode()
    put = exports.noted(Put("1.csv", "m1/lift", "good", content, must=True))
    take(content.decode(), "2026-03-01")
    copies = []
    for name in "abc":
        copies.append(Copy(name, Disk(tmp_path / name, own=False), tmp_path / f"clock-{name}"))
        copies[-1].clock.write_text("0")
        copies[-1].drop.mkdir()
        Vault.copy(copies[-1].plant, str(vault.repository.path)).close()
    made = Plant(tmp_path, tuple(copies), exports, has_disks=False)
    return Soak(made, Report(1, 0), lambda text: None, Pace(), kept={put.digest: put})


def looked(soaked: Soak) -> list[str]:
    dropper = Dropper(soaked.plant, Random(1))
    return [text for _, text in (*judging._agreement(soaked), *judging._exports(soaked, dropper))]


def test_copies_that_are_the_same_are_right(soaked: Soak) -> None:
    assert looked(soaked) == []


def test_a_copy_that_tells_otherwise_is_noticed(
    soaked: Soak, take: Take, export_text: Export
) -> None:
    with Vault.open(soaked.plant.copies[1].plant) as copy:
        take(export_text("2"), "2026-03-02", into=copy)
    found = looked(soaked)
    assert any(text.startswith("b tells otherwise of the logbook of m1/lift") for text in found)
    assert any(text.startswith("b has 1 snapshots of bytes that nobody put") for text in found)
    assert not any(text.startswith(("a ", "c ")) for text in found)


def test_an_export_that_is_lost_or_there_twice_is_noticed(
    soaked: Soak, take: Take, export_text: Export
) -> None:
    gone = soaked.plant.exports.noted(Put("2.csv", "m1/lift", "good", b"2", must=True))
    soaked.kept[gone.digest] = gone
    with Vault.open(soaked.plant.copies[2].plant) as copy:
        take(export_text("1"), "2026-03-02", into=copy)
    found = looked(soaked)
    assert "2.csv, taken in by hand (good) is 0 times in a" in found
    assert "1.csv, taken in by hand (good) is 2 times in c" in found


def test_what_hangs_is_told_with_where_it_is(soaked: Soak) -> None:
    copy = soaked.plant.copies[0]
    ended = run(copy, "watch", str(copy.drop), longest=4)
    assert ended.code is None
    assert "vault watch" in ended.hung
    assert "watcher.py" in ended.hung, "the stack of its thread"


def life(*memory: int, files: int = 8) -> Life:
    grown = range(len(memory))
    return Life("watch a 1", [Sample(10.0 * n, memory[n], files + 9 * n, 4, 0) for n in grown])


@pytest.mark.parametrize(("last", "files"), [(100_000, False), (400_000, True)])
def test_a_process_that_holds_more_and_more_is_noticed(last: int, files: bool) -> None:
    lived = life(*(100_000 for _ in range(12)), *(last for _ in range(8)))
    service = Service(None, "watch a", (), Path(), lives=[lived])  # type: ignore[arg-type]
    told = [text for _, text in judging._growth([service])]
    assert any("KiB" in text for text in told) is files
    assert any("open files" in text for text in told)


def test_a_clock_that_steps_is_seen_by_the_program(soaked: Soak) -> None:
    copy = soaked.plant.copies[0]
    copy.step_clock(-86_400 * 365 * 20)
    add = ("fault", "add", "m1/lift", "--code", "8611h", "--json")
    ended = run(copy, *add)
    assert ended.code == 0, ended.complaint
    with Vault.open(copy.plant) as opened:
        (fault,) = faults_of(opened, LIFT)
    assert fault.at.year < 2010


def test_a_picture_has_a_row_for_each_kind_of_act_and_a_line_for_each_life() -> None:
    """What was killed took no time of its own, and a process that was is drawn by its lives."""
    report = Report(1, 2.0, lives=[life(1024, 2048), life(512)])
    report.did(Done(1.0, "note add", "a", 0.5, "ended"))
    report.did(Done(2.0, "note add", "a", 0.1, "killed"))
    report.did(Done(3.0, "export", "a", 0.1, "killed"))
    drawn = draw(report)
    assert "class=" not in drawn, "a file of its own has no stylesheet"
    paths = ElementTree.fromstring(drawn).findall(".//{*}path")
    lines = [one for one in paths if one.get("stroke-width") == "2"]
    key, *lives = [one.get("d", "") for one in lines]
    assert key
    assert [one.count("L") for one in lives] == [1, 0]
    words = [one.text for one in ElementTree.fromstring(drawn).findall(".//{*}text")]
    assert "note add" in words
    assert "export" not in words


def test_a_viewer_that_dies_within_a_page_has_given_no_answer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def dies(*_: object, **__: object) -> None:
        raise IncompleteRead(b"<html>", 2819)

    monkeypatch.setattr(asking.urllib.request, "urlopen", dies)
    _, answer = asking.ask("http://127.0.0.1:1/", Random(1))
    assert answer.status is None


def test_problems_of_a_kind_are_told_a_few_times() -> None:
    report = Report(7, 1.0)
    for number in range(9):
        report.wrong("verify", str(number))
    told = list(report.lines())
    assert told[-1] == "verify: 4 more"
    assert "With --seed 7:" in told
