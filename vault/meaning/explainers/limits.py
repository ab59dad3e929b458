"""Software limits and position range: how far the axis may go, against its stroke."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import WAY, chosen_in, of_kind, sized
from vault.meaning.explainers.ramps import stop_basis, stop_of, top
from vault.meaning.explainers.rooms import rooms, shortage, stops_for
from vault.meaning.findings import figure, length_or_angle, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.quantities import Physical

LOW, HIGH = "min_software_position_limit", "max_software_position_limit"
_ROUNDING = 1e-9  # m or rad
_USED = "software_position_limits_used"


def both_nought(view: AxisView) -> bool:
    """Whether both limits are zero, which switches them off (CiA 402 practice, from memory)."""
    return view.number(LOW) == view.number(HIGH) == 0


def are_off(view: AxisView) -> bool | None:
    """Whether software limits do not act; None where the set has none."""
    if view.find(LOW) is None and view.find(HIGH) is None:
        return None
    return both_nought(view) or chosen_in(view, _USED) == 0


@explains(LOW, HIGH)
def software_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Travel gained or lost, against stroke and stopping distance."""
    upper = change.shown.role == HIGH
    end = "positive" if upper else "negative"
    if change.right is None:
        off = are_off(left)
        text = f"Without it the set has no software limit at the {end} end."
        return Explanation(text, "travel" if off else "hazard")
    if both_nought(right):
        return Explanation(
            "Both software limits are zero, which commonly switches them off: the axis runs on to "
            "its over-travel switches or hard stops.",
            "travel" if are_off(left) and change.left is not None else "hazard",
        )
    if chosen_in(right, _USED) == 0:
        return Explanation("Software limits are switched off: it has no effect.", "travel")
    before, after = of_kind(change.left_physical, WAY), of_kind(change.right_physical, WAY)
    if after is None:
        return None
    findings: list[Finding] = []
    said: list[str] = []
    outward = False
    if before is not None and before.kind == after.kind:
        gap = float((after - before).number())
        outward = gap > 0 if upper else gap < 0
        findings.append(figure("limit moved by", gap, "right less left", like=after))
        if are_off(left):
            said.append(f"The axis stops at it at its {end} end; the other set has the limits off.")
            outward = False
        elif gap:
            said.append(
                f"The axis may go {length_or_angle(abs(gap), after)} "
                f"{'farther' if outward else 'less far'} at its {end} end."
            )
    bad = _between(after, left, right, said, findings)
    bad = _against_stop(upper, after, right, said) or bad
    if not bad and (outward or before is None):
        bad = _against_ramp(end, after, right, said)
    return Explanation(" ".join(said), "hazard" if bad or outward else "travel", tuple(findings))


def _between(
    after: Physical, left: AxisView, right: AxisView, said: list[str], findings: list[Finding]
) -> bool:
    """Travel between the limits; tells whether they are out of order."""
    travels = []
    for view in (left, right):
        low, high = sized(view, LOW, (after.kind,)), sized(view, HIGH, (after.kind,))
        known = low is not None and high is not None and not are_off(view)
        travels.append(float((high - low).number()) if known and low and high else None)
    if travels[1] is None:
        return False
    findings.append(figure("travel between the limits", travels[1], "upper less lower", like=after))
    if travels[1] <= 0:
        said.append("The lower limit is not below the upper one.")
        return True
    text = f"Between the limits lie {length_or_angle(travels[1], after)}"
    if travels[0] is not None and travels[0] != travels[1] and travels[0] > 0:
        text += f" instead of {length_or_angle(travels[0], after)}"
    said.append(f"{text}.")
    return False


def _against_stop(upper: bool, after: Physical, view: AxisView, said: list[str]) -> bool:
    stops = stops_for(view, after)
    if stops is None:
        return False
    position, stop = float(after.number()), stops[1 if upper else 0]
    if (position <= stop + _ROUNDING) if upper else (position >= stop - _ROUNDING):
        return False
    beyond = length_or_angle(abs(position - stop), after)
    said.append(
        f"It lies {beyond} beyond the hard stop at {length_or_angle(stop, after)}: "
        "the axis meets the stop first."
    )
    return True


def _against_ramp(end: str, after: Physical, view: AxisView, said: list[str]) -> bool:
    """Whether a quick stop that starts at the limit ends beyond the hard stop."""
    velocity, stop = top(view), stop_of(view, "quick_stop_deceleration")
    room = dict(rooms(view)).get(end)
    if velocity is None or stop is None or room is None or stop[1] <= room + _ROUNDING:
        return False
    said.append(
        f"To the hard stop there are {length_or_angle(room, after)}; a quick stop from "
        f"{speed(float(velocity.number()), velocity)} takes {length_or_angle(stop[1], after)}."
    )
    return True


@explains(_USED)
def limits_used(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Limits that are switched off protect nothing."""
    used, was = chosen_in(right, _USED), chosen_in(left, _USED)
    if used is None:
        if change.right is None and was:
            text = "Without it the set does not say whether software limits stop the axis."
            return Explanation(text, "hazard")
        return None
    if used == 0:
        idle = was == 0 or both_nought(left)
        return Explanation(
            "Software limits do not stop the axis: it runs on to its over-travel switches or hard "
            "stops.",
            "travel" if idle else "hazard",
        )
    if both_nought(right):
        return Explanation(
            "Both limits are zero, though, which commonly switches them off.", "hazard"
        )
    low, high = sized(right, LOW, WAY), sized(right, HIGH, WAY)
    if low is None or high is None:
        return Explanation("Software limits stop the axis.", "travel")
    findings: list[Finding] = []
    said = [
        f"Software limits stop the axis at {length_or_angle(float(low.number()), low)} and "
        f"{length_or_angle(float(high.number()), high)}."
    ]
    stop, ramp = stop_of(right, "quick_stop_deceleration"), top(right)
    if stop is not None and ramp is not None and (short := shortage(right, stop[1], ramp)):
        findings.append(figure("way of a quick stop", stop[1], stop_basis(right), like=ramp))
        said.append(f"A quick stop takes {length_or_angle(stop[1], ramp)}, {short}.")
    return Explanation(" ".join(said), "travel", tuple(findings))


@explains("min_position_range_limit", "max_position_range_limit")
def position_range(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Where position values start over (607Bh, from memory), against the stroke."""
    low = sized(right, "min_position_range_limit", WAY)
    high = sized(right, "max_position_range_limit", WAY)
    if low is None or high is None or low.kind != high.kind:
        return None
    size = float((high - low).number())
    if size <= 0:
        return Explanation("The range has no length: positions do not start over.", "travel")
    findings = (figure("position range", size, "upper less lower", like=high),)
    text = (
        f"Position values run over {length_or_angle(size, high)} and then start over at the "
        "other end."
    )
    stroke, travel = right.stroke, right.scaling.travel
    fits = travel is None or travel.per_turn.kind == high.kind
    if stroke is not None and fits and size < stroke:
        text += (
            f" The stroke is {length_or_angle(stroke, high)}: values stand for two places in it."
        )
        return Explanation(text, "hazard", findings)
    return Explanation(text, "travel", findings)
