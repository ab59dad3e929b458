"""What was measured in a trial, against what set and record make of it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import isfinite
from typing import TYPE_CHECKING

from vault.behaviour.behave import fact_of, load_themes
from vault.behaviour.facts import FACTS, Figure
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scale import position
from vault.behaviour.tried_stop import ExpectedStop, expected_stop
from vault.meaning.explainers.meanings import lower_first
from vault.meaning.findings import figure, finding, in_reader_units, in_words, with_bound
from vault.meaning.measured_move import TOLERANCE, MeasuredMove, judge
from vault.meaning.missing_words import to_enter
from vault.meaning.sentences import size_text
from vault.meaning.trials.verdict import TrialFinding
from vault.model.trial import size_of
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.trials.verdict import Outcome
    from vault.model.quantities import Measure
    from vault.model.trial import Homings, TriedMove, TriedStop

STOP_TOLERANCE = 0.1
"""Share by which a measured stop may be longer or shorter: common practice, no source."""
_BY_HAND = {"m": 1e-4, "rad": 1.75e-3}
"""What a ruler or a dial reads apart: 0.1 mm, 0.1 deg (common practice, no source)."""

FROM_TO = "From {start} to {to}: {said}"
SPREAD = "Of {count} the mark lay within {spread}"
SPREAD_FINE = "{said}, and {allowed} are allowed."
SPREAD_WIDE = (
    "{said}, and only {allowed} are allowed: look at the switch, its edge next to the index pulse, "
    "and at play."
)
SPREAD_TOLD = "{said}; nobody said what is allowed."
WINDOW = "the position window of the set"
STOPPED = "Stopped by {by} from {speed} the axis went {way}"
STOP_FINE = "{said}, as set and record say ({expected})."
STOP_LONG = (
    "{said}; set and record say {expected}{lag}: the ramp is not kept, or more moves than is "
    "recorded. From higher speeds it is longer still."
)
STOP_SHORT = "{said}, less than set and record say ({expected}): friction helps, or another ramp "
STOP_SHORT += "than the one set stopped it."
STOP_OPEN = "{said}; set and record say {expected}, and it may be more: it is not judged."
STOP_COASTS = "{said}; power goes off then, so no way can be said beforehand."
UNTOLD = "{said}; what it should be cannot be told without {missing}."
UNTOLD_ALL = "{said}; what it should be cannot be told."
LAG = ", with what it lagged {most}"
BY = {"quick_stop": "a quick stop", "fault": "a fault", "ramp": "its ramp"}
SANK = "The load sank {drop} until the brake held it"
SANK_FINE = "{said}; set and record say {expected} at most."
SANK_FAR = (
    "{said}, and set and record say {expected} at most: the brake closes later than is recorded, "
    "or the drive lets go sooner than is set."
)


def move_findings(moves: tuple[TriedMove, ...], view: AxisView) -> Iterator[TrialFinding]:
    """Each measured move; a ratio off by more than a hundredth is a hazard."""
    for move in moves:
        measured = size_of(move.measured)
        if measured is None:
            continue
        commanded = move.size
        tried = MeasuredMove(commanded, measured, _tolerance(move))
        travel = judge(tried, view)
        said = travel.sentence
        if move.start is not None and move.to is not None:
            said = FROM_TO.format(
                start=_shown(move.start), to=_shown(move.to), said=lower_first(said)
            )
        is_far = abs(tried.ratio - 1) > TOLERANCE
        yield TrialFinding(
            "moves", "passed" if travel.is_fine else "failed", said,
            "" if travel.is_fine else "hazard" if is_far else "travel",
            (
                figure("commanded", commanded, "as told"),
                figure("measured", measured, "measured at the machine"),
                figure("travel ratio", travel.ratio, "measured / commanded", unit=None),
            ),
            travel.suspects,
        )  # fmt: skip


def _tolerance(move: TriedMove) -> Fraction:
    """Share by which the measured move may be off: by its accuracy, a hundredth at most."""
    accuracy = size_of(move.accuracy)
    if accuracy is None:
        return TOLERANCE
    return min(TOLERANCE, abs(accuracy / move.size))


def home_finding(home: Homings, view: AxisView) -> Iterator[TrialFinding]:
    """How far apart homings end; one alone tells nothing."""
    sizes = [size for one in home.readings if (size := size_of(one)) is not None]
    if len(sizes) < 2:
        return
    numbers = [size.number() for size in sizes]
    unit, spread = sizes[0].unit, float(max(numbers) - min(numbers))
    count = plural(len(sizes), "homing")
    said = SPREAD.format(count=count, spread=in_reader_units(spread, unit))
    figures = figure("spread of home", spread, "largest less smallest reading", unit=unit)
    most, basis = _allowed(home, view, unit)
    if most is None:
        yield TrialFinding("home", "told", SPREAD_TOLD.format(said=said), figures=(figures,))
        return
    allowed = in_reader_units(most, unit)
    if home.allowed is None:
        allowed = f"{allowed} ({basis})"
    is_fine = spread <= most * (1 + 1e-9)
    yield TrialFinding(
        "home", "passed" if is_fine else "failed",
        (SPREAD_FINE if is_fine else SPREAD_WIDE).format(said=said, allowed=allowed),
        "" if is_fine else "travel", (figures, figure("allowed", most, basis, unit=unit)),
    )  # fmt: skip


def _allowed(home: Homings, view: AxisView, unit: str) -> tuple[float | None, str]:
    """How far apart homings may end, and who says so: the trial, else the position window."""
    stated = size_of(home.allowed)
    if stated is not None:
        return float(stated.number()), "as the trial states"
    try:
        window = position(view.state, "position_window")
    except (Missing, DoesNotApply):
        window = None
    size = view.physical("position_window")
    is_kind = size is not None and size.unit == unit
    return (window if window and window > 0 and is_kind else None), WINDOW


def stop_findings(stops: tuple[TriedStop, ...], view: AxisView) -> Iterator[TrialFinding]:
    """Each measured stop against what behaviour says of one from that speed."""
    for stop in stops:
        way, speed = size_of(stop.way), size_of(stop.speed)
        if way is None or speed is None:
            continue
        size = Figure(float(way.number()), way.unit, "measured at the machine")
        said = STOPPED.format(by=BY[stop.by], speed=size_text(speed), way=in_words(size))
        figures = (figure("speed", speed, "held"), finding("way of the stop", size))
        try:
            expected = expected_stop(view.state, float(speed.number()), stop.by)
        except Missing as error:
            yield TrialFinding("stops", "told", _untold(said, error.names), figures=figures)
        except DoesNotApply:
            yield TrialFinding("stops", "told", UNTOLD_ALL.format(said=said), figures=figures)
        else:
            outcome, text = _judged_stop(size, expected, said)
            yield TrialFinding(
                "stops", outcome, text, "hazard" if outcome == "failed" else "",
                (*figures, finding("way by set and record", expected.way)),
            )  # fmt: skip


def _judged_stop(size: Figure, expected: ExpectedStop, said: str) -> tuple[Outcome, str]:
    way = expected.way
    if not isfinite(way.value):
        return "told", STOP_COASTS.format(said=said)
    shown, slack = with_bound(way), _BY_HAND.get(way.unit, 0.0)
    lag = ""
    if expected.lag:
        lag = LAG.format(most=in_words(Figure(expected.most, way.unit, "")))
    if size.value > expected.most * (1 + STOP_TOLERANCE) + slack:
        if way.bound in ("at_least", "unknown"):
            return "told", STOP_OPEN.format(said=said, expected=shown)
        return "failed", STOP_LONG.format(said=said, expected=shown, lag=lag)
    if way.bound == "exact" and size.value < way.value * (1 - STOP_TOLERANCE) - slack:
        return "told", STOP_SHORT.format(said=said, expected=shown)
    return "passed", STOP_FINE.format(said=said, expected=f"{shown}{lag}")


def drop_finding(drop: Measure, view: AxisView) -> TrialFinding:
    """How far the load sank as the brake closed, against the drop from a stand."""
    load_themes()
    measured = drop.physical()
    assert measured is not None, "it has a unit"
    size = Figure(float(measured.number()), measured.unit, "measured at the machine")
    said = SANK.format(drop=in_words(size))
    figures = (finding("drop", size),)
    known = fact_of(view.state, FACTS["drop from a stand"])
    if known is None or known.value is None:
        missing = known.missing if known is not None else ()
        return TrialFinding("drop", "told", _untold(said, missing), figures=figures)
    expected = Figure(known.value, known.unit or "", known.basis, known.bound)
    is_fine = size.value <= expected.value * (1 + STOP_TOLERANCE) + _BY_HAND.get(size.unit, 0.0)
    return TrialFinding(
        "drop", "passed" if is_fine else "failed",
        (SANK_FINE if is_fine else SANK_FAR).format(said=said, expected=in_words(expected)),
        "" if is_fine else "hazard", (*figures, finding("drop from a stand", expected)),
    )  # fmt: skip


def _untold(said: str, names: tuple[str, ...]) -> str:
    if not names:
        return UNTOLD_ALL.format(said=said)
    missing = "; ".join(to_enter(name).text for name in dict.fromkeys(names))
    return UNTOLD.format(said=said, missing=missing)


def _shown(measure: Measure) -> str:
    size = measure.physical()
    return str(measure) if size is None else size_text(size)
