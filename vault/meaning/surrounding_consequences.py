"""What follows from a difference beside the parameters: cabinet, link, mechanics, plates.

No export holds these, and people name cabinet settings as they like: those go by the words in their
names. Formulas: drop of a free load g t^2 / 2; way per motor turn L / G.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.meaning.changes import Surrounding
from vault.meaning.consequences import rank
from vault.meaning.findings import digits, seconds
from vault.meaning.physics import G0
from vault.meaning.scaling import travel_of
from vault.meaning.sentences import size_text, surrounding_sentence
from vault.model.quantities import Measure, Physical, UnknownUnit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.model.axis import AxisRecord


@dataclass(frozen=True, slots=True)
class _Case:
    """A difference with the machine on both sides."""

    around: Surrounding
    left: AxisRecord | None
    right: AxisRecord | None

    @property
    def hangs(self) -> bool:
        """Whether gravity pulls along the axis, on either side."""
        both = (record.mechanics for record in (self.left, self.right) if record is not None)
        return any(m is not None and m.orientation != "horizontal" for m in both)

    @property
    def ratio(self) -> float | None:
        """The right quantity over the left one; None where they do not compare."""
        one, other = _quantity(self.around.left), _quantity(self.around.right)
        if one is None or other is None or one.kind != other.kind or not one.ratio:
            return None
        return float(other.number() / one.number())


_Effect = Callable[[_Case], str]


def explained(
    found: Iterable[Surrounding],
    left: AxisRecord | None,
    right: AxisRecord | None,
    sides: tuple[str, str] | None = None,
) -> tuple[Surrounding, ...]:
    """Differences with their consequence and a sentence each, worst first.

    `left` and `right` are the axis records, `sides` name two different axes.
    """
    cases = (_Case(around, left, right) for around in found)
    told = [_explained(case, sides) for case in cases]
    return tuple(sorted(told, key=lambda around: (rank(around.consequence), around.path)))


def _explained(case: _Case, sides: tuple[str, str] | None) -> Surrounding:
    consequence, effect = _look_up(case)
    if sides is not None and effect is _ADDRESSED:  # two axes cannot have the same
        consequence, effect = "record", None
    said = surrounding_sentence(case.around, sides)
    more = effect(case) if effect is not None else ""
    return replace(
        case.around, consequence=consequence, explanation=f"{said} {more}" if more else said
    )


def _look_up(case: _Case) -> tuple[str, _Effect | None]:
    path = case.around.path
    for pattern, usual, hanging, effect in _RULES:
        if re.search(pattern, path):
            return (hanging if case.hangs else usual), effect
    return "record", None


def _quantity(value: object) -> Physical | None:
    if isinstance(value, Measure):
        return value.physical()
    try:
        return Measure.parse(str(value)).physical()
    except (ValueError, UnknownUnit):
        return None


def _says(text: str) -> _Effect:
    return lambda case: text


def _times(what: str) -> _Effect:
    """The ratio of the quantities, and what it acts on."""

    def effect(case: _Case) -> str:
        ratio = case.ratio
        return "" if ratio is None else f"That is {digits(ratio)} times as much{what}."

    return effect


def _way(case: _Case) -> str:
    """Way per motor turn before and after: L / G."""
    ways = []
    for record in (case.left, case.right):
        mechanics = record.mechanics if record is not None else None
        ways.append(travel_of(mechanics) if mechanics is not None else None)
    one, other = ways
    if one is None or other is None or one.per_turn.kind != other.per_turn.kind:
        return "The same set moves the axis otherwise: axisvault check tells whether it still fits."
    ratio = float(other.per_turn.number() / other.gear) / float(one.per_turn.number() / one.gear)
    if ratio == 1:
        return "A turn of the motor makes the same way."
    return (
        f"A turn of the motor makes {digits(ratio, 6)} times the way: every length and speed of "
        "the set is off by that until gear and feed are set for it."
    )


def _drop(case: _Case) -> str:
    """How far a free load falls until the brake holds: g t^2 / 2, less what is counterbalanced."""
    times = [_quantity(value) for value in (case.around.left, case.around.right)]
    if not case.hangs or any(time is None or time.kind != "time" for time in times):
        return ""
    before, after = (
        size_text(Physical(Fraction(G0) * time.number() ** 2 / 2, 0, "length", "m"))
        for time in times
        if time is not None
    )
    return f"A load that nothing holds meanwhile falls up to {after} instead of {before}."


def _weight(case: _Case) -> str:
    ratio = case.ratio
    if ratio is None:
        return ""
    said = f"The same torque accelerates {digits(1 / ratio, 3)} times as hard"
    masses = [_quantity(value) for value in (case.around.left, case.around.right)]
    if case.hangs and all(mass is not None for mass in masses):
        before, after = (digits(G0 * float(m.number())) for m in masses if m is not None)
        said += f", and {after} N hang on motor and brake instead of {before} N"
    return f"{said}."


def _interval(case: _Case) -> str:
    times = [_quantity(value) for value in (case.around.left, case.around.right)]
    if any(time is None or time.kind != "time" or not time.ratio for time in times):
        return _LINK
    one, other = (float(time.number()) for time in times if time is not None)
    return (
        f"The controller sends every {seconds(other)} instead of every {seconds(one)}: the drive's "
        "own interval and the watchdog must agree with that."
    )


_LINK = "Controller and drive must have the same, or the link does not start."
_ADDRESS = (
    "The controller looks for the drive there: with another address it finds none, or moves the "
    "axis of another drive."
)
_ADDRESSED = _says(_ADDRESS)
_STOPS = "Software limits must stop the axis before it: axisvault check tells whether they do."
_SAFE = "It belongs to a safety function: have it validated by the machine's own procedure."
_OVERTRAVEL = "Actuate the switch by hand and see that motion that way stops."

# path, consequence, consequence where the load hangs, what to say
_RULES: tuple[tuple[str, str, str, _Effect | None], ...] = (
    (r"^nameplate\.node_id$", "link", "link", _ADDRESSED),
    (r"^nameplate\.encoder", "travel", "travel", None),
    (r"^nameplate\.motor$", "electrical", "electrical", None),
    (r"^nameplate\.", "record", "record", None),
    (r"^designed\.", "record", "record", None),
    (r"^mechanics\.(kind|lead|pulley|pinion|pole|gearbox)", "travel", "hazard", _way),
    (r"^mechanics\.(hard_stop|stroke)", "travel", "travel", _says(_STOPS)),
    (r"^mechanics\.(orientation|inclination|counterbalance)", "hazard", "hazard",
     _says("What the brake has to hold follows from it.")),
    (r"^mechanics\.moving_mass", "dynamics", "hazard", _weight),
    (r"^mechanics\.", "dynamics", "dynamics", _times("")),
    (r"^brake\.apply_time", "electrical", "hazard", _drop),
    (r"^brake\.release_time", "electrical", "hazard",
     _says("The drive must wait as long before it moves: its brake release delay.")),
    (r"^brake\.", "electrical", "hazard", _times(" to hold the load with")),
    (r"^encoder\.", "travel", "travel", None),
    (r"^motor\.", "electrical", "electrical", _times("")),
    (r"^supply\.", "electrical", "electrical", _times("")),
    (r"^position_gain_unit", "dynamics", "hazard",
     _says("1 (m/min)/mm is 16.667 1/s: the same number is another stiffness.")),
    (r"^controller_link\..*(address|alias|node|station)", "link", "link", _ADDRESSED),
    (r"^controller_link\..*(interval|period|cycle)", "link", "link", _interval),
    (r"^controller_link\.", "link", "link", _says(_LINK)),
    (r"^cabinet\..*(safe|sto\b|emergency|e_stop|guard|door)", "hazard", "hazard", _says(_SAFE)),
    (r"^cabinet\..*(over_?travel|limit_?switch|end_?switch)", "hazard", "hazard",
     _says(_OVERTRAVEL)),
    (r"^cabinet\..*brake", "electrical", "hazard",
     _says("See that the brake opens, and holds when the drive is disabled.")),
    (r"^cabinet\..*(address|node|station|switch|dip|rotary)", "link", "link", _ADDRESSED),
    (r"^cabinet\..*(terminat|bus)", "link", "link", _says(_LINK)),
    (r"^cabinet\..*(supply|fuse|voltage|resistor|filter|phase|contactor)", "electrical",
     "electrical", None),
    (r"^cabinet\.", "electrical", "electrical",
     _says("No export holds it: compare it in the cabinet.")),
)  # fmt: skip
