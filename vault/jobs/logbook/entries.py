"""What a logbook is made of: entries of every kind, with what they name."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal, get_args

if TYPE_CHECKING:
    from vault.model.corrections import Correction
    from vault.model.coverage import Remark
    from vault.model.names import Address, Side

LogKind = Literal[
    "snapshot",
    "restore",
    "approval",
    "waiver",
    "record",
    "trial",
    "trace",
    "fault",
    "alert",
    "note",
]
KINDS: tuple[LogKind, ...] = get_args(LogKind)
KIND_WORDS: dict[LogKind, str] = {
    "snapshot": "snapshots",
    "restore": "restores",
    "approval": "approvals",
    "waiver": "waivers",
    "record": "axis record",
    "trial": "trials",
    "trace": "traces",
    "fault": "faults",
    "alert": "alerts",
    "note": "notes",
}
"""What people call them, in the order of use."""
SIDE_MARK = "controller's side: "
"""Before what is about the controller's set, where the whole axis is told of."""
LinkKind = Literal[
    "snapshot",
    "parameter",
    "axis",
    "plan",
    "check",
    "fault",
    "baseline",
    "record",
    "order",
    "trial",
    "trace",
]


@dataclass(frozen=True, slots=True)
class LogLink:
    """What a text of an entry stands for; `target` names it whole: an id, a code, a number.

    Of a fault it is the code; the entry says when. `baseline` and `record` are those of the axis,
    `order` is a work order.
    """

    text: str
    kind: LinkKind
    target: str


@dataclass(frozen=True, slots=True)
class LogEntry:
    """One thing that happened. `by` is `Name <mail>`, empty where the program did it itself.

    `remarks` are what a reader must be warned of, `changes` what it changed, in sentences;
    `consequences` are those of the changes, one each, of an edit of the axis record.
    `snapshot` is the snapshot that it is, or is about, `commit` the one that records it; empty
    where there is none. `addenda` are notes that people added about it afterwards. `side` says
    whose set of the axis it is about.
    """

    kind: LogKind
    at: datetime
    by: str
    title: str
    sentences: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    remarks: tuple[Remark, ...] = ()
    links: tuple[LogLink, ...] = ()
    snapshot: str = ""
    commit: str = ""
    addenda: tuple[Correction, ...] = ()
    consequences: tuple[str, ...] = ()
    side: Side = "drive"

    @property
    def texts(self) -> tuple[str, ...]:
        """All that is said of it below its title."""
        return (*self.sentences, *self.changes)


@dataclass(frozen=True, slots=True)
class Logbook:
    """A page of a logbook, newest first.

    `counts` are of all there is, by kind; a check of a restore counts as snapshot and restore.
    `matching` are those of the kinds that were asked for, of which `skipped` newer ones and
    `older` ones are not on the page. `problems` are parts that could not be read.
    """

    address: Address
    entries: tuple[LogEntry, ...]
    counts: dict[LogKind, int]
    matching: int
    skipped: int = 0
    problems: tuple[str, ...] = ()

    def title_of(self, entry: LogEntry) -> str:
        """The title of an entry; in the book of a whole axis the controller's are marked."""
        is_other = entry.side != self.address.side
        return f"{SIDE_MARK}{entry.title}" if is_other else entry.title

    @property
    def older(self) -> int:
        """How many follow."""
        return max(0, self.matching - self.skipped - len(self.entries))
