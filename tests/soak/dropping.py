"""Putting files into drop folders: whole ones and others, at once or slowly, and damaging some."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from tests.soak.copies import Copy, Plant
from tests.soak.exports import Put
from vault.jobs.watch.drop_folder import DONE, REFUSED

SETTLE = 0.5
_BESIDE = (DONE, REFUSED)


@dataclass(slots=True)
class Dropper:
    """Puts files into the drop folders. `must` are those that have to be taken, by name; of `slow`
    ones the first piece may be, and the rest comes into the file where it was put away.
    """

    plant: Plant
    random: Random
    pause: Callable[[float], None] = time.sleep
    must: dict[str, tuple[Copy, Put]] = field(default_factory=dict)
    slow: set[str] = field(default_factory=set)
    dropped: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def drop(self) -> None:
        """Put one file somewhere, in one of the ways that people and programs have."""
        copy, exports = self.random.choice(self.plant.copies), self.plant.exports
        draw = self.random.random()
        if draw < 0.1:
            put = exports.cut()
        elif draw < 0.16:
            put = exports.unknown()
        elif draw < 0.2:
            put = exports.garbage()
        elif draw < 0.26:
            put = exports.of_another()
        else:
            put = exports.good(late=draw > 0.8)
        folder = copy.drop / put.axis
        self.dropped += 1
        try:
            folder.mkdir(parents=True, exist_ok=True)
            how = self.random.choice((self._renamed, self._at_once, self._slowly))
            is_whole = how(folder / put.name, put)
        except OSError:  # no room, or the folder went away: what is there is no whole file
            self._note_rest(folder / put.name, put)
            return
        if put.must and is_whole:
            with self._lock:
                self.must[put.name] = copy, put
        if put.must and self.random.random() < 0.1:
            self._again(folder / f"again-{put.name}", put)

    def _renamed(self, path: Path, put: Put) -> bool:
        draft = path.with_name(path.name + ".part")
        draft.write_bytes(put.content)
        draft.rename(path)
        return True

    def _at_once(self, path: Path, put: Put) -> bool:
        path.write_bytes(put.content)
        return True

    def _slowly(self, path: Path, put: Put) -> bool:
        """In two pieces, so far apart that the first may be taken for the whole."""
        self.slow.add(put.name)
        middle = self.random.randrange(1, max(2, len(put.content)))
        self.plant.exports.noted(Put(put.name, put.axis, "half", put.content[:middle]))
        with path.open("wb", buffering=0) as file:
            file.write(put.content[:middle])
            self.pause(self.random.uniform(0, 2 * SETTLE))
            file.write(put.content[middle:])
        return False

    def _again(self, path: Path, put: Put) -> None:
        """The same file once more, under another name."""
        try:
            path.write_bytes(put.content)
        except OSError:
            self._note_rest(path, put)

    def _note_rest(self, path: Path, put: Put) -> None:
        try:
            rest = path.read_bytes()
        except OSError:
            return
        self.plant.exports.noted(Put(path.name, put.axis, "half", rest))

    def damage(self) -> bool:
        """Change some bytes of a file that waits; says whether there was one.

        Of none whose second half may still come: nobody could tell what stood there then.
        """
        waiting = [
            path
            for copy in self.plant.copies
            for path in waiting_in(copy.drop)
            if path.name not in self.slow
        ]
        if not waiting:
            return False
        path = self.random.choice(waiting)
        with self._lock:
            self.must.pop(path.name.removeprefix("again-"), None)
        try:
            content = path.read_bytes()
            if not content:
                return False
            axis = "/".join(path.parts[-3:-1])
            bent = self.plant.exports.bent(content, axis)
            with path.open("r+b", buffering=0) as file:
                file.write(bent.content)
        except OSError:  # it was taken meanwhile
            return False
        return True


def waiting_in(drop: Path) -> list[Path]:
    """Files that a watcher has not put away yet; empty ones are left where they are."""
    return [
        path
        for path in drop.rglob("*.csv")
        if path.relative_to(drop).parts[0] not in _BESIDE and _size(path)
    ]


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0
