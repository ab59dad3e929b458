"""Names of machines, axes and export files that are safe on every file system."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from typing import Literal

from vault.model.errors import WrongUsage
from vault.model.wording import with_article

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,63}")
_COMMIT = re.compile(r"[0-9a-f]{40}")
_PORTS = {f"{port}{n}" for port in ("com", "lpt") for n in "0123456789¹²³"}
_FILES_OF_MACHINES = {"machine.yaml", "corrections.yaml"}
_DEVICES = {"con", "prn", "aux", "nul"} | _PORTS
_SHORT_GIT = re.compile(r"git~\d", re.IGNORECASE)
_UNSAFE = re.compile(
    r'[\x00-\x1f\x7f<>:"/\\|?*\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff]'
)


Side = Literal["drive", "controller"]
SIDES: tuple[Side, ...] = ("drive", "controller")
"""Whose parameter set of an axis it is: that of its drive, or that of the controller above it."""

_CONTROLLER = ":controller"


@dataclass(frozen=True, slots=True)
class Address:
    """Where a parameter set lives: `machine/axis`, which stays; `known_as` is its present name.

    An axis has two, its drive's and its controller's, by `side`; that of the controller is written
    `machine/axis:controller`. As text it is what people call it now; files, commits and keys go by
    `place`. In their order the controller's comes after its drive's.
    """

    machine: str
    axis: str
    side: Side = "drive"
    known_as: str | None = field(default=None, compare=False)

    def __str__(self) -> str:
        return f"{self.known_as or f'{self.machine}/{self.axis}'}{self._suffix}"

    def __lt__(self, other: Address) -> bool:
        ours, theirs = (self.machine, self.axis), (other.machine, other.axis)
        if ours != theirs:
            return ours < theirs
        return not self.is_controller and other.is_controller

    @property
    def is_controller(self) -> bool:
        """Whether it is the controller's set of its axis."""
        return self.side == "controller"

    @property
    def controller(self) -> Address:
        """The controller's set of the same axis."""
        return self if self.is_controller else replace(self, side="controller")

    @property
    def drive(self) -> Address:
        """The drive's set of the same axis, which stands for the axis itself."""
        return replace(self, side="drive") if self.is_controller else self

    @property
    def _suffix(self) -> str:
        return _CONTROLLER if self.is_controller else ""

    @property
    def place(self) -> str:
        """The name it began with, and has in the vault's tree."""
        return f"{self.machine}/{self.axis}{self._suffix}"

    @property
    def key(self) -> tuple[str, str]:
        """It as two texts, machine and axis with its side: what tables hold of it."""
        return self.machine, f"{self.axis}{self._suffix}"

    @property
    def shown(self) -> tuple[str, str]:
        """What machine and axis are called now; the side is not told."""
        machine, _, axis = (self.known_as or f"{self.machine}/{self.axis}").partition("/")
        return machine, axis

    @classmethod
    def of_key(cls, machine: str, axis: str) -> Address:
        """The one that has a `key`."""
        name, colon, _ = axis.partition(":")
        return cls(machine, name, "controller" if colon else "drive")

    @classmethod
    def parse(cls, text: str) -> Address:
        """Read `machine/axis` or `machine/axis:controller`.

        Raises WrongUsage naming the rule that was broken.
        """
        machine, slash, named = text.partition("/")
        if not slash:
            raise WrongUsage(f"{text!r} names no axis", hint="write it as machine/axis")
        axis, colon, side = named.partition(":")
        address = cls(checked_name(machine, "machine"), checked_name(axis, "axis"))
        return replace(address, side=checked_side(side)) if colon else address


def whole_axis(address: Address) -> Address:
    """The address, if it names an axis. Raises WrongUsage for the controller's side of one."""
    if address.is_controller:
        raise WrongUsage(
            f"{address} is one side of an axis, and this is of the whole",
            hint=f"name the axis: {address.drive}",
        )
    return address


def checked_side(text: str) -> Side:
    """Return whose set of an axis a text means. Raises WrongUsage for any other word."""
    side = next((side for side in SIDES if side == text.strip().casefold()), None)
    if side is None:
        raise WrongUsage(f"{text!r} is no side of an axis", hint="drive or controller")
    return side


def commit_id(text: object) -> str:
    """Return the whole id of a commit. Raises ValueError for a start of one, a name, or else."""
    if not isinstance(text, str) or not _COMMIT.fullmatch(text):
        raise ValueError(f"{text!r} is no whole commit id")
    return text


def checked_name(name: str, what: str) -> str:
    """Return the name if it may be used. Raises WrongUsage otherwise."""
    if what == "axis" and name.casefold() in _FILES_OF_MACHINES:
        raise WrongUsage(
            f"{name!r} cannot name an axis", hint="a machine has a file of that name in its folder"
        )
    if not _NAME.fullmatch(name):
        raise WrongUsage(
            f"{name!r} cannot name {with_article(what)}",
            hint="letters, digits, '.', '_' and '-', starting with a letter or digit, at most 64",
        )
    if name.split(".")[0].casefold() in _DEVICES or name.endswith((".", ".lock")):
        raise WrongUsage(
            f"{name!r} cannot name {with_article(what)}",
            hint="the name is reserved on some of the systems vaults are copied to",
        )
    return name


def safe_file_name(name: str) -> str:
    """Return a file name that every file system takes, as close to the given one as can be."""
    safe = _UNSAFE.sub("_", name.replace("\\", "/").rsplit("/", 1)[-1]).strip(" .")
    while len(safe.encode()) > 120:
        stem, dot, ending = safe.rpartition(".")
        safe = f"{stem[:-1]}.{ending}" if dot and stem and len(ending) < 16 else safe[:-1]
    safe = safe.rstrip(" .")
    # git keeps no `git~1` on any system: it is the short name of `.git` on some.
    if not safe or safe.split(".")[0].strip().casefold() in _DEVICES or _SHORT_GIT.match(safe):
        safe = f"export-{safe}"
    return safe


CASE_HINT = "some of the systems that vaults are copied to take them for the same"


def differs_in_case(name: str, in_use: str) -> str:
    """The sentence about a name of a machine or an axis that another one has in other letters."""
    return f"{name!r} differs from {in_use!r} in upper and lower case only"


def case_clash(
    address: Address, machines: Iterable[str], axes_of: Callable[[str], Iterable[str]]
) -> str | None:
    """That sentence, where the name of an axis has its machine, or itself, in other letters.

    `machines` are in use, and `axes_of` gives the axes of one. None where the name may be had.
    """
    name, in_use = address.machine, set(machines)
    if name in in_use:
        name, in_use = address.axis, set(axes_of(name))
    if name in in_use:
        return None
    other = next((one for one in sorted(in_use) if one.casefold() == name.casefold()), None)
    return None if other is None else differs_in_case(name, other)
