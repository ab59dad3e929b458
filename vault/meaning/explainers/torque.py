"""Torque and current limits: what force they leave, and whether a hanging load is still held."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding


def thrust(view: AxisView, torque: float) -> float | None:
    """Force (N) of a linear axis at a motor torque in N*m; None for rotary or unknown ones."""
    travel = view.scaling.travel
    if travel is None or travel.per_turn.kind != "length":
        return None
    return physics.drive_force(
        torque, float(travel.per_turn.number()), float(travel.gear), view.efficiency
    )


def holding_torque(view: AxisView) -> float | None:
    """Motor torque (N*m) that the hanging load needs at rest, without help of friction."""
    travel, force = view.scaling.travel, view.gravity_force
    if not force or travel is None or travel.per_turn.kind != "length":
        return None
    return physics.torque_for_force(force, float(travel.per_turn.number()), float(travel.gear))


@explains("max_torque", "positive_torque_limit", "negative_torque_limit", "max_current")
def limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Torque, thrust, and whether the load can be held and lifted."""
    before, after = change.left_physical, change.right_physical
    if after is None:
        return None
    torque = _torque(change, right)
    findings: list[Finding] = [figure("limit", after, "permille of the rating")]
    said = []
    raised = before is not None and after.number() > before.number()
    if torque is not None:
        said.append(f"That is {digits(torque)} N*m at the motor{_force(right, torque, findings)}.")
    held = _held(right, torque, findings) if torque is not None else None
    if held is not None and not held[0]:
        said.append(held[1])
        return Explanation(" ".join(said), "hazard", tuple(findings))
    if held is not None:
        said.append(held[1])
    if raised:
        said.append("The axis can push harder against whatever, or whoever, is in its way.")
        return Explanation(" ".join(said), "hazard", tuple(findings))
    said.append("Less is left for acceleration; following errors may grow.")
    return Explanation(" ".join(said), "dynamics", tuple(findings))


def _torque(change: Change, view: AxisView) -> float | None:
    size = change.right_physical
    if size is None:
        return None
    if size.kind == "torque":
        return float(size.number())
    rated_torque, rated_current = view.scaling.rated_torque, view.scaling.rated_current
    if size.kind != "current" or rated_torque is None or rated_current is None:
        return None
    # Torque in proportion to current (permanent-magnet motor below saturation; common practice,
    # no source).
    return float(size.number() / rated_current.number() * rated_torque.number())


def _force(view: AxisView, torque: float, findings: list[Finding]) -> str:
    force = thrust(view, torque)
    if force is None:
        return ""
    findings.append(figure("thrust", force, "F = 2 pi eta G T / L", unit="N"))
    return f", {digits(force)} N of thrust"


def _held(view: AxisView, torque: float, findings: list[Finding]) -> tuple[bool, str] | None:
    needed = holding_torque(view)
    if needed is None:
        return None
    findings.append(figure("torque to hold the load", needed, "T = m g L / (2 pi G)", unit="N*m"))
    if torque < needed:
        return False, f"The load needs {digits(needed)} N*m to be held: it will sink."
    spare = torque - needed
    if spare < 0.3 * needed:
        return (
            True,
            f"Holding the load takes {digits(needed)} N*m of it: hardly any is left to lift.",
        )
    return True, f"Holding the load takes {digits(needed)} N*m of it."


@explains("motor_rated_torque", "motor_rated_current")
def rating(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A rating scales every value that is given in permille of it."""
    return Explanation(
        "Every limit and value in permille of it changes with it; it must be the one on the "
        "motor's nameplate.",
        "electrical",
    )
