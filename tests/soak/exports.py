"""Exports that are put into drop folders: good ones, and all that may lie there beside them.

The family hazel is invented. Every file is unlike every other, so that its digest tells it.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from random import Random

AXES = tuple(f"m{machine}/{axis}" for machine in (1, 2, 3) for axis in ("lift", "belt", "table"))
_SETTINGS = 20
FAMILY = """\
schema: axisvault/family/1
name: hazel
title: Hazel drives (invented, for tests)
export:
  format: delimited
  delimiter: ";"
  columns: {code: Code, name: Name, value: Value, unit: Unit}
  nameplate: {Drive: drive, Serial: serial, Saved: taken_at}
  recognise: {drive: ^HZ-}
parameters:
  lim/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, unit: mm}
  mov/speed: {name: Profile velocity, role: profile_velocity, type: UNSIGNED32, unit: mm/s}
  ref/way: {name: Homing method, role: homing_method, type: INTEGER8}
""" + "".join(
    f"  set/{number}: {{name: Setting {number}, type: INTEGER32}}\n" for number in range(_SETTINGS)
)


@dataclass(frozen=True, slots=True)
class Put:
    """A file that was put somewhere: what it is, for which axis, and whether it must be taken."""

    name: str
    axis: str
    kind: str
    content: bytes
    must: bool = False

    @property
    def digest(self) -> str:
        """By which the vault knows it."""
        return sha256(self.content).hexdigest()


@dataclass(slots=True)
class Exports:
    """Makes one file after the other, and remembers the digests of all that was ever there."""

    random: Random
    began: datetime = field(default_factory=lambda: datetime.now(UTC))
    known: dict[str, Put] = field(default_factory=dict)
    _number: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def good(self, axis: str | None = None, *, late: bool = False) -> Put:
        """An export that must be taken in; a `late` one is older than all that came before it."""
        with self._lock:
            self._number += 1
            number = self._number
        axis = axis or self.random.choice(AXES)
        # Days ago, so that no clock of the soak, which steps by a day, sees it in the future.
        saved = self.began - timedelta(days=200 if late else 40) + timedelta(seconds=7 * number)
        return self.noted(Put(f"{number}.csv", axis, "late" if late else "good",
                              export_text(axis, number, saved).encode(), must=True))  # fmt: skip

    def cut(self) -> Put:
        """The begin of one."""
        whole = self.good()
        end = self.random.randrange(1, len(whole.content) - 2)
        return self.noted(Put(whole.name, whole.axis, "cut", whole.content[:end]))

    def unknown(self) -> Put:
        """A table of a family that nobody has a dictionary for."""
        whole = self.good()
        content = whole.content.replace(b"HZ-04", b"QX-77")
        return self.noted(Put(whole.name, whole.axis, "unknown", content))

    def garbage(self) -> Put:
        """Bytes that are no export."""
        whole = self.good()
        content = self.random.randbytes(self.random.randrange(1, 4000))
        return self.noted(Put(whole.name, whole.axis, "garbage", content))

    def of_another(self) -> Put:
        """An export of one axis in the folder of another one."""
        whole = self.good()
        other = self.random.choice([axis for axis in AXES if axis != whole.axis])
        return self.noted(Put(whole.name, other, "of another axis", whole.content))

    def bent(self, content: bytes, axis: str) -> Put:
        """The same with a few bytes that are others."""
        changed = bytearray(content)
        for _ in range(self.random.randrange(1, 4)):
            changed[self.random.randrange(len(changed))] ^= 1 << self.random.randrange(8)
        return self.noted(Put("", axis, "bent", bytes(changed)))

    def noted(self, put: Put) -> Put:
        """Remember that this content may be found in a vault."""
        self.known[put.digest] = put
        return put


def export_text(axis: str, number: int, saved: datetime) -> str:
    """An export of an axis, in which some settings tell the axes apart."""
    place = AXES.index(axis)
    rows = [f"set/{n};Setting {n};{(place + 1) * 100 + n};" for n in range(_SETTINGS)]
    rows[-1] = f"set/{_SETTINGS - 1};Setting {_SETTINGS - 1};{number};"
    head = ["Drive;HZ-04;;", f"Serial;S-{place};;", f"Saved;{saved:%Y-%m-%dT%H:%M:%SZ};;"]
    values = [
        "Code;Name;Value;Unit",
        f"lim/lag;Window;{2 + number % 3};mm",
        f"mov/speed;Speed;{100 + number % 7};mm/s",
        "ref/way;Homing;1;",
    ]
    return "\n".join([*head, *values, *rows, ""])
