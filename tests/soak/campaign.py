"""The soak itself: everything at once for so many minutes, then peace, and a look at what is."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from tests.soak import asking
from tests.soak.acts import Act, People
from tests.soak.copies import Copy, Plant, plant
from tests.soak.dropping import SETTLE, Dropper
from tests.soak.exports import Exports, Put
from tests.soak.judging import judge
from tests.soak.processes import Service, run
from tests.soak.report import Done, Report
from tests.soak.troubles import Troubles

Told = Callable[[str], None]
_LOOK_EVERY = 1.0
_TELL_EVERY = 15.0
_SURE_CODES = range(1, 7)  # those of errors that people meet


@dataclass(slots=True)
class Pace:
    """How long everybody waits between two things, in seconds at most."""

    people: float = 0.8
    drops: float = 0.6
    pages: float = 0.4
    troubles: float = 2.0
    killed: float = 0.12  # share of acts that are killed
    viewers: int = 3
    most_acts: int | None = None  # after which it ends, whatever the time


@dataclass(slots=True)
class Soak:
    """A soak that runs: its copies, who is at work on them, and what was seen so far."""

    plant: Plant
    report: Report
    told: Told
    pace: Pace
    began: float = field(default_factory=time.monotonic)
    kept: dict[str, Put] = field(default_factory=dict)  # taken in for sure, by digest
    over: threading.Event = field(default_factory=threading.Event)

    def random(self, name: str) -> Random:
        """Chance of its own for each who draws."""
        return Random(f"{self.report.seed} {name}")

    @property
    def second(self) -> float:
        """How long it runs."""
        return time.monotonic() - self.began

    def act(self, copy: Copy, act: Act, kill_after: float | None = None, **how: bool) -> None:
        """Do something on a copy, note it, and judge how it ended."""
        other = self.plant.next_of(copy)
        before = _troubled(copy, other)
        second = self.second
        ended = run(copy, *act.words, kill_after=kill_after, **how)
        is_calm = before == _troubled(copy, other) and not copy.is_full and not other.is_full
        is_in_time = not (copy.ahead or other.ahead) and is_calm
        outcome = "killed" if ended.code is None else "ended"
        text = f"{copy.name}, second {second:.0f}, {' '.join(act.words)}: {ended.code}"
        said = f"{ended.complaint}{ended.printed}"[-1500:].strip()
        if ended.hung:
            self.report.wrong("waited for ever", f"{text}\n{ended.hung}")
        elif ended.code is not None and ended.code not in act.right:
            outcome = "refused"
            self.report.counted(f"{act.kind} left with {ended.code}")
            is_expected = ended.code in _SURE_CODES and not (is_calm and is_in_time)
            if not is_expected or "Traceback" in said:
                self.report.wrong(act.kind, f"{text} {said}")
                self.plant.keep_evidence(copy, other)
        elif "Traceback" in said:
            self.report.wrong(act.kind, f"{text} {said}")
        if act.export is not None and ended.code == 0:
            self.kept[act.export.digest] = act.export
        self.report.did(Done(second, act.kind, copy.name, ended.seconds, outcome))


def _troubled(*copies: Copy) -> tuple[int, ...]:
    return tuple(number for copy in copies for number in (copy.troubles, copy.steps))


def soak(seconds: float, seed: int, folder: Path, told: Told, pace: Pace | None = None) -> Report:
    """Have everything happen at once for so many seconds; returns what came of it."""
    exports = Exports(Random(f"{seed} exports"))
    report = Report(seed, seconds / 60)
    with plant(folder, exports) as made:
        if not made.has_disks:
            report.remarks.append("No disk became full: no file system can be mounted here.")
        running = Soak(made, report, told, pace or Pace())
        services = _services(made, running.pace.viewers)
        try:
            for service in services:
                service.start()
            dropper = Dropper(made, running.random("drops"), lambda s: _wait(running, s))
            _all_at_once(running, services, dropper, seconds)
            judge(running, services, dropper)
        finally:
            for service in services:
                if service.is_alive:
                    service.kill(with_children=True)
        report.lives = [life for service in services for life in service.lives]
    return report


def _services(made: Plant, viewers: int) -> list[Service]:
    """A watcher of each copy, and viewers of some; those of the last one are never killed."""
    found, logs = [], made.folder / "logs"
    for copy in made.copies:
        watch = ("watch", str(copy.drop), "--settle", str(SETTLE), "--json")
        found.append(Service(copy, f"watch {copy.name}", watch, logs, copy is made.copies[-1]))
    for copy in made.copies[-viewers:]:
        serve = ("serve", "--port", "0")
        found.append(Service(copy, f"serve {copy.name}", serve, logs, copy is made.copies[-1]))
    return found


def _all_at_once(running: Soak, services: list[Service], dropper: Dropper, seconds: float) -> None:
    pace, made = running.pace, running.plant
    troubles = Troubles(
        made, services, dropper, running.random("troubles"), running.report,
        lambda pause: _wait(running, pause),
    )  # fmt: skip
    works: list[tuple[str, Callable[[], None], float]] = [
        ("drops", dropper.drop, pace.drops),
        ("troubles", troubles.next, pace.troubles),
    ]
    for copy in made.copies:
        people = People(made, copy, running.random(f"people {copy.name}"))
        chance = running.random(f"kills {copy.name}")
        works.append((f"people {copy.name}", _somebody(running, copy, people, chance), pace.people))
    readers = running.random("pages")
    works.append(("pages", lambda: _somebody_reads(running, services, readers), pace.pages))
    threads = [
        threading.Thread(target=_again_and_again, args=(running, *work), daemon=True)
        for work in works
    ]
    for thread in threads:
        thread.start()
    _look_on(running, services, seconds)
    running.over.set()
    for thread in threads:
        thread.join(600)
        if thread.is_alive():
            running.report.wrong("waited for ever", f"a thread of the soak: {thread.name}")
    troubles.end()


def _again_and_again(
    running: Soak, name: str, work: Callable[[], None], longest_pause: float
) -> None:
    chance = running.random(f"pauses {name}")
    while not running.over.is_set():
        try:
            work()
        except Exception as error:  # of the soak itself: it is told, and the rest goes on
            running.report.wrong("the soak", f"{name}: {error!r}")
        _wait(running, chance.uniform(0, longest_pause))


def _somebody(running: Soak, copy: Copy, people: People, chance: Random) -> Callable[[], None]:
    def work() -> None:
        act = people.next()
        kill_after = chance.uniform(0.1, 2.5) if chance.random() < running.pace.killed else None
        running.act(copy, act, kill_after, with_children=chance.random() < 0.5)

    return work


def _somebody_reads(running: Soak, services: list[Service], chance: Random) -> None:
    viewers = [one for one in services if one.words[0] == "serve"]
    viewer = chance.choice(viewers)
    kills, copy = viewer.kills, viewer.copy
    address = viewer.address
    if address is None:
        return
    before, second = _troubled(copy), running.second
    begun = time.monotonic()
    if chance.random() < 0.2:
        put = running.plant.exports.good(late=chance.random() < 0.3)
        page, answer = "take-in", asking.send(address, running.plant, copy.token, put)
        if asking.stored(answer):
            running.kept[put.digest] = put
    else:
        page, answer = asking.ask(address, chance)
    kind = "viewer, store" if page == "take-in" else "viewer, page"
    is_calm = before == _troubled(copy) and not copy.is_full and not copy.ahead
    outcome = {200: "ended", None: "killed"}.get(answer.status, "refused")
    if outcome == "refused":
        running.report.counted(f"{kind} answered {answer.status}")
    text = f"{copy.name}, second {second:.0f}, {page}: {answer.status} {answer.said}"
    if answer.status is None:
        _wait(running, 1)  # who asked while it was killed hears of it before the killer does
    is_gone = answer.status is None and kills == viewer.kills
    if answer.status == 0:
        running.report.wrong("waited for ever", text)
    elif is_gone or (outcome == "refused" and is_calm):
        running.report.wrong(kind, text)
    running.report.did(Done(second, kind, copy.name, time.monotonic() - begun, outcome))


def _look_on(running: Soak, services: list[Service], seconds: float) -> None:
    """Note what every process holds, until it is time."""
    tell_at, told = _TELL_EVERY, set[str]()
    most = running.pace.most_acts
    while running.second < seconds and (most is None or len(running.report.acts) < most):
        for service in services:
            service.look(running.second)
            if service.steady and not service.is_alive:
                running.report.wrong("ended by itself", service.name)
                service.start()
        if running.second >= tell_at:
            tell_at += _TELL_EVERY
            acts, harms = len(running.report.acts), sum(running.report.faults.values())
            running.told(
                f"{running.second:.0f} of {seconds:.0f} s: {acts:,} acts, {harms:,} harms, "
                f"{sum(map(len, running.report.found.values()))} found"
            )
            if new := [one for one in running.report.problems if one not in told]:
                running.told("\n".join(new))
                told.update(new)
        time.sleep(_LOOK_EVERY)


def _wait(running: Soak, seconds: float) -> None:
    running.over.wait(seconds)
