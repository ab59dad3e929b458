"""Drift of everything as this process last told it, at some tips of a vault.

All that drift rests on is at the tip, but for the moment: an answer holds until a waiver ends or an
export is due. What an assessment says is kept too, for most axes stand the same at the next tip.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime
from threading import RLock
from typing import TYPE_CHECKING, NamedTuple

from vault.meaning.reader import system
from vault.store.clock import parse_time

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from vault.jobs.baseline.assess import Assessment
    from vault.jobs.baseline.axis_drift import AxisDrift
    from vault.model.names import Address
    from vault.store.vault import Vault


class Known(NamedTuple):
    """Drift of an axis with the assessment that says so, and all that this rests on."""

    rests_on: str
    assessment: Assessment
    drift: AxisDrift


@dataclass(frozen=True, slots=True)
class Answer:
    """Drift of all axes, as it is from a moment on until another one, None for ever.

    It is told in the units of a `system`.
    """

    found: tuple[AxisDrift, ...]
    by_axis: Mapping[Address, Known]
    system: str
    since: datetime
    until: datetime | None

    def holds_at(self, moment: datetime) -> bool:
        """Whether it is right at a moment."""
        return self.since <= moment and (self.until is None or moment <= self.until)


class Answers:
    """The answers of a process."""

    _MOST = 4

    def __init__(self) -> None:
        self._by_tip: OrderedDict[tuple[str, str], Answer] = OrderedDict()
        self._newest: Answer | None = None
        self.one_at_a_time = RLock()  # to assess everything: who asked meanwhile has the answer

    def at_tip(self, vault: Vault, moment: datetime) -> list[AxisDrift] | None:
        """What was found at the tip of a vault in the reader's units, if it holds at a moment."""
        answer = self._by_tip.get((vault.tip, system()))
        return list(answer.found) if answer is not None and answer.holds_at(moment) else None

    def before(self, moment: datetime) -> Mapping[Address, Known]:
        """What the last answer was made of, if it holds at a moment and for the reader."""
        newest = self._newest
        holds = newest is not None and newest.system == system() and newest.holds_at(moment)
        return newest.by_axis if newest is not None and holds else {}

    def keep(self, vault: Vault, answer: Answer) -> None:
        """Keep what was found."""
        self._newest = answer
        self._by_tip.pop((vault.tip, system()), None)
        self._by_tip[vault.tip, system()] = answer
        if len(self._by_tip) > self._MOST:
            self._by_tip.popitem(last=False)

    def forget(self) -> None:
        """Know nothing, as a process that has just begun."""
        self._by_tip.clear()
        self._newest = None


ANSWERS = Answers()


def holds_until(
    assessments: Iterable[Assessment], found: Iterable[AxisDrift], moment: datetime
) -> datetime | None:
    """The next moment after which a waiver has ended or an export is due."""
    ends = [axis.due for axis in found if axis.due is not None]
    for assessment in assessments:
        if assessment.holds_until is not None:
            ends.append(assessment.holds_until)
        waivers = (deviation.waiver for deviation in assessment.settings)
        ends += [parse_time(waiver.until) for waiver in waivers if waiver is not None]
    return min((end for end in ends if end >= moment), default=None)
