"""What befalls a copy: kills, a full disk, a damaged index, a clock that steps, a pause."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from random import Random

from tests.soak.copies import Copy, Plant
from tests.soak.dropping import Dropper
from tests.soak.processes import Service
from tests.soak.report import Report

_DAY = 86_400
_LEFT_BEHIND = ("objects/pack/tmp_pack_Ab12Cd", "HEAD.lock", "fast_import_crash_4711")


class Troubles:
    """Does one harm after the other, and makes it good again."""

    def __init__(
        self, plant: Plant, services: list[Service], dropper: Dropper, random: Random,
        report: Report, pause: Callable[[float], None],
    ) -> None:  # fmt: skip
        self._plant, self._services, self._dropper = plant, services, dropper
        self._random, self._report, self._pause = random, report, pause
        self._harms: list[Callable[[Copy], str]] = [
            self._kill, self._kill, self._step, self._damage_state, self._damage_state,
            self._damage_drop, self._damage_drop, self._leave_behind, self._hold_up,
        ]  # fmt: skip
        if plant.has_disks:
            self._harms += [self._fill, self._fill]

    def next(self) -> None:
        """Do another harm."""
        copy = self._random.choice(self._plant.copies)
        done = self._random.choice(self._harms)(copy)
        if done:
            self._report.befell(done)

    def end(self) -> None:
        """Make everything good."""
        for copy in self._plant.copies:
            if copy.is_full:
                copy.free_disk()
            copy.step_clock(0)
        for service in self._services:
            if not service.is_alive:
                service.start()

    def _kill(self, _copy: Copy) -> str:
        service = self._random.choice([one for one in self._services if not one.steady])
        service.kill(with_children=self._random.random() < 0.5)
        self._pause(self._random.uniform(0, 2))
        service.start()
        return f"{service.words[0]} killed"

    def _fill(self, copy: Copy) -> str:
        room = self._random.choice((0, 0, 4096, 64 * 1024, 512 * 1024))
        copy.fill_disk(room)
        self._pause(self._random.uniform(1, 6))
        copy.free_disk()
        return "disk full"

    def _step(self, copy: Copy) -> str:
        ahead = self._random.choice((-_DAY, -3600, -1, 240, 3600, _DAY))
        copy.step_clock(ahead)
        self._pause(self._random.uniform(1, 6))
        copy.step_clock(0)
        return "clock stepped and put right"

    def _damage_state(self, copy: Copy) -> str:
        """What lies beside the repository and can be made anew from it."""
        name = self._random.choice(("index.sqlite", "index.sqlite", "verified.json"))
        path = copy.plant / "axisvault" / name
        how = self._random.choice((_remove, _cut, _overwrite))
        with suppress(OSError):
            how(path, self._random)
            return f"{name}: {how.__name__[1:]}"
        return ""

    def _damage_drop(self, _copy: Copy) -> str:
        return "waiting file damaged" if self._dropper.damage() else ""

    def _leave_behind(self, copy: Copy) -> str:
        """What processes that died a year ago left in the repository."""
        path = copy.plant / self._random.choice(_LEFT_BEHIND)
        with suppress(OSError):
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(b"half a file")
            os.utime(path, (0, 0))
            return f"{path.name} left behind"
        return ""

    def _hold_up(self, _copy: Copy) -> str:
        """A process that stands still for a while, as on a computer that sleeps."""
        service = self._random.choice(self._services)
        process = service.process
        if process is None or not service.is_alive:
            return ""
        process.send_signal(signal.SIGSTOP)
        self._pause(self._random.uniform(0.5, 4))
        process.send_signal(signal.SIGCONT)
        return f"{service.words[0]} held up"


def _remove(path: Path, random: Random) -> None:
    path.unlink()


def _cut(path: Path, random: Random) -> None:
    with path.open("r+b") as file:
        file.truncate(random.randrange(path.stat().st_size))


def _overwrite(path: Path, random: Random) -> None:
    size = path.stat().st_size
    with path.open("r+b", buffering=0) as file:
        file.seek(random.randrange(size))
        file.write(random.randbytes(min(4096, size)))
