"""JSON of the form of an axis record: what follows from what was typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from vault.jobs.axis_form.follows import Follows
    from vault.jobs.axis_form.store import Form


class FollowingFactDocument(TypedDict):
    """A quantity that follows from an axis record."""

    title: str
    """What it is."""

    size: str
    """How much, in the reader's units."""

    basis: str
    """The formula that it comes from."""


class FollowingMarginDocument(TypedDict):
    """A margin that can be told with an axis record."""

    name: str
    """Its name."""

    title: str
    """What is held against what."""

    ratio: str
    """What there is over what is needed."""

    held: str
    """Both of them, in the reader's units."""

    stands: str
    """`holds`, or how it is short."""


class ToEnterDocument(TypedDict):
    """A key of the axis record that a margin waits for."""

    name: str
    """The key."""

    words: str
    """What to enter."""


class AxisFormDocument(TypedDict):
    """What follows from an axis record as it was typed."""

    axis: str
    """The axis."""

    version: str
    """What tells the stored file from any other; empty where there is none."""

    problems: dict[str, str]
    """What is wrong with a field, by its key."""

    facts: list[FollowingFactDocument]
    """What follows from the record alone."""

    margins: list[FollowingMarginDocument]
    """Margins that can be told, with the latest snapshot where there is one."""

    summary: str
    """The answer about the margins in a line."""

    told_before: int
    """How many could be told with the record as it is stored."""

    missing: list[ToEnterDocument]
    """What to enter next."""

    assumed: list[str]
    """What is taken for granted."""

    with_snapshot: bool
    """Whether the latest snapshot was looked at too."""


def axis_form_document(axis: str, form: Form, found: Follows) -> AxisFormDocument:
    """What follows from what was typed."""
    return {
        "axis": axis,
        "version": form.version,
        "problems": dict(form.problems),
        "facts": [
            {"title": fact.title, "size": fact.size, "basis": fact.basis} for fact in found.facts
        ],
        "margins": [
            {
                "name": one.name,
                "title": one.title,
                "ratio": one.ratio,
                "held": one.held,
                "stands": one.stands,
            }
            for one in found.margins
        ],
        "summary": found.summary,
        "told_before": found.told_before,
        "missing": [{"name": one.name, "words": one.words} for one in found.missing],
        "assumed": list(found.assumed),
        "with_snapshot": found.with_snapshot,
    }
