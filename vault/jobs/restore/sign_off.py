"""Signing a restore off: somebody answers for it, by name, on the snapshot they looked at."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.jobs.restore.check import Checked, checked_before
from vault.jobs.restore.kept_plan import KeptPlan
from vault.jobs.restore.sheet_marks import ticks_of
from vault.jobs.restore.target import planned
from vault.jobs.state.selectors import State
from vault.jobs.trials.required import trial_objection
from vault.model.errors import Refused, WrongUsage
from vault.model.restore import RestoreRecord, SignOff
from vault.model.visible_text import one_line
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.restore_text import restore_text

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def untried(vault: Vault, checked: Checked | None) -> Refused | None:
    """Why an as-left state is not proven by a trial, where the site wants one."""
    if checked is None:
        return None
    address = checked.address
    return trial_objection(vault, State(f"{address}@as-left", vault, address, checked.snapshot))


def last_check(vault: Vault, address: Address) -> Checked | None:
    """The verdict about the axis's latest snapshot, where that was taken to check its plan."""
    plan, latest = planned(vault, address), vault.latest(address)
    if plan is None or latest is None or latest.record.restores != plan.id:
        return None
    return checked_before(vault, address, latest)


def _kept(vault: Vault, address: Address, plan: RestoreRecord) -> KeptPlan:
    return KeptPlan(vault, address, plan, vault.tip)


def unticked(vault: Vault, address: Address) -> str | None:
    """What nobody ticked on the sheet of the plan that holds, in words; None where nothing."""
    plan = planned(vault, address)
    return None if plan is None else ticks_of(_kept(vault, address, plan)).left


def sign_off(
    vault: Vault,
    address: Address,
    by: str,
    override_reason: str | None = None,
    *,
    seen: str | None = None,
    although_unticked: bool | None = None,
) -> RestoreRecord:
    """Record that a restore is done. Signing replaces no validation of the machine's safety.

    `seen` is the id of the as-left snapshot whose verdict somebody looked at. With
    `although_unticked` steps that nobody ticked on the sheet go into the reason, and where it is
    False a reason must be given for them; None passes over the sheet.
    Raises WrongUsage where nothing was checked, Refused where something is left, or not tried as
    the site wants it, and no reason is given, where it is signed off already, or where another
    export was checked since.
    """
    with vault.writing():
        address = vault.require_whole_axis(address)
        plan, checked = planned(vault, address), last_check(vault, address)
        if plan is None or checked is None:
            raise WrongUsage(
                f"no restore of {address} waits for a signature",
                hint=f"axisvault restore check {address} EXPORT, after a plan",
            )
        if plan.signed_off is not None and plan.signed_off.snapshot == checked.snapshot.id:
            raise Refused(f"{plan.signed_off.by} has signed this restore off already")
        if seen is not None and seen != checked.snapshot.id:
            raise Refused(
                f"another export of {address} was checked since", hint="look at that one first"
            )
        reason = one_line(override_reason)
        if not checked.is_restored and not reason:
            raise Refused(
                f"{address} is not restored", hint="finish it, or say why it may run: --even-so"
            )
        if (objection := untried(vault, checked)) is not None:
            if not reason:
                raise objection
            reason = f"{reason}; {objection.message}"
        if although_unticked is not None and (left := ticks_of(_kept(vault, address, plan)).left):
            if not (although_unticked or reason):
                raise Refused(left, hint="tick them, or say why it is signed although they are not")
            reason = f"{reason}; {left}" if reason else left
        signed = SignOff(by, now(), checked.snapshot.id, reason or None)
        record = replace(plan, signed_off=signed)
        trailers = f"Plan: {plan.id}\nSigned-Off: {checked.snapshot.id}\n"
        parts = [f"{address}: restore signed off", reason, trailers]
        message = "\n\n".join(part for part in parts if part)
        path = layout.restore_file(address)
        vault.write_files({path: restore_text(record)}, message, by)
    return record
