"""Floors that the axis record puts under margins: each has to be kept, and shown to be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.findings import figure
from vault.meaning.floors import unkept
from vault.model.quantities import plain

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.meaning.axis_view import AxisView
    from vault.meaning.floors import UnkeptFloor


@rule
def margin_floor(view: AxisView) -> Iterator[Complaint]:
    """A margin is at least what somebody asked for."""
    floors = view.axis.margins if view.axis is not None else {}
    if not floors:
        return
    margins = margins_of(view.state)
    for one in unkept(floors, margins):
        margin = margins.get(one.name)
        look_at = (f"axis.yaml: margins.{one.name}", *_behind(view, margin))
        figures = _figures(one, margin)
        yield Complaint("margin_floor", one.consequence, one.sentence, look_at, figures)


def _behind(view: AxisView, margin: Margin | None) -> tuple[str, ...]:
    """Where one looks first, of all that a margin rests on."""
    from vault.meaning.checks.margins import LOOK_AT  # later: rules are told in their own order

    if margin is None:
        return ()
    roles = LOOK_AT.get(margin.name, margin.rests_on)
    return codes(view, *(role for role in roles if role in margin.rests_on))


def _figures(one: UnkeptFloor, margin: Margin | None) -> tuple[Finding, ...]:
    """The floor, and what there is against what it must cover."""
    found = [Finding("floor", plain(one.floor), None, "axis record")]
    if margin is not None and margin.have is not None and margin.need is not None:
        found = [
            figure("have", margin.have, margin.basis, unit=margin.unit),
            figure("need", margin.need, margin.basis, unit=margin.unit),
            *found,
        ]
    return tuple(found)
