"""What a draft makes of an export, held against the truth: value by value, role by role."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from tests.drafting.truth import Content, TrueExport, TrueParameter
from vault.formats.registry import WritesBack
from vault.jobs.drafting.draft import Draft, ExportFile, draft
from vault.jobs.drafting.draft_text import draft_text
from vault.jobs.export.list_entries import list_entries
from vault.jobs.export.recognise import recognise
from vault.jobs.families.hazard_roles import needs_confirmation
from vault.model.errors import VaultError
from vault.model.export import Scalar
from vault.model.normalise import Normalised, normalise
from vault.model.parameters import Parameter, canonical_code
from vault.model.quantities import UnknownUnit, canonical_unit
from vault.store.files.edited_files import family_problems, read_family
from vault.store.vault import FamilyFile


@dataclass(slots=True)
class Result:
    """Counts of one export or of many, what went wrong in words, and how long drafting took."""

    counts: Counter[str] = field(default_factory=Counter)
    problems: list[str] = field(default_factory=list)
    seconds: float = 0.0

    def add(self, other: Result) -> None:
        """Take another one in."""
        self.counts += other.counts
        self.problems += other.problems
        self.seconds += other.seconds


def measure(export: TrueExport) -> Result:
    """Draft from an export, read it by the draft, and hold all against the truth."""
    found = Result(Counter(exports=1))
    axes = len(export.channels) or 1
    found.counts["values"] = axes * len(export.parameters)
    began = time.perf_counter()
    try:
        drafted = draft([ExportFile(export.content, export.file)], "oak")
    except VaultError as error:
        found.counts["refused"] = found.counts["values"]
        found.counts["refused_whole"] = 1
        found.problems.append(f"refused whole: {error}")
        return found
    content = draft_text(drafted)
    found.seconds = time.perf_counter() - began
    family = read_family(content, "oak.yaml")
    if problems := family_problems(family, content):
        found.problems.append(f"dictionary: {problems[0]}")
        found.counts["wrong"] += 1
    file = FamilyFile("oak", content)
    is_whole = True
    for at, channel in enumerate(export.channels or (None,)):
        is_whole &= _of_axis(found, export, drafted, file, at, channel)
    found.counts["whole"] = is_whole
    _roles(found, export, drafted)
    return found


def _of_axis(
    found: Result, export: TrueExport, drafted: Draft, file: FamilyFile, at: int,
    channel: int | None,
) -> bool:  # fmt: skip
    try:
        recognised = recognise(export.content, export.file, file, channel=channel)
        listing = list_entries(recognised, channel)
    except VaultError as error:
        found.counts["refused"] += len(export.parameters)
        found.problems.append(f"axis {channel} refused: {error}")
        return False
    read = normalise(listing, file.family)
    by_code = {spelled(code): one for code, one in read.parameters.items()}
    doubts = any(
        q.about in ("decimal", "thousands") and q.confidence <= 0.5 for q in drafted.questions
    )
    is_whole = True
    for one in export.parameters:
        verdict, reason = _verdict(one, at, by_code, read, export, doubts)
        found.counts[verdict] += 1
        is_whole &= verdict in ("exact", "empty")
        if reason:
            found.problems.append(f"{verdict}: {reason}")
    extra = by_code.keys() - {key for one in export.parameters for key in keys(one)}
    if extra:
        found.counts["wrong"] += len(extra)
        found.problems.append(f"no parameters: {sorted(extra)[:5]}")
    form = recognised.format
    if isinstance(form, WritesBack) and export.style.container not in ("xls", "ods"):
        found.counts["written_back"] += 1
        values: dict[str, Scalar] = {entry.code: entry.written for entry in listing.entries}
        try:
            written = form.write_back(
                export.content, values, file=export.file, dialect=file.family.export,
                channel=listing.channel,
            )  # fmt: skip
            found.counts["same_bytes"] += written == export.content
        except VaultError as error:
            found.problems.append(f"not written back: {error}")
    if export.plate:
        found.counts["plate"] += 1
        same = all(listing.nameplate.get(name) == text for name, text in export.plate.items())
        found.counts["plate_read"] += same
        if not same:
            found.problems.append(f"plate: {dict(listing.nameplate)}")
    return is_whole


def spelled(code: str) -> str:
    """A code as both sides are held against each other."""
    section, there, rest = code.rpartition("/")
    return f"{section}{there}{canonical_code(rest)}"


def keys(one: TrueParameter) -> tuple[str, str]:
    """Codes by which a parameter may be known."""
    code = canonical_code(one.code)
    return code, f"{one.section}/{code}"


def _verdict(
    one: TrueParameter, at: int, by_code: Mapping[str, Parameter], read: Normalised,
    export: TrueExport, doubts: bool,
) -> tuple[str, str]:  # fmt: skip
    truth = one.values[at]
    code = canonical_code(one.code)
    twins = sum(other.code == one.code for other in export.parameters)
    known = (f"{one.section}/{code}",) if twins > 1 else keys(one)
    got = next((by_code[key] for key in known if key in by_code), None)
    if got is None and truth is None:
        return "empty", ""
    if got is None:
        told = any(one.code in line.text for line in read.skipped)
        if told:
            return "refused", ""
        return "wrong", f"{one.code} ({one.name}) is missing without a word"
    if truth is None:
        return "wrong", f"{one.code} has no value, read {got.value!r}"
    if truth == "2.10" and not has_names(export):
        return "exact", ""  # whether it is a version or a number, only its name says
    if not _same(truth, got):
        verdict = "asked" if doubts else "wrong"
        return verdict, f"{one.code} is {truth}, read {got.value!r} {got.label}"
    if isinstance(truth, Decimal) and export.style.units != "nowhere":
        unit = _unit(one.unit) if export.style.units != "name" else None
        if got.unit != unit:
            return "wrong", f"{one.code} is in {unit}, read in {got.unit}"
    return "exact", ""


def _same(truth: Content, got: Parameter) -> bool:
    if isinstance(truth, str):
        return truth in (got.value, got.label) or truth.casefold() == (got.label or "").casefold()
    return not isinstance(got.value, str) and got.value == truth


def has_names(export: TrueExport) -> bool:
    """Whether an export has names of its parameters, by which roles are told."""
    style = export.style
    return style.container not in ("ini", "json values") or style.units == "name"


def _unit(text: str) -> str | None:
    try:
        return canonical_unit(text) if text else None
    except UnknownUnit:
        return text


def _roles(found: Result, export: TrueExport, drafted: Draft) -> None:
    roles = {}
    for one in export.parameters:
        for key in keys(one):
            roles[key] = one.role
    for parameter in drafted.parameters:
        if parameter.role and needs_confirmation(parameter.role):
            found.counts["hazards_given"] += 1
        role = roles.get(spelled(parameter.code))
        if role is None or not has_names(export):
            continue
        found.counts["roles"] += 1
        first = parameter.suggested[0].role if parameter.suggested else ""
        found.counts["roles_first"] += first.partition(".")[0] == role.partition(".")[0]


def misses(found: Result) -> Iterator[str]:
    """Targets that were not reached, in words."""
    counts = found.counts
    if counts["wrong"]:
        yield f"{counts['wrong']} values silently wrong (target 0)"
    if counts["hazards_given"]:
        yield f"{counts['hazards_given']} hazard roles given unasked (target 0)"
    if counts["roles_first"] < 0.9 * counts["roles"]:
        yield "fewer than 90 % of roles suggested first right"
    if counts["same_bytes"] < counts["written_back"]:
        yield f"{counts['written_back'] - counts['same_bytes']} exports not written back the same"
