"""How an axis stands to its golden baseline at a moment: waivers end, and exports become due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Literal, get_args

from vault.model.wording import plural

if TYPE_CHECKING:
    from collections.abc import Collection

    from vault.jobs.baseline.assess import Assessment
    from vault.meaning.drift import Deviation
    from vault.meaning.floors import UnkeptFloor
    from vault.model.coverage import Coverage, Remark
    from vault.model.names import Address
    from vault.store.directory import Directory

Status = Literal["drifted", "overdue", "no_golden", "in_line"]
STATUSES: tuple[Status, ...] = get_args(Status)
"""How an axis can stand, in the order in which somebody has to do something."""


_AWAITS = (
    "It belongs to the hardware that was replaced ({reason}), and waits for the approval of the "
    "as-left state."
)


@dataclass(frozen=True, slots=True)
class Calling:
    """What an axis and the one it follows are called now, and whether it is out of use."""

    axis: str
    place: str
    follows: str | None = None
    retired: bool = False


def calling(names: Directory, address: Address, found: Assessment) -> Calling:
    """What the directory says of an axis and the one that it follows."""
    return Calling(
        str(names.named(address)),
        address.place,
        None if found.follows is None else str(names.named(found.follows)),
        names.retired(address) is not None,
    )


@dataclass(frozen=True, slots=True)
class AxisDrift:
    """How an axis stands to its golden baseline.

    `changes` and `waived` are what differs, worst first: what counts, and what a waiver allows. A
    change that counts has a waiver where one covered it once. `causes` and `hardware` are
    sentences: why values mean something else, and what names other hardware than in the baseline.
    `floors` are those of the axis record that the latest snapshot is not shown to keep, whatever
    the status. `fitted` says by code why what drifted may differ since hardware was replaced: it
    waits for the approval of the as-left state. A `retired` axis is never overdue, needs nobody.
    `place` is the name that it began with, and goes by where others than people name it.
    """

    axis: str
    status: Status
    changes: tuple[Deviation, ...] = ()
    waived: tuple[Deviation, ...] = ()
    causes: tuple[str, ...] = ()
    hardware: tuple[str, ...] = ()
    since: datetime | None = None
    golden: str | None = None
    latest: str | None = None
    taken_at: datetime | None = None
    due: datetime | None = None
    overdue: bool = False
    follows: str | None = None
    golden_coverage: Coverage | None = None
    latest_coverage: Coverage | None = None
    floors: tuple[UnkeptFloor, ...] = ()
    retired: bool = False
    place: str = ""
    fitted: tuple[tuple[str, str], ...] = ()

    def awaits_approval(self, deviation: Deviation) -> str | None:
        """That something drifted since hardware was replaced, in words; None for other drift."""
        reason = dict(self.fitted).get(deviation.change.shown.code)
        return None if reason is None else _AWAITS.format(reason=reason)

    @property
    def calling(self) -> Calling:
        """What it and the axis it follows were called, and whether it was out of use."""
        return Calling(self.axis, self.place, self.follows, self.retired)

    @property
    def is_controllers(self) -> bool:
        """Whether it is the controller's set of an axis, and not its drive's."""
        return _is_of_controller(self.place)

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Of which of the two snapshots it is known, or feared, that it is no whole set."""
        pair = (
            ("Golden baseline", self.golden_coverage),
            ("Latest snapshot", self.latest_coverage),
        )
        return tuple(one for whose, found in pair if found for one in found.told(whose))

    @property
    def count(self) -> int:
        """How many parameters drifted."""
        return len(self.changes)

    @property
    def worst(self) -> str | None:
        """The worst consequence of what drifted."""
        return self.changes[0].change.consequence if self.changes else None

    @property
    def needs_attention(self) -> bool:
        """Whether somebody has to do something."""
        return not self.retired and (self.status in ("drifted", "overdue") or bool(self.floors))


def counted_axes(
    names: Collection[str],
    which: str = "",
    does: tuple[str, str] | None = None,
    of: Collection[str] = (),
) -> str:
    """How many axes there are in words, and how many sets of controllers beside.

    `which` stands before each noun (`other`), `does` after all: a verb, of one and of several.
    None at all are none `of` others: sets of controllers, if all of these are.
    """
    beside = sum(map(_is_of_controller, names))
    has_sets = beside or (not names and of and all(map(_is_of_controller, of)))
    nouns = [f"{which} {noun}".lstrip() for noun in ("axis", "axes")]
    words = [plural(len(names) - beside, *nouns)] if len(names) > beside or not has_sets else []
    if has_sets:
        nouns = [f"{which} {noun}".lstrip() for noun in ("controller's set", "controllers' sets")]
        words.append(plural(beside, *nouns))
    verb = f" {does[len(names) != 1]}" if does is not None else ""
    return " and ".join(words) + verb


def _is_of_controller(name: str) -> bool:
    return name.endswith(":controller")


def axis_drift(called: Calling, found: Assessment, moment: datetime) -> AxisDrift:
    """What an assessment says at a moment."""
    drifting = [deviation.drifts(moment) for deviation in found.settings]
    pairs = list(zip(found.settings, drifting, strict=True))
    changes = tuple(deviation for deviation, drifts in pairs if drifts)
    due, overdue = None, False
    if found.export_every is not None and not called.retired:
        if found.taken_at is not None:
            due = found.taken_at + timedelta(seconds=found.export_every)
        overdue = due is None or moment > due
    status: Status = "in_line" if found.golden and found.latest else "no_golden"
    status = "drifted" if changes else "overdue" if overdue else status
    return AxisDrift(
        axis=called.axis,
        status=status,
        changes=changes,
        waived=tuple(deviation for deviation, drifts in pairs if not drifts),
        causes=found.causes,
        hardware=found.hardware,
        since=found.since,
        golden=found.golden,
        latest=found.latest,
        taken_at=found.taken_at,
        due=due,
        overdue=overdue,
        follows=called.follows,
        golden_coverage=found.golden_coverage,
        latest_coverage=found.latest_coverage,
        floors=found.floors,
        retired=called.retired,
        place=called.place,
    )
