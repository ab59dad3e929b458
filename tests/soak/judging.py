"""After the soak: peace comes, the ring goes round until it is quiet, and all must be as it was."""

from __future__ import annotations

import faulthandler
import json
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.soak.copies import BY, Copy, Plant
from tests.soak.dropping import Dropper, waiting_in
from tests.soak.processes import (
    Life,
    Service,
    of_folder,
    tail,
    until,
    where,
)
from tests.soak.report import quarters
from vault.jobs.alerts.confirm import channels_of
from vault.jobs.alerts.deliver import deliver_from, waiting
from vault.jobs.baseline.drift import drift
from vault.jobs.logbook.book import logbook
from vault.jobs.logbook.entries import KINDS
from vault.jobs.sync.join import HERE, THERE
from vault.jobs.sync.sync import give, take
from vault.jobs.verify.verify import verify
from vault.jobs.watch.drop_folder import DONE, REASON, REFUSED
from vault.model.errors import VaultError
from vault.store.files.snapshot_text import digest
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

if TYPE_CHECKING:
    from tests.soak.campaign import Soak

_ROUNDS = 9
_NEVER = ("unknown", "garbage", "of another axis")
_OF_THIS_COMPUTER = ("alert",)  # kinds of entries that no sync takes along
_LATEST = 120.0  # seconds after the last harm in which every drop folder must be empty
_LOOKS = 3600.0  # seconds that all looks may take
_OLD_ENOUGH = 60  # seconds that a process must live to be looked at for growth
_MEMORY = 1.5, 40 * 1024  # it may become so many times as large, and so many KiB more
_COUNTS = 16  # open files, threads, children that may come to those of the second quarter


def judge(running: Soak, services: list[Service], dropper: Dropper) -> None:
    """Note everything that is not as it must be."""
    report, made = running.report, running.plant
    faulthandler.dump_traceback_later(_LOOKS, exit=True)  # we look in this process, which may hang
    running.told("the harms are over: waiting for the drop folders")
    if not until(lambda: not any(waiting_in(copy.drop) for copy in made.copies), _LATEST):
        for service in (one for one in services if one.words[0] == "watch"):
            left = waiting_in(service.copy.drop)
            if left and service.process is not None:
                said = f"{where(service.process.pid)}\n{tail(service.err)}"
                report.wrong("waited for ever", f"{service.name} leaves {left[:5]}: {said}")
    for service in services:
        service.look(running.second)
        if wrong := service.stop():
            report.wrong("stopping", wrong)
    running.told("the ring goes round")
    _go_round(running)
    running.told("all three are looked at")
    looks: tuple[tuple[str, Callable[[], Iterator[tuple[str, str]]]], ...] = (
        ("alerts", lambda: _outboxes(running)),
        ("agreement", lambda: _agreement(running)),
        ("verify", lambda: _verified(running)),
        ("exports", lambda: _exports(running, dropper)),
        ("drop folders", lambda: _folders(running)),
        ("logs", lambda: _logs(running, services)),
        ("growth", lambda: _growth(services)),
        ("left running", lambda: _left(running)),
    )
    for name, look in looks:
        try:
            for kind, text in look():
                report.wrong(kind, text)
        except Exception as error:  # of one look, and no other
            report.wrong(name, f"cannot be looked at: {error!r}")
    faulthandler.cancel_dump_traceback_later()


def _go_round(running: Soak) -> None:
    """Each takes from the next until a round brings nothing. What the first one has holds: three
    who each keep their own never agree.
    """
    for _ in range(_ROUNDS):
        before = _tips(running)
        for copy in running.plant.copies:
            try:
                _take(running.plant, copy)
            except VaultError as error:
                running.plant.keep_evidence(copy, running.plant.next_of(copy))
                running.report.wrong("sync take", f"{copy.name}, in peace: {error}")
        if _tips(running) == before:
            return
    running.report.wrong("agreement", f"after {_ROUNDS} rounds there still was something to take")


def _take(made: Plant, copy: Copy) -> None:
    other = made.next_of(copy)
    if made.partner(copy) == str(made.bundle(other)):
        with Vault.open(other.plant) as giver:
            give(giver, made.partner(copy), BY)
    with Vault.open(copy.plant) as taker:
        keep = HERE if copy is made.copies[0] else THERE
        take(taker, made.partner(copy), BY, keep, accepted=("policy", "golden"))


def _tips(running: Soak) -> list[str]:
    tips = []
    for copy in running.plant.copies:
        with Vault.open(copy.plant) as vault:
            tips.append(vault.tip)
    return tips


def _outboxes(running: Soak) -> Iterator[tuple[str, str]]:
    """No message waits once all are sent, and the file that they went to has whole lines."""
    for copy in running.plant.copies:
        deliver_from(copy.plant, early=True)
        with Vault.open(copy.plant) as vault:
            left = waiting(vault.state, channels_of(vault))
            aside = Outbox.set_aside(vault.state)
        if left or aside:
            yield "alerts", f"{copy.name}: {left} wait, {aside} were put aside"
    told = running.plant.alerts
    lines = told.read_bytes().splitlines() if told.exists() else []
    running.report.figures["alerts told"] = len(lines)
    for line in lines:
        try:
            json.loads(line)
        except ValueError:
            if line:  # of a sender that was killed in the middle, which the next one closes
                running.report.counted("torn lines of alerts")


def _agreement(running: Soak) -> Iterator[tuple[str, str]]:
    """All copies tell the same, also as a fresh copy does; and verify finds nothing."""
    made = running.plant
    fresh = made.folder / "fresh"
    Vault.copy(fresh, str(made.copies[0].plant)).close()
    told = {"a fresh copy": _told(fresh)} | {copy.name: _told(copy.plant) for copy in made.copies}
    (_, first), *others = told.items()
    for name, said in others:
        for what in sorted(first.keys() | said.keys()):
            if said.get(what) != first.get(what):
                unlike = _unlike(first.get(what), said.get(what))
                yield "agreement", f"{name} tells otherwise of {what} than a fresh copy: {unlike}"


def _told(folder: Path) -> dict[str, Any]:
    """What a copy tells of each axis, and of all."""
    kinds = [kind for kind in KINDS if kind not in _OF_THIS_COMPUTER]
    with Vault.open(folder) as vault:
        tree = vault.repository.resolve(f"{vault.tip}^{{tree}}")
        found: dict[str, Any] = {"the tree of all files": tree}
        for axis in vault.axes():
            book = logbook(vault, axis, kinds, most=10**6)
            found[f"the logbook of {axis}"] = [repr(entry) for entry in book.entries]
            found[f"the snapshots of {axis}"] = [
                (snapshot.id, snapshot.record.export_sha256)
                for snapshot in vault.index.snapshots(axis)
            ]
        for one in drift(vault):
            found[f"the drift of {one.axis}"] = repr(asdict(one))
    return found


def _unlike(left: Any, right: Any) -> str:
    if isinstance(left, list) and isinstance(right, list):
        gone, more = [x for x in left if x not in right], [x for x in right if x not in left]
        return f"{len(left)} and {len(right)}; only there {gone[:2]}, only here {more[:2]}"
    return f"{str(left)[:600]} / {str(right)[:600]}"


def _verified(running: Soak) -> Iterator[tuple[str, str]]:
    for copy in running.plant.copies:
        with Vault.open(copy.plant) as vault:
            found = verify(vault).problems
            if found and all(one.kind == "index" for one in found):  # we damaged it
                running.report.figures[f"index of {copy.name} damaged, and made anew"] = 1
                vault.reindex()
                found = verify(vault).problems
        for one in found:
            yield "verify", f"{copy.name}: {one.kind}, {one.where}: {one.details}"


def _exports(running: Soak, dropper: Dropper) -> Iterator[tuple[str, str]]:
    """Every export that was accepted is there once, and nothing that nobody brought."""
    made, known = running.plant, running.plant.exports.known
    wanted = {put.digest: f"{name}, dropped in {copy.name}"
              for name, (copy, put) in dropper.must.items()}  # fmt: skip
    wanted |= {name: f"{put.name}, taken in by hand" for name, put in running.kept.items()}
    for copy in made.copies:
        for path in _files(copy.drop / DONE):
            sha256 = digest(path.read_bytes())
            put = known.get(sha256)
            if put is not None and put.kind != "half" and put.name not in dropper.slow:
                wanted.setdefault(sha256, f"{path.name}, done in {copy.name}")
    report = running.report
    report.figures["files dropped"] = dropper.dropped
    report.figures["exports accepted"] = len(wanted)
    for copy in made.copies:
        with Vault.open(copy.plant) as vault:
            there = Counter(
                snapshot.record.export_sha256
                for axis in vault.index.axes()
                for snapshot in vault.index.snapshots(axis)
            )
        report.figures[f"snapshots in {copy.name}"] = there.total()
        for sha256, what in wanted.items():
            if there[sha256] != 1:
                put = known.get(sha256)
                yield (
                    "exports",
                    f"{what} ({put and put.kind}) is {there[sha256]} times in {copy.name}",
                )
        for sha256, times in there.items():
            put = known.get(sha256)
            if put is None or put.kind in _NEVER:
                kind = "of bytes that nobody put" if put is None else put.kind
                yield (
                    "exports",
                    f"{copy.name} has {times} snapshots {kind}: {sha256}, {put and put.name}",
                )


def _folders(running: Soak) -> Iterator[tuple[str, str]]:
    """Each refused file has its reason beside it."""
    refused = 0
    for copy in running.plant.copies:
        for path in _files(copy.drop / REFUSED):
            refused += 1
            if not path.with_name(path.name + REASON).is_file():
                yield "drop folder", f"{path} is refused without a reason"
    running.report.figures["files refused"] = refused


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.csv") if path.is_file())


def _logs(running: Soak, services: list[Service]) -> Iterator[tuple[str, str]]:
    """No process met a fault of the program."""
    logs = [one.err for one in services]
    logs += [copy.plant / "axisvault" / "errors.log" for copy in running.plant.copies]
    for log in logs:
        text = log.read_text(errors="replace") if log.exists() else ""
        if log.name == "errors.log":
            yield from (
                ("internal error", f"{log.parts[-3]}: {line}") for line in text.splitlines()
            )
        elif "Traceback" in text:
            at = text.index("Traceback")
            yield "internal error", f"{log.name}: {text[at : at + 3000]}"


def _growth(services: list[Service]) -> Iterator[tuple[str, str]]:
    """What lived long does not hold more and more."""
    for life in (life for service in services for life in service.lives):
        if is_old(life):
            early, late = quarters(life)
            names = ("KiB", "open files", "threads", "processes below it")
            for name, first, last in zip(names, early, late, strict=True):
                times, more = _MEMORY if name == "KiB" else (1, _COUNTS)
                if last > first * times + more:
                    yield "growth", f"{life.name}: {first} {name}, then {last}"


def is_old(life: Life) -> bool:
    """Whether a process lived long enough to tell whether it grows."""
    samples = life.samples
    return len(samples) >= 12 and samples[-1].second - samples[0].second >= _OLD_ENOUGH


def _left(running: Soak) -> Iterator[tuple[str, str]]:
    """No process of a copy goes on: senders of alerts have nothing to send, and end."""
    folder = running.plant.folder
    if not until(lambda: not list(of_folder(folder)), 70):
        for pid, words in of_folder(folder):
            yield "left running", f"{words}\n{where(pid)}"
