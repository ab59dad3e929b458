"""Software limits, over-travel inputs and what inputs do."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import figure, length_or_angle

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

_PROTECTIVE = {
    "positive over-travel": "the over-travel switch at the positive end no longer stops the axis",
    "negative over-travel": "the over-travel switch at the negative end no longer stops the axis",
    "quick stop": "the quick-stop input no longer stops the axis",
    "halt": "the halt input no longer stops the axis",
    "enable": "the hardware enable no longer holds the axis back",
    "external fault": "an external fault no longer stops the axis",
    "homing switch": "homing no longer finds its switch",
}
_LOW, _HIGH = "min_software_position_limit", "max_software_position_limit"


@explains(_LOW, _HIGH)
def software_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Travel gained or lost, against the stroke."""
    before, after = change.left_physical, change.right_physical
    if before is None or after is None or before.kind != after.kind:
        return None
    gap = float((after - before).number())
    upper = str(change.shown.role).startswith("max")
    outward = gap > 0 if upper else gap < 0
    findings: list[Finding] = [figure("limit moved by", gap, "right less left", like=after)]
    way = length_or_angle(abs(gap), after)
    end = "positive" if upper else "negative"
    text = f"The axis may go {way} {'farther' if outward else 'less far'} at its {end} end"
    stops = right.hard_stops
    position = float(after.number())
    stop = stops[1 if upper else 0] if stops else None
    if stop is not None and (position > stop if upper else position < stop):
        text += f", beyond the hard stop at {length_or_angle(stop, after)}"
        return Explanation(f"{text}.", "hazard", tuple(findings))
    return Explanation(f"{text}.", "hazard" if outward else "travel", tuple(findings))


@explains("software_position_limits_used")
def limits_used(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Limits that are switched off protect nothing."""
    if right.choice("software_position_limits_used") == 0:
        return Explanation("The software limits no longer stop the axis.", "hazard")
    return Explanation("The software limits now stop the axis.", "travel")


@explains("digital_input_function")
def input_function(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A protective input that is taken away, or turned around, is a hazard."""
    before = (change.left.label or "") if change.left is not None else ""
    after = (change.right.label or "") if change.right is not None else ""
    lost = _meaning(before)
    if lost is not None and _meaning(after) != lost and not _elsewhere(right, before, change):
        return Explanation(f"With that, {lost}.", "hazard")
    if lost is not None and _meaning(after) != lost:
        return Explanation(f"{before} is now read from another input.", "travel")
    if _meaning(after) is not None:
        return Explanation(f"The input now serves {after.lower()}.", "travel")
    return None


def _meaning(label: str) -> str | None:
    wanted = label.casefold()
    return next((text for name, text in _PROTECTIVE.items() if name in wanted), None)


def _elsewhere(view: AxisView, label: str, change: Change) -> bool:
    """Whether another input has taken over the function."""
    wanted = label.casefold()
    roles = ["digital_input_function", *(f"digital_input_function.{n}" for n in range(1, 33))]
    for role in roles:
        parameter = view.find(role)
        if parameter is None or parameter.code == change.shown.code or not parameter.label:
            continue
        if parameter.label.casefold() == wanted:
            return True
    return False


@explains("digital_input_inverted")
def inverted(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An input read the other way round: a broken wire may no longer stop the axis."""
    return Explanation(
        "The input is read the other way round: check that a broken wire still stops the axis.",
        "hazard",
    )


@explains("overtravel_reaction")
def overtravel(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the drive does at the end of its way."""
    label = (change.right.label or "") if change.right is not None else ""
    weak = "no reaction" in label.casefold() or "warning" in label.casefold()
    if weak:
        return Explanation("An over-travel switch no longer stops the axis.", "hazard")
    return Explanation("This is what the drive does at an over-travel switch.", "travel")
