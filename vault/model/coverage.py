"""What an export gave of a drive's parameter set: all of it, a part, or defaults.

Worked out from export and dictionary alone, so that whoever has both gets the same.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal, NamedTuple

from vault.model.wording import capitalised, listed, plural

if TYPE_CHECKING:
    from vault.model.export import Listing, SkippedLine
    from vault.model.parameters import ParameterSet

CoverageKind = Literal["complete", "partial", "defaults_only", "mixed"]
KINDS: tuple[CoverageKind, ...] = ("complete", "partial", "defaults_only", "mixed")

NOT_WHOLE = "Not the whole set"
SENTENCES: dict[CoverageKind, str] = {
    "complete": "The whole set, as the export states it.",
    "partial": "A part of the set: lines of the export were left out.",
    "defaults_only": "No drive's values: everything is the file's default.",
    "mixed": "Some values are the file's defaults, and not stated of the drive.",
}


class Remark(NamedTuple):
    """What people are told of a coverage: what is the matter, and why."""

    title: str
    text: str

    def __str__(self) -> str:
        return f"{self.title}: {self.text}"


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of a set an export gave.

    `left_out` are lines that could not be taken, `defaults` codes whose value is the file's
    default, `warnings` why more may be missing. Of `partial`, `defaults_only` and `mixed` the
    first that is true is the kind. `outside` is what no such file ever says: nothing is missing
    because of it.
    """

    kind: CoverageKind = "complete"
    left_out: tuple[SkippedLine, ...] = ()
    defaults: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    outside: tuple[str, ...] = field(default=(), compare=False)

    @property
    def is_whole(self) -> bool:
        """Whether every value is the drive's own and none was left out."""
        return self.kind == "complete"

    @property
    def sentence(self) -> str:
        """In words, with numbers."""
        if self.kind == "partial":
            lines = plural(len(self.left_out), "line was", "lines were")
            return f"A part of the set: {lines} left out."
        if self.kind == "mixed":
            values = plural(len(self.defaults), "value is", "values are")
            return f"{values} the file's default, and not stated of the drive."
        return SENTENCES[self.kind]

    @property
    def may_lack(self) -> bool:
        """Whether the drive may have what is not in the export: by what it says, or its kind."""
        return not self.is_whole or bool(self.warnings)

    @property
    def not_in_file(self) -> str:
        """What such a file never says, in words; empty where it says all there is."""
        return f"{capitalised(listed(self.outside))}: not in this file" if self.outside else ""

    def told(self, whose: str = "") -> tuple[Remark, ...]:
        """What people are told of it; nothing where it is the whole set and nothing is in doubt.

        `whose` says of which of several sets it is.
        """
        if self.is_whole and not self.warnings:
            return ()
        before = f"{whose}: " if whose else ""
        said = [] if self.is_whole else [Remark(f"{before}{NOT_WHOLE}", self.sentence)]
        doubt = f"{before}Perhaps not the whole set"
        said += [Remark(doubt, f"{warning}.") for warning in self.warnings]
        return tuple(said)


def coverage_of(
    listing: Listing, parameters: ParameterSet, skipped: tuple[SkippedLine, ...]
) -> Coverage:
    """The coverage of an export: its listing, the set it gave, and the lines left out."""
    defaults = tuple(e.code for e in listing.entries if e.is_default and e.code in parameters)
    return Coverage(
        kind=_kind(len(skipped), len(defaults), len(parameters)),
        left_out=skipped,
        defaults=tuple(dict.fromkeys(defaults)),
        warnings=tuple(f"line {line.line}: {line.reason}" for line in listing.remarks),
        outside=listing.outside,
    )


def _kind(left_out: int, defaults: int, parameters: int) -> CoverageKind:
    if left_out:
        return "partial"
    if defaults and defaults >= parameters:
        return "defaults_only"
    return "mixed" if defaults else "complete"
