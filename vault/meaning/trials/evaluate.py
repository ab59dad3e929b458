"""What the answers of a trial mean: each held against what set and record say of the axis."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from vault.meaning.margin_sentences import amount
from vault.meaning.measured_move import MeasuredMove, judge
from vault.meaning.trials.measured import drop_finding, home_finding, move_findings, stop_findings
from vault.meaning.trials.pushed import pushed
from vault.meaning.trials.questions import questions_of
from vault.meaning.trials.verdict import TrialFinding, TrialVerdict
from vault.model.quantities import physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.measured_move import TravelSuspect
    from vault.meaning.trials.questions import Question
    from vault.model.trial import TrialRecord

_LOW, _HIGH = "at the lower end", "at the upper end"
_UNSEEN = "The over-travel switch {end} does not show in the drive: only the hard stop is there."
_RUNS_ON = "Jogged onto the over-travel switch {end} the axis goes on: the switch does not stop it."
FAILED = {
    "inputs.emergency_stop": "The emergency stop does not take the drive's power, or it comes back "
    "by itself: nothing may be moved before that is mended.",
    "inputs.over_travel_low": _UNSEEN.format(end=_LOW),
    "inputs.over_travel_high": _UNSEEN.format(end=_HIGH),
    "inputs.home": "The homing switch does not show in the drive: homing goes on past it.",
    "direction.positive": "A positive jog moves the axis the wrong way: every command and every "
    "limit holds for the other end.",
    "direction.negative": "A negative jog moves the axis the wrong way: every command and every "
    "limit holds for the other end.",
    "jog.stops": "The axis does not stop when the jog button is let go.",
    "jog.over_travel_low": _RUNS_ON.format(end=_LOW),
    "jog.over_travel_high": _RUNS_ON.format(end=_HIGH),
    "brake.holds": "The brake does not hold against the motor: the load is not held when power "
    "goes off.",
    "emergency_stop.reacts": "The emergency stop does not stop the axis that moves.",
}
PASSED = {
    "inputs.emergency_stop": "The emergency stop takes the drive's power.",
    "inputs.over_travel_low": f"The over-travel switch {_LOW} shows in the drive.",
    "inputs.over_travel_high": f"The over-travel switch {_HIGH} shows in the drive.",
    "inputs.home": "The homing switch shows in the drive.",
    "direction.positive": "A positive jog moves the axis the positive way.",
    "direction.negative": "A negative jog moves the axis the negative way.",
    "jog.stops": "The axis stops when the jog button is let go.",
    "jog.over_travel_low": f"The over-travel switch {_LOW} stops the slow jog.",
    "jog.over_travel_high": f"The over-travel switch {_HIGH} stops the slow jog.",
    "brake.holds": "The brake holds against the motor.",
    "emergency_stop.reacts": "The emergency stop stops the axis that moves.",
}
FROM, WITHIN, TAKING = " from {speed}", " within {way}", " in {time}"
NOT_THERE = "Not there, as is said: {ask}"
_TRAVEL = ("inputs.home",)
"""Checks of which a failure misplaces the axis, and endangers nobody by itself."""


def evaluate(record: TrialRecord, view: AxisView) -> TrialVerdict:
    """Hold a trial against the state that it was done on."""
    asked = questions_of(view)
    findings = tuple(_with_remarks(_findings(record, view, asked), record))
    answered = {found.check for found in findings}
    if not _is_both_ways(record):
        answered.discard("moves")
    return TrialVerdict(findings, tuple(q for q in asked if q.key not in answered))


def _is_both_ways(record: TrialRecord) -> bool:
    """Whether moves were measured each way: one way alone tells nothing of play."""
    ways = {move.size.ratio > 0 for move in record.moves if move.measured is not None}
    return len(ways) > 1


def _with_remarks(found: Iterator[TrialFinding], record: TrialRecord) -> Iterator[TrialFinding]:
    """What somebody remarked stands beside the first finding of its check."""
    told = set[str]()
    for one in found:
        is_first = one.check not in told
        told.add(one.check)
        yield replace(one, remark=record.remarks.get(one.check)) if is_first else one


def _findings(
    record: TrialRecord, view: AxisView, asked: tuple[Question, ...]
) -> Iterator[TrialFinding]:
    ticks = list(_ticked(record, view, asked))
    yield from (one for one in ticks if not one.check.startswith("emergency_stop."))
    yield from move_findings(record.moves, view)
    yield from home_finding(record.home, view)
    yield from stop_findings(record.stops, view)
    if record.drop is not None:
        yield drop_finding(record.drop, view)
    yield from (one for one in ticks if one.check.startswith("emergency_stop."))


def _ticked(
    record: TrialRecord, view: AxisView, asked: tuple[Question, ...]
) -> Iterator[TrialFinding]:
    questions = {question.key: question for question in asked}
    for check, result in record.ticks.items():
        question = questions.get(check)
        if result == "ok":
            said = reaction(record) if check == "emergency_stop.reacts" else PASSED[check]
            yield pushed(check, said, record, view)
        elif result == "failed":
            consequence = "travel" if check in _TRAVEL else "hazard"
            suspects = _direction_suspects(view) if check.startswith("direction.") else ()
            yield TrialFinding(check, "failed", FAILED[check], consequence, suspects=suspects)
        elif result == "not_there" and (question is None or question.may_lack):
            said = question.ask if question is not None else PASSED[check]
            yield TrialFinding(check, "told", NOT_THERE.format(ask=said))
        # What was not done stays open, and so does what is there by set or record.


def reaction(record: TrialRecord) -> str:
    """That the emergency stop stops the axis, with what was measured of it; nothing judges that."""
    tried = record.emergency_stop
    said = PASSED["emergency_stop.reacts"].rstrip(".")
    for text, key, measure in (
        (FROM, "speed", tried.speed), (WITHIN, "way", tried.way), (TAKING, "time", tried.time),
    ):  # fmt: skip
        size = measure.physical() if measure is not None else None
        if size is not None:
            said += text.format(**{key: amount(float(size.number()), size.unit)})
    return f"{said}."


def _direction_suspects(view: AxisView) -> tuple[TravelSuspect, ...]:
    """Settings that turn the direction round: what a move measured backwards is put down to."""
    forward, back = physical(1, "mm"), physical(-1, "mm")
    assert forward is not None
    assert back is not None
    return judge(MeasuredMove(forward, back), view).suspects
