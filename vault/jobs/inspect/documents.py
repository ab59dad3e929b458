"""JSON of one parameter set, of many axes side by side, and of a search."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import (
    CoverageDocument,
    NoteDocument,
    PhysicalDocument,
    ReadingDocument,
    SizedValueDocument,
    coverage_document,
    note_document,
    reading_document,
    time_or_none,
    value_document,
)
from vault.jobs.state.reread import versions_of
from vault.meaning.spread import Basis
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.inspect.find import Occurrence
    from vault.jobs.inspect.show import ShownParameter
    from vault.jobs.inspect.spread import Spread
    from vault.jobs.state.selectors import State
    from vault.meaning.spread import Row
    from vault.meaning.spread_answers import Answer


class ShownParameterDocument(SizedValueDocument):
    """One parameter of a set."""

    stated: PhysicalDocument | Literal["default"] | None
    """The size that the set itself believes in; `default` where the value is the file's default,
    and not stated of the drive."""

    text: str
    """The value in words."""

    really: str | None
    """The size on the machine as built, where that is not what the set believes."""

    code: str
    """Its code."""

    name: str
    """Its name in the dictionary or export."""

    role: str | None
    """What it does, whatever the family calls it."""

    group: str
    """The group it is shown in."""

    access: str
    """`rw`, `ro`, `wo` or `const`."""


class DictionaryVersionsDocument(TypedDict):
    """Versions of the dictionary that a snapshot was, and may be, read with."""

    recorded: str
    """The one that it was taken with, as SHA-256."""

    today: str | None
    """The one that the vault has now; null where it has none of that name any more."""


class ParameterSetDocument(TypedDict):
    """One parameter set: `show`."""

    axis: str
    """`machine/axis`; for a file the selector."""

    snapshot: str | None
    """Id of the snapshot, null for a file."""

    taken_at: str | None
    """When it was taken, null for a file."""

    taken_at_from: str | None
    """Who knew that: `given`, `nameplate`, `file` or `now`; `corrected` where a note put it right;
    null for a file and in old records."""

    coverage: CoverageDocument
    """What of the drive's set it has."""

    occasion: str | None
    """Why it was taken, null for a file."""

    by: str | None
    """Who took it, null for a file."""

    work_order: str | None
    """The work order it belongs to."""

    note: str | None
    """What a reader should know."""

    addenda: list[NoteDocument]
    """What people added about the snapshot afterwards, oldest first; its record never changes."""

    family: str | None
    """The drive family, null where the export describes itself."""

    dictionary: DictionaryVersionsDocument | None
    """Versions of its dictionary, null for a file and where the export describes itself."""

    reread: bool
    """Whether it is read again by today's dictionary; what is recorded stays as it is."""

    nameplate: dict[str, str]
    """What the export says about the hardware."""

    parameters: list[ShownParameterDocument]
    """All parameters, by group, then by code."""


def parameter_set_document(
    state: State, parameters: Iterable[ShownParameter]
) -> ParameterSetDocument:
    """One parameter set."""
    record, versions = state.record, versions_of(state)
    defaults = frozenset(state.coverage.defaults)
    return {
        "axis": str(state.address) if state.address else state.name,
        "snapshot": state.snapshot.id if state.snapshot else None,
        "taken_at": time_text(record.taken_at) if record else None,
        "taken_at_from": record.taken_at_from if record else None,
        "coverage": coverage_document(state.coverage),
        "occasion": record.occasion if record else None,
        "by": record.by if record else None,
        "work_order": record.work_order if record else None,
        "note": record.note if record else None,
        "addenda": [note_document(one) for one in state.addenda],
        "family": state.family_name,
        "dictionary": None
        if versions is None
        else {"recorded": versions.recorded, "today": versions.today},
        "reread": state.reread is not None,
        "nameplate": dict(state.nameplate),
        "parameters": [_shown_document(each, defaults) for each in parameters],
    }


def _shown_document(shown: ShownParameter, defaults: frozenset[str]) -> ShownParameterDocument:
    parameter = shown.parameter
    reading = reading_document(shown.reading)
    return {
        "code": parameter.code,
        "name": parameter.name,
        "role": parameter.role,
        "group": shown.group,
        "access": shown.access,
        "raw": reading["raw"],
        "value": reading["value"],
        "unit": reading["unit"],
        "label": reading["label"],
        "physical": reading["physical"],
        "stated": "default" if parameter.code in defaults else reading["stated"],
        "text": reading["text"],
        "really": reading["really"],
    }


class SpreadValueDocument(ReadingDocument):
    """What one axis has in a row."""

    code: str
    """Its own code of the parameter."""


class SpreadRowDocument(TypedDict):
    """One parameter on which axes differ."""

    key: str
    """The role, else the code, that the axes share."""

    name: str
    """Its name."""

    group: str
    """The group it is shown in."""

    reference: str | None
    """What axes are held against, in words; null where nothing is usual."""

    basis: Basis | None
    """Whether that is the median of sizes, or what most axes have."""

    odd: list[str]
    """Axes that differ from the reference."""

    values: dict[str, SpreadValueDocument]
    """Values by axis; an axis that has none is missing."""


class SpreadAnswerDocument(TypedDict):
    """Axes that have one value alike, which is not what most have."""

    axes: list[str]
    """The odd ones."""

    key: str
    """The role, else the code, that the axes share."""

    name: str
    """Its name."""

    value: str | None
    """What the odd ones have, in words; null where they have none."""

    reference: str | None
    """What most have, in words."""

    others: int
    """How many have that, or are near it."""

    consequence: str
    """What it is about, worst first: `hazard`, `travel` and so on."""

    sentence: str
    """It in words."""


class SpreadDocument(TypedDict):
    """Many axes side by side: `spread`."""

    axes: list[str]
    """The axes that fit the pattern."""

    answers: list[SpreadAnswerDocument]
    """Who is odd, in what, and what the others have: the worst first."""

    same: int
    """How many parameters are the same on all of them."""

    rows: list[SpreadRowDocument]
    """Parameters on which they differ."""

    coverage: dict[str, CoverageDocument]
    """What the latest snapshot of each axis has of the drive's set; what it lacks is not in its
    export, and may be in the drive."""


def spread_document(spread: Spread) -> SpreadDocument:
    """Axes side by side; `rows` are those on which they differ."""
    return {
        "axes": list(spread.axes),
        "answers": [_answer_document(answer) for answer in spread.answers],
        "same": len(spread.rows) - len(spread.differing),
        "rows": [_row_document(row) for row in spread.differing],
        "coverage": {axis: coverage_document(held) for axis, held in spread.coverage.items()},
    }


def _answer_document(answer: Answer) -> SpreadAnswerDocument:
    return {
        "axes": list(answer.axes),
        "key": answer.row.key,
        "name": answer.row.name,
        "value": answer.value,
        "reference": answer.row.reference,
        "others": answer.others,
        "consequence": answer.consequence,
        "sentence": answer.sentence,
    }


def _row_document(row: Row) -> SpreadRowDocument:
    return {
        "key": row.key,
        "name": row.name,
        "group": row.group,
        "reference": row.reference,
        "basis": row.basis,
        "odd": list(row.odd),
        "values": {
            axis: {"code": cell.parameter.code, **reading_document(cell.reading)}
            for axis, cell in row.cells.items()
        },
    }


class FoundDocument(SizedValueDocument):
    """A value that an axis has, or had for some time; its size is not worked out."""

    axis: str
    """`machine/axis`."""

    code: str
    """Code of the parameter."""

    name: str
    """Its name."""

    role: str | None
    """What it does, whatever the family calls it."""

    snapshot: str
    """Id of the first snapshot that has it."""

    since: str
    """When that was taken."""

    until: str | None
    """When the snapshot was taken that has it no more, null where the latest has it."""


class FindDocument(TypedDict):
    """Which axes have, or had, a setting: `find`."""

    found: list[FoundDocument]
    """What is there now first, then by axis."""


def find_document(found: Iterable[Occurrence]) -> FindDocument:
    """Axes that have or had a value."""
    return {"found": [_found_document(each) for each in found]}


def _found_document(found: Occurrence) -> FoundDocument:
    return {
        "axis": found.axis,
        "code": found.parameter.code,
        "name": found.parameter.name,
        "role": found.parameter.role,
        **value_document(found.parameter, None),
        "snapshot": found.snapshot,
        "since": time_text(found.since),
        "until": time_or_none(found.until),
    }
