"""A snapshot: one committed state of an axis, and the record of who took it, when and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from vault.model.axis_pick import AxisPick
from vault.model.coverage import Coverage
from vault.model.errors import WrongUsage
from vault.model.export import SkippedLine

TIME_SOURCES = ("given", "nameplate", "file", "now")
"""Who knew when an export was taken: a person, the export itself, its head or date, nobody."""

REDATED = "corrected"
"""Stands in the place of these where somebody said afterwards when it was really taken."""

OCCASIONS = ("commissioning", "routine", "as-found", "as-left", "after-fault")


@dataclass(frozen=True, slots=True)
class SnapshotRecord:
    """What snapshot.yaml holds. `by` is `Name <mail>`; hashes are SHA-256 in hex.

    `previous` is the hash of the snapshot.yaml before this one in time, None for the first.
    `override_reason` is why it was taken although a guard objected, `restores` the restore plan
    that it was taken to check, `moved` the measured move then, `COMMANDED=MEASURED`. `node_id` is
    the one that was given for values that refer to it, `pick` the rule by which it was taken out of
    what a controller exports. `taken_at_from` says who knew when it was
    taken. `coverage` is None in records that were written before it was known.
    """

    taken_at: datetime
    occasion: str
    by: str
    export_name: str
    export_sha256: str
    normalisation: int
    family: str | None = None
    family_sha256: str | None = None
    channel: int | None = None
    nameplate: Mapping[str, str] = field(default_factory=dict)
    work_order: str | None = None
    note: str | None = None
    override_reason: str | None = None
    restores: str | None = None
    moved: str | None = None
    skipped: tuple[SkippedLine, ...] = ()
    node_id: int | None = None
    taken_at_from: str | None = None
    coverage: Coverage | None = None
    previous: str | None = None
    pick: AxisPick | None = None

    @property
    def serial(self) -> str | None:
        """Serial number of the drive as its export states it; None where it states none."""
        return drive_serial(self.nameplate)

    @property
    def told_coverage(self) -> Coverage:
        """What of the drive's set it has, as far as the record tells, be it an old one."""
        if self.coverage is not None:
            return self.coverage
        return Coverage("partial", self.skipped) if self.skipped else Coverage()


def drive_serial(nameplate: Mapping[str, str]) -> str | None:
    """Serial number of a drive by its nameplate; None where that states none, or zeros alone."""
    serial = nameplate.get("serial", "").strip()
    return serial if serial.strip("0") else None


def checked_occasion(occasion: str) -> str:
    """Return the occasion if it is one of ours. Raises WrongUsage otherwise."""
    if occasion not in OCCASIONS:
        raise WrongUsage(f"unknown occasion {occasion!r}", hint=f"one of {', '.join(OCCASIONS)}")
    return occasion


def checked_person(text: str) -> str:
    """Return `Name <mail>` in git's spelling; a name alone gets an empty mail.

    Raises WrongUsage for text that no commit can carry.
    """
    name, bracket, rest = text.strip().partition("<")
    mail, closing, after = rest.partition(">")
    name, mail = name.strip(" ,;"), mail.strip()
    broken = any(c in "<>" or not c.isprintable() for c in name + mail)
    if not name or broken or (bracket and not closing) or after.strip():
        raise WrongUsage(f"{text!r} names nobody", hint='write it as "Name <mail>"')
    return f"{name} <{mail}>"
