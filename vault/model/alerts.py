"""An alert: one axis changed its state, and somebody should know."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from vault.model.visible_text import visible, visible_line

STATUSES = ("drifted", "floor", "overdue", "test")
"""`drifted`: the axis left its golden baseline, or left it further · `floor`: a margin of it is not
shown any more to keep the floor of the axis record · `overdue`: no export came in for too long ·
`test`: nothing happened, somebody tries a channel."""


@dataclass(frozen=True, slots=True)
class Alert:
    """What is told about one change of state of one axis.

    The same change of state has the same `id`, whenever and wherever it is noticed. `worst` is a
    consequence class, `snapshot` and `golden` are commit ids, each None where there is none.
    """

    id: str
    axis: str
    status: str
    time: datetime
    worst: str | None
    subject: str
    sentences: tuple[str, ...]
    links: tuple[str, ...] = ()
    snapshot: str | None = None
    golden: str | None = None

    def __post_init__(self) -> None:
        if self.time.utcoffset() is None:
            raise ValueError(f"{self.time} has no offset")
        if self.status not in STATUSES:
            raise ValueError(f"{self.status!r} is no status of an alert")
        object.__setattr__(self, "subject", visible(" ".join(self.subject.split())))
        object.__setattr__(self, "sentences", tuple(map(visible_line, self.sentences)))

    def as_mapping(self) -> dict[str, Any]:
        """The alert in JSON's own types; the time as RFC 3339."""
        return {
            "id": self.id,
            "axis": self.axis,
            "status": self.status,
            "time": self.time.isoformat(),
            "worst": self.worst,
            "subject": self.subject,
            "sentences": list(self.sentences),
            "links": list(self.links),
            "snapshot": self.snapshot,
            "golden": self.golden,
        }

    @classmethod
    def from_mapping(cls, fields: Mapping[str, Any]) -> Alert:
        """Read what `as_mapping` wrote; keys it does not know are passed over.

        Raises KeyError, ValueError or TypeError where it is something else.
        """
        return cls(
            id=fields["id"],
            axis=fields["axis"],
            status=fields["status"],
            time=datetime.fromisoformat(fields["time"]),
            worst=fields["worst"],
            subject=fields["subject"],
            sentences=tuple(fields["sentences"]),
            links=tuple(fields["links"]),
            snapshot=fields["snapshot"],
            golden=fields["golden"],
        )

    @property
    def text(self) -> str:
        """Sentences and links as plain text, one a line."""
        links = ("", *self.links) if self.links else ()
        return "\n".join((*self.sentences, *links))
