"""What a trial asks of an axis, with moves and speeds that suit it: for the file and the page."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import floor, isfinite, log10
from typing import TYPE_CHECKING

from vault.behaviour.behave import fact_of, load_themes
from vault.behaviour.facts import FACTS, Figure
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position_limits import hard_stops
from vault.behaviour.scale import is_linear
from vault.behaviour.speed import commanded_speed
from vault.behaviour.tried_stop import expected_stop
from vault.jobs.state.selectors import State, golden_state, view_of
from vault.jobs.trials.add import snapshot_at
from vault.meaning.findings import in_words, with_bound
from vault.meaning.trials.questions import questions_of
from vault.model.errors import VaultError
from vault.model.quantities import Measure, Physical, convert, normal, plain, rounded_decimal
from vault.model.unit_table import SI_UNIT
from vault.store.clock import now

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.trials.questions import Question
    from vault.model.names import Address
    from vault.store.vault import Vault

CAUTIONS = (
    "Keep people out: a machine may start unexpectedly (ISO 14118). Work under the local rules and "
    "the machine's own risk assessment; only qualified people, licensed where that is required.",
    "Keep the order: it is the safe one. Go on only when what stands above has passed.",
    "This is no acceptance of safety functions: that is another paper.",
)
_UNITS = {"length": "mm", "angle": "deg", "velocity": "mm/s", "angular_velocity": "deg/s"}
_SHARES = (0.25, 1.0)
"""Shares of the speed that may be commanded, at which stops are suggested; our own choice."""


@dataclass(frozen=True, slots=True)
class SuggestedStop:
    """A speed to stop from, and what set and record say of the way; empty for nothing."""

    speed: Measure
    expected: str


@dataclass(frozen=True, slots=True)
class TrialForm:
    """What is asked of an axis: questions in the safe order, and what suits it to try.

    `state` is the set that is in force, `is_golden` whether it is the approved one, None where none
    is approved. `moves` are ways to command, `allowed` how far homings may lie apart, by the set's
    window; `drop` what the load may sink.
    """

    address: Address
    state: State
    is_golden: bool | None
    questions: tuple[Question, ...]
    moves: tuple[Measure, ...]
    stops: tuple[SuggestedStop, ...]
    allowed: Measure | None
    drop: str
    way_unit: str
    speed_unit: str


def trial_form(vault: Vault, address: Address) -> TrialForm:
    """The form of an axis. Raises WrongUsage where it has no parameter set to belong to."""
    address = vault.require_whole_axis(address)
    snapshot = snapshot_at(vault, address, now())
    state = State(str(address), vault, address, snapshot, True)
    view = view_of(state)
    questions = questions_of(view)
    keys = {question.key for question in questions}
    straight = view.state.asked(is_linear) is not False
    way = "length" if straight else "angle"
    return TrialForm(
        address, state, _is_golden(vault, address, snapshot.id), questions,
        _moves(view, way) if "moves" in keys else (),
        _stops(view, straight) if "stops" in keys else (),
        _allowed(view, way) if "home" in keys else None,
        _drop(view) if "drop" in keys else "",
        _UNITS[way], _UNITS["velocity" if straight else "angular_velocity"],
    )  # fmt: skip


def _is_golden(vault: Vault, address: Address, latest: str) -> bool | None:
    try:
        golden = golden_state(vault, address)
    except VaultError:  # none is approved
        return None
    return golden.snapshot is not None and golden.snapshot.id == latest


def _moves(view: AxisView, way: str) -> tuple[Measure, ...]:
    """There and back: the reference move, else a tenth of what lies between the stops."""
    mechanics, unit = view.mechanics, _UNITS[way]
    size = mechanics.reference_move if mechanics is not None else None
    if size is None or (known := size.physical()) is None or known.kind != way:
        size = _tenth(view, unit)
    return size, Measure(-size.value, size.unit)


def _tenth(view: AxisView, unit: str) -> Measure:
    ends = view.state.asked(hard_stops)
    like = "m" if unit == "mm" else "rad"
    if ends is None:
        return Measure.parse(f"10 {unit}" if unit == "mm" else f"90 {unit}")
    return _rounded(ends.apart / 10, like, unit, 1)


def _rounded(size: float, source: str, unit: str, digits: int) -> Measure:
    """A figure in a unit that people measure in, with few digits."""
    number = float(convert(_exact(size), source, unit))
    places = digits - 1 - floor(log10(abs(number))) if number else 0
    return Measure(normal(rounded_decimal(_exact(round(number, places)))), unit)


def _exact(number: float) -> Fraction:
    return Fraction(repr(number))


def _stops(view: AxisView, straight: bool) -> tuple[SuggestedStop, ...]:
    most = view.state.asked(commanded_speed)
    if most is None or most.value <= 0 or not isfinite(most.value):
        return ()
    source, unit = ("m/s", "mm/s") if straight else ("rad/s", "deg/s")
    found = []
    for share in _SHARES:
        speed = _rounded(most.value * share, source, unit, 2)
        size = speed.physical()
        expected = _expected(view, size) if size is not None else ""
        found.append(SuggestedStop(speed, expected))
    return tuple(found)


def _expected(view: AxisView, speed: Physical) -> str:
    try:
        stop = expected_stop(view.state, float(speed.number()), "quick_stop")
    except (Missing, DoesNotApply):
        return ""
    if not isfinite(stop.way.value):
        return ""
    shown = with_bound(stop.way)
    if not stop.lag:
        return shown
    return f"{shown}, {in_words(Figure(stop.most, stop.way.unit, ''))} with what it lags"


def _allowed(view: AxisView, way: str) -> Measure | None:
    """The position window of the set, as people write it."""
    size = view.physical("position_window")
    if size is None or size.kind != way or size.number() <= 0:
        return None
    unit = _UNITS[way]
    return Measure(rounded_decimal(convert(size.number(), SI_UNIT[way], unit), 4), unit)


def _drop(view: AxisView) -> str:
    load_themes()
    known = fact_of(view.state, FACTS["drop from a stand"])
    if known is None or known.value is None:
        return ""
    return in_words(Figure(known.value, known.unit or "", known.basis))


def suggested_text(measure: Measure) -> str:
    """A suggestion as it is written into the file or the field."""
    return f"{plain(measure.value)} {measure.unit}"
