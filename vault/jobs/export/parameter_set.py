"""Third stage: the parameter set that the entries of an export amount to, with its dictionary."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.export.recognise import Recognised
from vault.model.cached_property import cached_property
from vault.model.coverage import Coverage, coverage_of
from vault.model.errors import Unreadable
from vault.model.export import Listing, SkippedLine
from vault.model.normalise import VERSION, Definition, definitions, normalise
from vault.model.parameters import ParameterSet
from vault.model.wording import plural
from vault.store.files.parameters_text import parameters_text
from vault.store.vault import FamilyFile

if TYPE_CHECKING:
    from vault.formats.registry import Format
    from vault.model.families import Family


_MOST_REASON = 300  # characters; one may quote what a hostile file holds
_TOLD = 3  # problems that the text of an error names


@dataclass(frozen=True)
class Export:
    """An export that was read: its bytes, what they list, and the parameter set.

    `format` is what read it, `skipped` are the lines left out, `warnings` what a reader should
    know. `version` says by which rules it was normalised, `node_id` which one was given for values
    that refer to it.
    """

    file: str
    content: bytes
    format: Format
    family: FamilyFile | None
    listing: Listing
    parameters: ParameterSet
    skipped: tuple[SkippedLine, ...]
    warnings: tuple[str, ...]
    version: int
    node_id: int | None = None

    @cached_property
    def coverage(self) -> Coverage:
        """What of the drive's set it gave."""
        return coverage_of(self.listing, self.parameters, self.skipped)

    @property
    def dictionary(self) -> Family | None:
        """The family's dictionary."""
        return self.family.family if self.family else None

    @property
    def family_name(self) -> str | None:
        """Name of the family; None where the export describes itself."""
        return self.family.name if self.family else None

    @property
    def nameplate(self) -> Mapping[str, str]:
        """Nameplate as the export states it."""
        return self.listing.nameplate

    @cached_property
    def parameters_text(self) -> bytes:
        """parameters.yaml of the set."""
        return parameters_text(self.parameters)

    @cached_property
    def definitions(self) -> Mapping[str, Definition]:
        """What the dictionary, or the export itself, says about each parameter."""
        return definitions(self.listing, self.dictionary, self.version)


def parameter_set(
    recognised: Recognised,
    listing: Listing,
    *,
    partial: bool = False,
    version: int = VERSION,
    node_id: int | None = None,
) -> Export:
    """Normalise what an export lists, by the rules of a version.

    Raises Unreadable where the codes are not the family's, where nothing is left, and without
    `partial` for any line that was left out.
    """
    file, family = recognised.file, recognised.family
    normalised = normalise(listing, family.family if family is not None else None, version)
    if family is not None and is_foreign(
        normalised.unknown_codes, len(listing.entries), family.family
    ):
        raise _foreign(listing, normalised.unknown_codes, family, file)
    if normalised.skipped and not partial:
        raise _left_out(normalised.skipped, file, family)
    if not normalised.parameters:
        raise Unreadable("the file holds no parameter", file=file, line=1)
    return Export(
        file=file,
        content=recognised.content,
        format=recognised.format,
        family=family,
        listing=listing,
        parameters=normalised.parameters,
        skipped=normalised.skipped,
        warnings=normalised.warnings,
        version=version,
        node_id=node_id,
    )


def is_foreign(unknown: int, count: int, family: Family) -> bool:
    """Whether an export is of another family: most of its codes are unknown, of an open one all."""
    if family.open and family.parameters:
        return unknown == count
    return not family.open and unknown * 2 > count


def _foreign(listing: Listing, unknown: int, family: FamilyFile, file: str) -> Unreadable:
    known = family.family.definitions(listing.nameplate.get("firmware"))
    first = next(entry for entry in listing.entries if entry.code not in known)
    count = len(listing.entries)
    foreign = plural(unknown, f"of {count} codes is", f"of {count} codes are")
    return Unreadable(
        f"{foreign} not in family {family.name}, the first is {first.code}",
        file=file,
        line=first.line,
        hint="is this an export of another family?",
    )


_PARTIAL = "nothing was taken in; --partial takes the rest and records what was left out"


def _in_short(reason: str) -> str:
    half = _MOST_REASON // 2
    return reason if len(reason) <= _MOST_REASON else f"{reason[:half]} … {reason[-half:]}"


_NODE_ID = "say the node id: --node-id N; "
_GROUPED = re.compile(r"'[-+]?\d{1,3}(?P<mark>[., ])\d{3}(?:(?P=mark)\d{3})*(?:[.,]\d+)?'")


def _advice(skipped: tuple[SkippedLine, ...], family: FamilyFile | None) -> str:
    """What to do about lines that are left out for want of one word of a person."""
    if any("needs the node id" in line.reason for line in skipped):
        return _NODE_ID
    dialect = family.family.export if family is not None else None
    if dialect is None or dialect.thousands:
        return ""
    for line in skipped:
        number = _GROUPED.match(line.reason) if line.reason.endswith("is not a number") else None
        if number is not None and number["mark"] != dialect.decimal:
            key = f'thousands: "{number["mark"]}"'
            return f"if thousands are apart so, put {key} under export in the dictionary; "
    return ""


def _left_out(skipped: tuple[SkippedLine, ...], file: str, family: FamilyFile | None) -> Unreadable:
    first, *others = skipped
    reasons = [_in_short(line.reason) for line in skipped[:_TOLD]]
    told = [f"line {line.line}: {why}" for line, why in zip(others, reasons[1:], strict=False)]
    told.insert(0, reasons[0])
    if more := len(skipped) - len(told):
        told.append(f"{plural(more, 'more line')}")
    return Unreadable(
        "; ".join(told),
        file=file,
        line=first.line,
        hint=_advice(skipped, family) + _PARTIAL + ("; --all shows every line" if more else ""),
        problems=skipped,
    )
