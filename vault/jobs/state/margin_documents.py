"""JSON of margins: their figures are in SI, and strings. `Infinity` is a figure without end."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.behaviour.facts import Bound, Kind
from vault.meaning.margin_news import kind_of, news, ordered, shift
from vault.meaning.margin_text import title_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.behaviour.facts import Margin
    from vault.meaning.margin_moves import MarginMove


class MarginDocument(TypedDict):
    """A figure of an axis held against what it must cover: 1 is the edge."""

    name: str
    """Its name, which stays: floors are put under it."""

    title: str
    """What is held against what, in words."""

    theme: str
    """What it is about: `stop`, `hold`, `energy` and so on."""

    kind: Kind
    """Whether people or machine depend on it (`protects`), or only that the axis runs
    (`availability`)."""

    have: str | None
    """What there is, in `unit`; `Infinity` where nothing ends it, null where it cannot be told."""

    need: str | None
    """What it must cover, in `unit`; `Infinity` where nothing stops the axis, null where it cannot
    be told."""

    unit: str | None
    """Unit of both, in SI; null where they cannot be told."""

    ratio: str | None
    """`have` over `need`; `Infinity` where nothing is needed, null where it cannot be told."""

    bound: Bound
    """What the ratio is: `exact`, or the true one is `at_least` or `up_to` so much; `unknown` where
    it cannot be told, or may be more as well as less."""

    missing: list[str]
    """What to enter so that it can be told: roles of parameters, and keys of the axis record."""

    hedge: str
    """What a maker may do otherwise, so that it would be another figure; may be empty."""

    basis: str
    """The formulas of both figures; empty where they cannot be told."""

    rests_on: list[str]
    """What was asked for it: roles of parameters, keys of the axis record, and `scaling`."""


def margin_document(margin: Margin) -> MarginDocument:
    """A margin."""
    return {
        "name": margin.name,
        "title": title_of(margin.name),
        "theme": margin.theme,
        "kind": margin.kind,
        "have": number_text(margin.have),
        "need": number_text(margin.need),
        "unit": margin.unit,
        "ratio": number_text(margin.ratio),
        "bound": margin.bound,
        "missing": list(margin.missing),
        "hedge": margin.hedge,
        "basis": margin.basis,
        "rests_on": list(margin.rests_on),
    }


class MarginMoveDocument(TypedDict):
    """A margin that is not the same on both sides."""

    name: str
    """Its name."""

    title: str
    """What is held against what, in words."""

    kind: Kind
    """`protects` where people or machine depend on it, on either side."""

    left: str | None
    """Its ratio on the left; `Infinity` where nothing is needed, null where it cannot be told or
    has no sense for the axis."""

    left_bound: Bound | None
    """What that is; null where the margin has no sense for the axis."""

    right: str | None
    """Its ratio on the right, as on the left."""

    right_bound: Bound | None
    """What that is, as on the left."""

    ratio: str | None
    """The right ratio over the left one; null where that says nothing."""


def margin_move_documents(
    moves: Sequence[MarginMove], *, everything: bool
) -> list[MarginMoveDocument]:
    """Margins that moved: those that are news, or all of them."""
    return [_move_document(m) for m in (ordered(moves) if everything else news(moves))]


def _move_document(move: MarginMove) -> MarginMoveDocument:
    left, right = move.before, move.after
    return {
        "name": move.name,
        "title": title_of(move.name),
        "kind": kind_of(move),
        "left": number_text(left.ratio) if left is not None else None,
        "left_bound": left.bound if left is not None else None,
        "right": number_text(right.ratio) if right is not None else None,
        "right_bound": right.bound if right is not None else None,
        "ratio": number_text(shift(move)),
    }


def number_text(number: float | None) -> str | None:
    """A figure as text of nine digits, one without end as `Infinity`; None where there is none."""
    if number is None:
        return None
    if not isfinite(number):
        return "Infinity" if number > 0 else "-Infinity"
    return f"{number:.9g}"
