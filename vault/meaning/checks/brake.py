"""The holding brake: fitted and used, strong enough, and waited for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.formulas import G0
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import BRAKE, MECHANICS, stated
from vault.meaning.explainers.meanings import chosen_in
from vault.meaning.findings import figure
from vault.model.axis import TURNING

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.axis import Brake

NOT_WORKED = {
    "fitted": "The axis hangs, and the drive does not work its brake: unless the controller works "
    "it, the load falls with power off, or the motor drives against it.",
    "not recorded": "The axis hangs, and the drive works no brake; none is recorded either.",
}
MAY_HANG = (
    "Whether the load hangs is not recorded: what must hold it, and a stop downwards, cannot be "
    "told. Enter mechanics.orientation."
)
CLOSED = (
    "A brake is fitted that the drive does not work: unless the controller works it, the motor "
    "drives against a closed brake."
)
NOT_FITTED = {
    "lies": "The drive works a brake, but none is fitted.",
    "hangs": "The drive works a brake, but none is fitted: with power off nothing holds the load.",
}

_TIME = ("time",)
_USED = "brake_used"


def _fitted(view: AxisView) -> Brake | None:
    """The brake of the record; None where none is recorded, or none is fitted."""
    return view.axis.brake if view.axis is not None and view.has_brake else None


@rule
def brake(view: AxisView) -> Iterator[Complaint]:
    """What hangs has a brake that somebody works."""
    if not view.is_vertical or view.has_brake is False:
        return
    used, upright = view.find(_USED), view.mechanics and view.mechanics.orientation == "vertical"
    if used is not None and chosen_in(view, _USED) == 0:
        said = NOT_WORKED["fitted" if view.has_brake else "not recorded"]
        if view.has_brake or upright:
            yield Complaint("brake", "hazard", said, (used.code, BRAKE), (stated(used),))


@rule
def orientation(view: AxisView) -> Iterator[Complaint]:
    """Whether a load hangs decides what must hold it: that is recorded, and not taken for no."""
    mechanics = view.mechanics
    if mechanics is None or mechanics.kind in TURNING or mechanics.orientation is not None:
        return
    yield Complaint(
        "orientation",
        "record",
        MAY_HANG,
        (MECHANICS,),
        (figure("fall of what nothing holds", G0, "standard gravity, if it hangs", unit="m/s^2"),),
    )


@rule
def unused_brake(view: AxisView) -> Iterator[Complaint]:
    """A brake that is fitted on an axis that does not hang, and that the drive does not work."""
    used = view.find(_USED)
    if view.is_vertical or _fitted(view) is None or used is None or chosen_in(view, _USED) != 0:
        return
    yield Complaint(
        "unused_brake",
        "electrical",
        CLOSED,
        (used.code, BRAKE),
        (stated(used),),
    )


@rule
def missing_brake(view: AxisView) -> Iterator[Complaint]:
    """A brake that the drive works, and that is not there."""
    used = view.find(_USED)
    if view.has_brake is not False or used is None or not chosen_in(view, _USED):
        return
    yield Complaint(
        "missing_brake",
        "hazard" if view.is_vertical else "electrical",
        NOT_FITTED["hangs" if view.is_vertical else "lies"],
        (used.code, BRAKE),
        (stated(used),),
    )
