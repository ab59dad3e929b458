"""By what exports of a drafted family are known, as a person says it, and what that fits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.formats.nameplate import HEAD_LINES
from vault.formats.text_encoding import head_text
from vault.formats.zipped import is_packed, members
from vault.jobs.drafting.raw_table import Guess
from vault.jobs.drafting.recognition import other_families
from vault.jobs.export.recognise import looks_like
from vault.model.errors import WrongUsage
from vault.model.export_dialect import NAMEPLATE_FIELDS, ExportDialect
from vault.model.near_names import did_you_mean
from vault.model.patterns import is_found, pattern_problem

if TYPE_CHECKING:
    from vault.jobs.drafting.draft import Draft, ExportFile, ExportRead
    from vault.store.vault import FamilyFile

HEAD = "text"
"""The place of a pattern that is looked for in the first lines of an export."""


@dataclass(frozen=True, slots=True)
class Fit:
    """Whether an export has what one pattern asks for, and the text in which it was looked for."""

    place: str
    fits: bool
    text: str


@dataclass(frozen=True, slots=True)
class KnownBy:
    """What makes an export one of the drafted family, and the vault's families that it fits too."""

    file: str
    fits: tuple[Fit, ...]
    other_families: tuple[str, ...]


def check_pattern(place: str, pattern: str) -> None:
    """Raise WrongUsage for a pattern that no dictionary may have, or a place that there is not."""
    places = (HEAD, *NAMEPLATE_FIELDS)
    if place not in places:
        near = did_you_mean(place, places)
        raise WrongUsage(f"nothing of an export is called {place!r}{near}", hint="text, or drive")
    if problem := pattern_problem(pattern):
        raise WrongUsage(problem, hint="as ^OAK-, for what begins so")


def with_patterns(draft: Draft, patterns: Mapping[str, str]) -> Draft:
    """A draft whose exports are known by what a person says, which was checked before."""
    keys = {key: content for key, content in draft.export.items() if key != "recognise"}
    if patterns:
        keys["recognise"] = dict(patterns)
    told = Guess("recognise", "; ".join(patterns.values()), 1, "as you said")
    guesses = (*(guess for guess in draft.guesses if guess.about != "recognise"), told)
    return replace(draft, export=keys, guesses=guesses)


def known_by(
    draft: Draft, exports: Sequence[ExportFile], others: Iterable[FamilyFile]
) -> tuple[KnownBy, ...]:
    """For each export that is drafted from, what its patterns fit, and whose it may be beside."""
    dialect = ExportDialect.model_validate(dict(draft.export))
    families = list(others)
    return tuple(
        KnownBy(
            export.file,
            tuple(_fit(dialect, place, export, read) for place in dialect.recognise),
            other_families(export.content, families),
        )
        for export, read in zip(exports, draft.reads, strict=True)
    )


def _fit(dialect: ExportDialect, place: str, export: ExportFile, read: ExportRead) -> Fit:
    pattern = dialect.recognise[place]
    alone = dialect.model_copy(update={"recognise": {place: pattern}})
    parts = [export.content]
    if is_packed(export.content):
        parts = [one.content for one in members(export.content, file=export.file)]
    part = next((one for one in parts if looks_like(one, export.file, alone, None)), None)
    if place != HEAD:
        return Fit(place, part is not None, read.nameplate.get(place, ""))
    lines = (head_text(part, dialect.encoding) or "").splitlines()[:HEAD_LINES] if part else []
    return Fit(place, part is not None, next((one for one in lines if is_found(pattern, one)), ""))
