"""Ticks on a sheet that stay: who ticked which step of the plan, and what was filled in."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from vault.jobs.restore.kept_plan import KeptPlan, last_plan
from vault.jobs.restore.sheet_parts import SIGN_OFF, TICK
from vault.model.errors import Damaged, Refused, WrongUsage
from vault.model.restore import RestoreRecord, SheetMark
from vault.model.visible_text import one_line
from vault.model.wording import plural
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.restore_text import restore_text

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from vault.jobs.restore.sheet_documents import SheetSectionDocument
    from vault.model.names import Address
    from vault.store.vault import Vault

MOVE = ("move.1", "move.2")
"""Where the sheet asks for the measured move: commanded, measured."""
ON_PAPER = ("proof", SIGN_OFF)
"""Sections of the sheet that the steps after it stand for, where it is ticked on a page."""
_LONGEST = 200


@dataclass(frozen=True, slots=True)
class Place:
    """A box of the sheet, or a line to fill in; `step` is its name, which stays with the plan."""

    step: str
    kind: Literal["tick", "blank"]


def places(sheet: Sequence[SheetSectionDocument]) -> Iterator[Place]:
    """Everything on a sheet that can be ticked or filled in."""
    for section in sheet:
        for number, line in enumerate(section["lines"]):
            if line["kind"] in ("tick", "blank"):
                kind: Literal["tick", "blank"] = "tick" if line["kind"] == "tick" else "blank"
                yield Place(f"{section['name']}.{number}", kind)
        for row_number, row in enumerate(section["rows"]):
            for column, cell in enumerate(row):
                if cell == TICK:
                    yield Place(f"{section['name']}.{row_number}.{column}", "tick")
                elif cell == "" and section["heads"][column]:
                    yield Place(f"{section['name']}.{row_number}.{column}", "blank")


@dataclass(frozen=True, slots=True)
class Ticks:
    """How many steps of a sheet somebody has to tick, and how many are."""

    wanted: int
    ticked: int

    @property
    def left(self) -> str | None:
        """What is not ticked, in words; None where all is."""
        missing = self.wanted - self.ticked
        if not missing:
            return None
        verb = "is" if missing == 1 else "are"
        return f"{missing} of {plural(self.wanted, 'step')} of the sheet {verb} not ticked"


def ticks_of(kept: KeptPlan) -> Ticks:
    """The ticks on the sheet of a plan; none are wanted where it was not kept, or is damaged."""
    try:
        document = kept.document
    except Damaged:  # the signature needs it not
        document = None
    sheet = document["sheet"] if document is not None else ()
    sections = [section for section in sheet if section["name"] not in ON_PAPER]
    wanted = {place.step for place in places(sections) if place.kind == "tick"}
    return Ticks(len(wanted), len(wanted & {mark.step for mark in kept.record.marks}))


def mark_sheet(
    vault: Vault,
    address: Address,
    number: str,
    by: str,
    *,
    ticked: Collection[str],
    shown: Collection[str],
    texts: Mapping[str, str],
) -> RestoreRecord:
    """Keep what somebody ticked and filled in on the sheet of the plan that holds.

    `shown` are the boxes that they saw ticked: only these can be unticked, so that nobody takes
    back what somebody else ticked meanwhile. Raises Refused where the plan holds no more, or is
    signed off, WrongUsage for what the sheet does not have.
    """
    with vault.writing():
        kept = last_plan(vault, address)
        check_holds(kept, number)
        assert kept is not None
        if kept.record.signed_off is not None:
            raise Refused(f"{kept.record.signed_off.by} has signed this restore off already")
        document = kept.document
        if document is None:
            raise WrongUsage("the sheet of this plan was not kept", hint="make the plan anew")
        known = {place.step: place.kind for place in places(document["sheet"])}
        for step in (*ticked, *texts):
            if step not in known:
                raise WrongUsage(f"the sheet has no place {step!r}")
        before = {mark.step: mark for mark in kept.record.marks}
        marks = dict(before)
        for step in shown:
            if step not in ticked and known.get(step) == "tick":
                marks.pop(step, None)
        moment = now()
        for step in ticked:
            marks.setdefault(step, SheetMark(step, by, moment))
        for step, text in texts.items():
            typed = one_line(text)[:_LONGEST]
            if not typed:
                marks.pop(step, None)
            elif step not in marks or marks[step].text != typed:
                marks[step] = SheetMark(step, by, moment, typed)
        if marks == before:
            return kept.record
        ordered = tuple(marks[step] for step in known if step in marks)
        record = replace(kept.record, marks=ordered)
        message = f"{address}: restore sheet ticked\n\nPlan: {record.id}\n"
        vault.write_files({layout.restore_file(address): restore_text(record)}, message, by)
    return record


def check_holds(kept: KeptPlan | None, number: str) -> None:
    """See that the plan of a number is the one that holds. Raises Refused where it is not."""
    if kept is None or number not in (kept.record.number, kept.record.id):
        newer = f"plan {kept.record.number} took its place" if kept is not None else "it is gone"
        raise Refused(f"plan {number} holds no more: {newer}", hint="look at that one")
