"""The short form of the load, and what the long one judges by. The family hazel is invented."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from threading import Event
from typing import Any
from xml.etree import ElementTree

import numpy
import pytest

from tests.load import proof
from tests.load.browser import Answer
from tests.load.campaign import Plan, Report, run
from tests.load.pages import KINDS, fault_of
from tests.load.people import WAYS, Pace
from tests.load.plot import draw
from tests.load.report import as_json, latencies, lines, percentile
from tests.load.samples import CAN_SAMPLE, Sample, growth
from tests.load.served import deepest_queue, log_faults
from tests.load.tally import Answered, Tally, Written
from vault.store.vault import Vault

QUIET = Sample(0.0, 100_000_000, 20_000_000, 0.0, 20, 50, 0, 9, 16)


@pytest.fixture(scope="module")
def short(tmp_path_factory: pytest.TempPathFactory) -> Report:
    """Two readers who see each kind of page, and a writer of each way with two exports."""
    plan = Plan(
        axes=4, readers=2, writers=2, seconds=1.5, read_every=0.2, write_every=1.0, idle_runs=1,
        least_pages=len(KINDS), least_writes=2,
    )  # fmt: skip
    return run(tmp_path_factory.mktemp("load"), plan)


def test_every_page_is_answered_and_no_export_is_lost(short: Report) -> None:
    assert short.problems == [], "\n".join(lines(short))
    assert short.kept is None
    answered = Counter(one.kind for one in short.answers)
    assert min(answered[kind] for kind in KINDS) >= 2
    stored = [one for one in short.writes if one.snapshot is not None]
    assert Counter(one.way for one in stored) >= Counter(dict.fromkeys(WAYS, 2))
    assert len({(one.axis, one.digest) for one in stored}) == len(stored)
    assert len(short.samples) > 2 or not CAN_SAMPLE


def test_a_run_is_told_as_text_document_and_picture(short: Report) -> None:
    text = "\n".join(lines(short))
    assert "No error; each export is in the vault once; verify finds nothing." in text
    assert all(f"| {kind} | " in text for kind in KINDS)
    kept = json.loads(json.dumps(as_json(short)))
    assert len(kept["answers"]) == len(short.answers)
    picture = draw(short)
    tree = ElementTree.fromstring(picture)
    assert tree.tag == "{http://www.w3.org/2000/svg}svg"
    assert "class=" not in picture, "a file of its own has no stylesheet"


def test_a_run_that_went_wrong_says_so() -> None:
    report = Report(Plan(), problems=["lost: m1/lift"], kept=Path("kept"))
    text = "\n".join(lines(report))
    assert "1 wrong:\n- lost: m1/lift\nVault and log are kept in kept." in text
    assert "No error" not in text


def test_a_plan_that_the_axes_do_not_suffice_for_is_refused(tmp_path: Path) -> None:
    plan = Plan(axes=2, writers=8, seconds=600.0)
    with pytest.raises(ValueError, match="168 exports are too many for 2 axes: at most 7 of each"):
        run(tmp_path, plan)
    assert Plan().is_too_much is None


# What is lost, and what is there twice


def written(axis: str, content: str, snapshot: str | None) -> Written:
    return Written(axis, sha256(content.encode()).hexdigest(), WAYS[0], 0.0, 1.0, snapshot)


def test_each_write_is_looked_up(
    vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    place = vault.repository.path
    take(export_text("1"), to="m1/lift")
    before = proof.snapshots(place)
    stored = take(export_text("2"), to="m1/lift").snapshot.id
    good = written("m1/lift", export_text("2"), stored)
    assert list(proof.problems_of_writes(before, place, [good])) == []
    lost = written("m1/lift", export_text("3"), "0123456789")
    assert list(proof.problems_of_writes(before, place, [good, lost])) == [
        "lost: m1/lift, stored by browser as 0123456789"
    ]
    untold = written("m1/lift", export_text("4"), None)  # it failed, and is not there: no more
    assert list(proof.problems_of_writes(before, place, [good, untold])) == []
    other = replace(good, snapshot="0123456789")
    assert list(proof.problems_of_writes(before, place, [other])) == [
        "m1/lift has the export, but no snapshot 0123456789"
    ]
    assert [one.split(":")[0] for one in proof.problems_of_writes(before, place, [])] == [
        "nobody wrote it"
    ]
    there = before + Counter({("m1/belt", "0" * 64): 1})
    assert list(proof.problems_of_writes(there, place, [good])) == [
        "lost: m1/belt, 0000000000, which was there before"
    ]


def test_an_export_that_is_there_twice_is_told(
    vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    before = proof.snapshots(vault.repository.path)
    for day in ("01", "02"):
        take(export_text("2"), to="m1/lift", taken_at=f"2026-03-{day}T08:00:00+00:00")
    once = written("m1/lift", export_text("2"), take(export_text("3"), to="m1/lift").snapshot.id)
    found = list(proof.problems_of_writes(before, vault.repository.path, [once]))
    assert found[0].startswith("2 times in the vault: m1/lift, ")


# What grows


def sampled(*memory: float) -> list[Sample]:
    """A minute between samples; memory in megabytes."""
    return [replace(QUIET, at=60.0 * at, memory=int(one * 1e6)) for at, one in enumerate(memory)]


@pytest.mark.parametrize(
    ("memory", "is_too_much"),
    [
        ((50, 80, 100, 120, 120, 120, 120, 120, 121, 120), False),  # it fills up first
        ((100, 100, 100, 100, 102, 104, 106, 107, 108, 109), False),  # 9 MB, of 10
        ((100, 100, 100, 100, 102, 104, 106, 108, 110, 112), True),
        ((200, 200, 100, 100, 100, 100, 100, 100, 100, 100), False),
    ],
)
def test_growth_is_what_comes_after_the_first_third(
    memory: tuple[float, ...], is_too_much: bool
) -> None:
    found = {one.name: one for one in growth(sampled(*memory))}
    assert found["memory of the viewer"].is_too_much == is_too_much
    assert not any(one.is_too_much for name, one in found.items() if "viewer" not in name)


def test_files_that_are_not_closed_are_growth() -> None:
    leaking = [replace(QUIET, at=30.0 * at, files=20 + 2 * at) for at in range(20)]
    assert [one.name for one in growth(leaking) if one.is_too_much] == ["open files"]
    report = Report(Plan(seconds=570.0), samples=leaking)
    assert report.is_judged
    assert not replace(report, plan=Plan(seconds=60.0)).is_judged


# Figures


def test_a_percentile_is_one_of_the_values() -> None:
    values = [float(3 * n % 101) for n in range(101)]
    for share in (0.5, 0.9, 0.99, 1.0):
        # numpy's inverted_cdf is the nearest rank.
        assert percentile(values, share) == numpy.quantile(values, share, method="inverted_cdf")
    assert percentile([7.0], 0.99) == 7.0


def test_latencies_are_told_by_kind_and_for_all() -> None:
    report = Report(Plan(), idle={"site": [0.1, 0.3, 0.2], "axis": [0.4]})
    report.answers = [Answered("site", 1.0, 0.2), Answered("site", 2.0, 0.6)]
    rows = {one.kind: one for one in latencies(report)}
    assert (rows["site"].count, rows["site"].idle, rows["site"].median) == (2, 0.2, 0.4)
    assert rows["site"].slowest == 0.6
    assert (rows["axis"].count, rows["axis"].idle, rows["axis"].median) == (0, 0.4, None)
    assert rows["all pages"].count == 2


def test_who_is_late_asks_at_once_and_is_counted() -> None:
    tally = Tally()
    done = []
    for turn in Pace(every=0.01, begin=0.0, end=0.0, stop=Event(), least=3).turns(tally):
        done.append(turn)
        tally.begun -= 1.0  # as if the answer had taken a second
    assert done == [0, 1, 2]
    assert tally.late == 3


def test_whoever_is_stopped_does_nothing_more() -> None:
    stop = Event()
    stop.set()
    assert list(Pace(every=0.01, begin=0.0, end=9.0, stop=stop).turns(Tally())) == []


@pytest.mark.parametrize(
    ("status", "content", "kind", "fault"),
    [
        (200, b"<html></html>\n", "text/html", None),
        (200, b"<html>", "text/html", "a page without its end"),
        (500, b"<html></html>", "text/html", "500 instead of 200"),
        (303, b"", "text/html", "303 instead of 200"),
        (200, b"{}", "application/json", None),
        (200, b'{"a":', "application/json", "no JSON"),
        (200, b"ok\n", "text/plain", None),
    ],
)
def test_an_answer_must_be_whole(status: int, content: bytes, kind: str, fault: str | None) -> None:
    assert fault_of(Answer("/", status, content, kind, 0.1)) == fault


def test_what_the_log_says_beside_answers_is_a_fault(tmp_path: Path) -> None:
    log = tmp_path / "log"
    log.write_text(
        "127.0.0.1 GET / 200 12 ms\n"
        "[2026-11-29 10:00:00] WARNING in task: Task queue depth is 12\n"
        "[2026-11-29 10:00:00] WARNING in task: Task queue depth is 7\n"
        "127.0.0.1 GET /axis/m1/lift 500 3 ms\n"
        "Traceback (most recent call last):\n"
        "Traceback (most recent call last):\n"
    )
    assert log_faults(log) == ["the viewer's log, 2 times: Traceback (most recent call last):"]
    assert deepest_queue(log) == 12
