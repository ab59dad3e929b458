"""A run: the idle pages first, then everybody at once, then what came of it."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from random import Random
from threading import Event, Thread
from time import monotonic, sleep

from tests.load import proof
from tests.load.browser import Browser, NoAnswer
from tests.load.fleet import NewExports, add_writers, axes_of, fleet
from tests.load.pages import IDLE, KINDS, choices, fault_of
from tests.load.people import WAYS, Pace, Writer, read
from tests.load.samples import CAN_SAMPLE, SHORTEST, Growth, Sample, growth, sampled
from tests.load.served import Served, deepest_queue, log_faults, served
from tests.load.tally import Answered, Tally, Written
from vault.model.names import Address

_LOOK_EVERY = 2.0
_TELL_EVERY = 10.0
_MOST_NEW = 7  # new exports of one axis: one more could lie in the future
_AT_REST = 10.0  # seconds that connections may take to be closed when nobody reads any more
_LEFT = 4  # connections that may be left then
_STRAGGLERS = 400.0  # seconds that whoever is at something gets to end it
NOTHING = "nothing"
"""Kind of an address without a page behind it."""
Told = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Plan:
    """How many, how often and how long; what is by chance goes by the seed.

    Everybody reads or writes at least so often, however late that becomes.
    """

    axes: int = 1000
    readers: int = 200
    writers: int = 8
    seconds: float = 600.0
    read_every: float = 10.0
    write_every: float = 30.0
    idle_runs: int = 9
    least_pages: int = 0
    least_writes: int = 0
    seed: int = 1

    @property
    def most_writes(self) -> int:
        """How many exports are taken in where nobody is late."""
        return self.writers * (int(self.seconds / self.write_every) + 1)

    @property
    def is_too_much(self) -> str | None:
        """Why the axes do not suffice for it."""
        if self.most_writes <= self.axes * _MOST_NEW:
            return None
        return (
            f"{self.most_writes:,} exports are too many for {self.axes:,} axes: at most "
            f"{_MOST_NEW} of each"
        )


@dataclass(slots=True)
class Report:
    """What came of a run; `idle` are seconds by kind while nobody else asked.

    `work` is the seconds of the run by the clock; `busy` is the machine's load before it, of so
    many processors.
    """

    plan: Plan
    idle: dict[str, list[float]] = field(default_factory=dict)
    answers: list[Answered] = field(default_factory=list)
    writes: list[Written] = field(default_factory=list)
    samples: list[Sample] = field(default_factory=list)
    late: int = 0
    queue: int = 0
    left: int | None = None
    work: float = 0.0
    busy: tuple[float, int] = (0.0, 1)
    problems: list[str] = field(default_factory=list)
    kept: Path | None = None

    @property
    def growth(self) -> list[Growth]:
        """What grew after the first third."""
        return growth(self.samples)

    @property
    def is_judged(self) -> bool:
        """Whether the run was long enough to say that something grows."""
        return bool(self.samples) and self.plan.seconds >= SHORTEST


def run(folder: Path, plan: Plan, told: Told = lambda words: None) -> Report:
    """Make or copy the vault in a folder, load it, and look at what came of it.

    Raises ValueError for a plan that the axes do not suffice for.
    """
    if plan.is_too_much:
        raise ValueError(plan.is_too_much)
    report = Report(plan, busy=(os.getloadavg()[0], os.cpu_count() or 1))
    told(f"a vault of {plan.axes:,} axes …")
    with fleet(folder, plan.axes) as place:
        vault = place / "vault"
        axes, before = axes_of(vault), proof.snapshots(vault)
        writers = [Writer(number, plan.writers) for number in range(plan.writers)]
        add_writers(vault, [one.name for one in writers if one.way == WAYS[0]])
        log = place / "viewer.log"
        with served(vault, log) as viewer:
            told("idle pages …")
            report.idle = _idle(viewer.port, axes, plan)
            _loaded(viewer, place, axes, writers, report, told)
        report.problems += log_faults(log)
        report.queue = deepest_queue(log)
        told("looking up every export …")
        report.problems += proof.problems_of_writes(before, vault, report.writes)
        told("verifying the vault …")
        report.problems += proof.problems_of_vault(vault)
        report.problems += _unanswered(report) + _grown(report)
        if report.problems:
            (place / "keep").touch()
            report.kept = place
    return report


def _idle(port: int, axes: list[Address], plan: Plan) -> dict[str, list[float]]:
    """Every kind of page, one after the other, while nobody else asks. Raises NoAnswer."""
    browser = Browser(port)
    wanted = choices(Random(f"{plan.seed}, idle"), axes)
    found: dict[str, list[float]] = {NOTHING: [], **{kind: [] for kind in KINDS}}
    for turn in range(plan.idle_runs + 1):
        for kind, address in ((NOTHING, IDLE), *islice(wanted, len(KINDS))):
            answer = browser.get(address)
            if wrong := fault_of(answer):
                raise NoAnswer(f"GET {address} before the load: {wrong}")
            if turn:  # the first of each reads what later ones have in memory
                found[kind].append(answer.seconds)
    browser.close()
    return found


def _loaded(
    viewer: Served,
    place: Path,
    axes: list[Address],
    writers: list[Writer],
    report: Report,
    told: Told,
) -> None:
    plan, tally, stop = report.plan, Tally(), Event()
    people = [
        Thread(
            target=read,
            args=(viewer.port, axes, chance, _read_pace(plan, chance, stop), tally),
            daemon=True,
        )
        for chance in (Random(f"{plan.seed}, reader {number}") for number in range(plan.readers))
    ]
    exports = NewExports(plan.axes)
    for writer in writers:
        chance = Random(f"{plan.seed}, {writer.name}")
        pace = _pace(plan.write_every, chance, plan, stop, plan.least_writes)
        arguments = (viewer.port, place, exports, pace, tally)
        people.append(Thread(target=writer.write, args=arguments, daemon=True))
    told(f"{plan.readers:,} readers and {plan.writers:,} writers for {plan.seconds:g} s …")
    for one in people:
        one.start()
    try:
        _watch(viewer, people, report, tally, told)
    finally:
        stop.set()
    report.work = tally.now
    still = [one for one in people if one.is_alive()]
    if still and viewer.is_there:
        tally.fault(f"{len(still)} of {len(people)} did not end")
    report.answers, report.writes = list(tally.answers), list(tally.writes)
    report.late = tally.late
    report.problems += tally.faults
    _come_to_rest(viewer, report)


def _read_pace(plan: Plan, chance: Random, stop: Event) -> Pace:
    return _pace(plan.read_every, chance, plan, stop, plan.least_pages)


def _pace(every: float, chance: Random, plan: Plan, stop: Event, least: int) -> Pace:
    return Pace(every, chance.uniform(0, min(every, plan.seconds)), plan.seconds, stop, least)


def _watch(viewer: Served, people: list[Thread], report: Report, tally: Tally, told: Told) -> None:
    """Look at the viewer until everybody has ended, or it is no more."""
    told_at = 0.0
    while any(one.is_alive() for one in people):
        if tally.now < report.plan.seconds:
            sample = sampled(viewer.process.pid, tally.now) if CAN_SAMPLE else None
            report.samples += [sample] if sample is not None else []
        if not viewer.is_there:
            tally.fault(f"the viewer ended by itself with {viewer.process.returncode}")
            return
        if tally.now > report.plan.seconds + _STRAGGLERS:
            return
        if tally.now - told_at >= _TELL_EVERY:
            told_at = tally.now
            told(_progress(report, tally))
        sleep(min(_LOOK_EVERY, report.plan.seconds / 10))


def _progress(report: Report, tally: Tally) -> str:
    words = f"{tally.now:4.0f} s: {len(tally.answers):,} answers, {len(tally.writes):,} exports"
    words += f", {tally.late:,} late, {tally.fault_count:,} faults"
    if report.samples:
        last = report.samples[-1]
        words += f", {last.memory / 1e6:.0f} MB, {last.files} files, {last.connections} connections"
    return words


def _come_to_rest(viewer: Served, report: Report) -> None:
    """Connections are closed once nobody reads any more."""
    end = monotonic() + _AT_REST
    while CAN_SAMPLE and viewer.is_there:
        sample = sampled(viewer.process.pid, 0.0)
        report.left = sample.connections if sample is not None else None
        if report.left is None or report.left <= _LEFT:
            return
        if monotonic() > end:
            report.problems.append(f"{report.left} connections are left open")
            return
        sleep(0.2)


def _unanswered(report: Report) -> list[str]:
    """Kinds of which nobody saw a page, where everybody had time for all of them."""
    answered = Counter(one.kind for one in report.answers)
    plan = report.plan
    everybody = plan.readers * plan.seconds / plan.read_every
    if everybody < 2 * len(KINDS) and plan.least_pages < len(KINDS):
        return []
    return [f"no page of the kind {kind} was answered" for kind in KINDS if not answered[kind]]


def _grown(report: Report) -> list[str]:
    if not report.is_judged:
        return []
    return [
        f"{one.name} grew from {one.early:,.0f} to {one.late:,.0f} {one.unit}".rstrip()
        for one in report.growth
        if one.is_too_much
    ]
