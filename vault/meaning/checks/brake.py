"""The holding brake: fitted and used, strong enough, and waited for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import BRAKE, MECHANICS, codes, recorded, stated
from vault.meaning.explainers.meanings import chosen_in, sized
from vault.meaning.explainers.torque import holding_torque
from vault.meaning.findings import digits, figure, seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.axis import Brake

_TIME = ("time",)
_APPLY, _RELEASE, _USED = "brake_apply_delay", "brake_release_delay", "brake_used"


def _fitted(view: AxisView) -> Brake | None:
    """The brake of the record; None where none is recorded, or none is fitted."""
    return view.axis.brake if view.axis is not None and view.has_brake else None


@rule
def brake(view: AxisView) -> Iterator[Complaint]:
    """A hanging load is held by the motor until the brake has closed."""
    if not view.is_vertical or view.has_brake is False or _pull(view) <= 0:
        return
    used, upright = view.find(_USED), view.mechanics and view.mechanics.orientation == "vertical"
    if used is not None and chosen_in(view, _USED) == 0:
        if view.has_brake:
            said = (
                "The axis hangs, and the drive does not work its brake: unless the controller "
                "works it, the load falls with power off, or the motor drives against it."
            )
        else:
            said = "The axis hangs, and the drive works no brake; none is recorded either."
        if view.has_brake or upright:
            yield Complaint("brake", "hazard", said, (used.code, BRAKE), (stated(used),))
        return
    fitted, given = _fitted(view), sized(view, _APPLY, _TIME)
    needed = recorded(fitted.apply_time, "time") if fitted is not None else None
    if needed is None or given is None:
        return
    free = needed - max(float(given.number()), 0.0)
    if free > 1e-9:
        yield _late(view, needed, free)


def _late(view: AxisView, needed: float, free: float) -> Complaint:
    text = (
        f"The brake closes in {seconds(needed)}, the drive waits {seconds(needed - free)}: for "
        f"{seconds(free)} nothing holds the load"
    )
    findings: tuple[Finding, ...] = (figure("time that nothing holds", free, BRAKE, unit="s"),)
    pull = _pull(view)
    if pull > 0:
        way = formulas.drop(free) * pull
        text += f", which drops {digits(way * 1000)} mm"
        basis = "g t^2 / 2" if pull == 1 else "g t^2 / 2 x sin(slope) x (1 - counterbalance)"
        findings += (figure("drop while nothing holds", way, basis, unit="m"),)
    return Complaint("brake", "hazard", f"{text}.", (*codes(view, _APPLY), BRAKE), findings)


def _pull(view: AxisView) -> float:
    """Share of gravity that pulls the load, less slope and counterbalance; 1 if not recorded."""
    mass = view.moving_mass
    return view.gravity_force / (mass * formulas.G0) if mass else 1.0


@rule
def unused_brake(view: AxisView) -> Iterator[Complaint]:
    """A brake that is fitted on an axis that does not hang, and that the drive does not work."""
    used = view.find(_USED)
    if view.is_vertical or _fitted(view) is None or used is None or chosen_in(view, _USED) != 0:
        return
    yield Complaint(
        "unused_brake",
        "electrical",
        "A brake is fitted that the drive does not work: unless the controller works it, the "
        "motor drives against a closed brake.",
        (used.code, BRAKE),
        (stated(used),),
    )


@rule
def missing_brake(view: AxisView) -> Iterator[Complaint]:
    """A brake that the drive works, and that is not there."""
    used = view.find(_USED)
    if view.has_brake is not False or used is None or not chosen_in(view, _USED):
        return
    more = ": with power off nothing holds the load" if view.is_vertical else ""
    yield Complaint(
        "missing_brake",
        "hazard" if view.is_vertical else "electrical",
        f"The drive works a brake, but none is fitted{more}.",
        (used.code, BRAKE),
        (stated(used),),
    )


@rule
def brake_release(view: AxisView) -> Iterator[Complaint]:
    """The axis starts when the brake is open."""
    fitted, given = _fitted(view), sized(view, _RELEASE, _TIME)
    needed = recorded(fitted.release_time, "time") if fitted is not None else None
    if needed is None or given is None or chosen_in(view, _USED) == 0:
        return
    missing = needed - float(given.number())
    if missing <= 1e-9:
        return
    yield Complaint(
        "brake_release",
        "dynamics",
        f"The brake opens in {seconds(needed)}, the drive starts after "
        f"{seconds(float(given.number()))}: the motor pulls against a closed brake, which wears.",
        (*codes(view, _RELEASE), BRAKE),
        (figure("time against the brake", missing, "release time less delay", unit="s"),),
    )


@rule
def brake_torque(view: AxisView) -> Iterator[Complaint]:
    """The brake holds the load that hangs: m g L / (2 pi G) at the motor."""
    fitted, needed = _fitted(view), holding_torque(view)
    holding = recorded(fitted.holding_torque, "torque") if fitted is not None else None
    place: tuple[str, ...] = (BRAKE,)
    if holding is None and view.has_brake is not False:
        size, place = sized(view, "brake_torque", ("torque",)), codes(view, "brake_torque")
        holding = float(size.number()) if size is not None else None
    if needed is None or not holding or holding < 0 or holding >= needed:
        return
    yield Complaint(
        "brake_torque",
        "hazard",
        f"The brake holds {digits(holding)} N*m, the load pulls with {digits(needed)} N*m at the "
        "motor: it slips.",
        (*place, MECHANICS),
        (figure("torque to hold the load", needed, "m g L / (2 pi G)", unit="N*m"),),
    )
