"""With which torque the motor pushed against the closed brake, against what the load needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure
from vault.behaviour.force import hold_torque, rated_torque
from vault.meaning.changes import Finding
from vault.meaning.findings import digits, finding, in_reader_units
from vault.meaning.trials.verdict import TrialFinding

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.trial import TrialRecord

PUSHED = "{said} The motor pushed with {torque}"
TIMES = ", {times} times what the load pulls with ({need})."
TOO_LITTLE = ": less than the load pulls with ({need}), so that it proves little."


def pushed(check: str, said: str, record: TrialRecord, view: AxisView) -> TrialFinding:
    """A check that passed; of the brake, with the torque that it held against."""
    effort = record.brake.torque
    if check != "brake.holds" or effort is None:
        return TrialFinding(check, "passed", said)
    told = PUSHED.format(said=said, torque=str(effort).replace("percent", "%"))
    figures = (Finding("torque against the brake", str(effort.value), effort.unit, "measured"),)
    need, size = view.state.asked(hold_torque), _at_motor(record, view)
    if need is None or size is None or need.value <= 0 or size.unit != need.unit:
        return TrialFinding(check, "passed", f"{told}.", figures=figures)
    text = TIMES if size.value >= need.value else TOO_LITTLE
    shown = in_reader_units(need.value, need.unit)
    told += text.format(times=digits(size.value / need.value, 2), need=shown)
    return TrialFinding(
        check, "passed", told, figures=(*figures, finding("torque to hold the load", need))
    )


def _at_motor(record: TrialRecord, view: AxisView) -> Figure | None:
    """The torque in N*m, or the force in N of a linear motor; of a share by the rated torque."""
    size = record.brake.torque.physical() if record.brake.torque is not None else None
    if size is None:
        return None
    if size.kind != "ratio":
        return Figure(float(size.number()), size.unit, "measured")
    rated, need = view.state.asked(rated_torque), view.state.asked(hold_torque)
    if rated is None or need is None:
        return None
    return Figure(rated * float(size.number()), need.unit, "share of the rated torque")
