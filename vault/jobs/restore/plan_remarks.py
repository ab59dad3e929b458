"""What a person must know of a restore plan before the load file is used."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.restore.controller_side import changed_program
from vault.jobs.state.check import check_state
from vault.jobs.state.cross_checks import cross_checks
from vault.jobs.state.sides import controller_state
from vault.meaning.controller_side import MISFIT
from vault.model.errors import VaultError
from vault.model.wording import plural

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from vault.jobs.state.selectors import State
    from vault.meaning.checks import Complaint
    from vault.meaning.hardware import HardwareMatch
    from vault.meaning.loading import Prepared


def plan_remarks(
    target: State, match: HardwareMatch, rows: Sequence[Prepared], left: Collection[str]
) -> list[str]:
    """Remarks on what is loaded, what is not, and on the target itself.

    `left` are the codes whose proposed correction is not made.
    """
    remarks = []
    unknown = [r for r in rows if r.loaded and r.definition and not r.definition.is_known]
    if unknown:
        values = plural(len(unknown), "value")
        remarks.append(
            f"{values} in the load file that the dictionary does not know: nothing tells which of "
            "them belongs to the hardware or to a safety function; look them through first"
        )
    if wanted := [row for row in match.corrections if row.target.code in left]:
        remarks.append(
            f"{plural(len(wanted), 'value')} would have to be corrected for the fitted "
            "hardware; the load file has them as they were: --adapt corrects them"
        )
    if beyond := [r for r in rows if r.status == "out_of_range" and r.target.code in left]:
        remarks.append(
            f"{plural(len(beyond), 'value')} beyond the range of the drive: not in the load file; "
            "--adapt takes the nearest limit"
        )
    try:
        complaints, across = check_state(target), _across(target)
    except VaultError as error:
        return [*remarks, f"plausibility was not checked: {error}"]
    remarks += [
        f"the target itself is not plausible: {complaint.sentence}"
        for complaint in complaints
        if complaint.consequence in ("hazard", "travel")
    ]
    remarks += [f"{MISFIT}: {complaint.sentence}" for complaint in across]
    if target.vault is not None and target.address is not None:
        remarks += filter(None, [changed_program(target.vault, target.address, target)])
    return remarks


def _across(target: State) -> list[Complaint]:
    """What does not fit between the target and the program that the controller has now."""
    if target.vault is None or target.address is None:
        return []
    controller = controller_state(target.vault, target.address)
    return [] if controller is None else cross_checks(target, controller)
