"""The life of a golden baseline: approving, waiving, withdrawing."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from vault.jobs.state.check import check_state
from vault.jobs.state.compare import built
from vault.jobs.state.selectors import State, golden_state, resolve, view_of
from vault.jobs.state.whole_set import check_whole, taken_in_although
from vault.jobs.trials.required import trial_objection
from vault.meaning.drift import in_force
from vault.model import roles
from vault.model.errors import Refused, WrongUsage
from vault.model.golden import Allowance, Approval, Golden, Waiver, same_person
from vault.model.parameters import canonical_code, code_order
from vault.model.visible_text import one_line
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.golden_text import golden_text
from vault.store.vault import FileEdit

if TYPE_CHECKING:
    from vault.jobs.baseline.waiver_request import WaiverRequest
    from vault.meaning.checks import Complaint
    from vault.model.names import Address
    from vault.model.parameters import Parameter
    from vault.model.site import ApprovalPolicy
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Baseline:
    """The baseline of an axis: its own file, the axis it follows, and the approved state.

    `state` is None where nothing is approved.
    """

    address: Address
    golden: Golden
    follows: Address | None
    approval: Approval | None
    state: State | None

    @property
    def warnings(self) -> tuple[str, ...]:
        """What a reader should know of the set that is approved."""
        told = taken_in_although(self.state) if self.state is not None else None
        return () if told is None else (told,)


def show(vault: Vault, address: Address) -> Baseline:
    """The baseline that holds for an axis. Raises WrongUsage if there is no such axis."""
    address = vault.require_axis(address)
    follows = vault.follows(address)
    approval = vault.golden(follows or address).approval
    state = golden_state(vault, address) if approval is not None else None
    return Baseline(address, vault.golden(address), follows, approval, state)


def approve(
    vault: Vault,
    selector: str,
    by: str,
    reason: str | None,
    accepted: Iterable[str] = (),
    override_reason: str | None = None,
) -> Golden:
    """Make a snapshot the golden baseline of its axis; waivers that still hold are kept.

    Raises what `proposed` raises, and WrongUsage for a finding that is accepted and not there.
    """
    with vault.writing():
        state = resolve(vault, selector)
        complaints, allowed = check_state(state), set(accepted)
        golden = proposed(vault, state, by, reason, complaints, allowed, override_reason)
        _check_accepted(complaints, allowed)
        vault.write_each([approval_edit(golden, state, by)])
    return golden


def proposed(
    vault: Vault,
    state: State,
    by: str,
    reason: str | None,
    complaints: Collection[Complaint],
    accepted: Collection[str],
    override_reason: str | None,
) -> Golden:
    """The baseline that an approval would make of a snapshot; nothing is written.

    Raises Refused where the site's policy does not allow it, or where the set is not whole, or not
    tried as the site wants it, and no `override_reason` is given; WrongUsage for what is no
    snapshot. `complaints` are what `check` finds; those of the `accepted` rules are recorded with
    it.
    """
    address, snapshot = _check_approvable(vault, state)
    even_so = check_whole(state, override_reason, "golden baseline")
    policy = vault.site_record.approval
    if objection := policy_objection(policy, state, by, reason, complaints, accepted):
        raise objection
    if untried := trial_objection(vault, state):
        even_so = one_line(override_reason) or None
        if even_so is None:
            raise untried
    moment = now()
    found = _accepted(complaints, accepted)
    approval = Approval(
        snapshot.id, vault.tip, by, moment, one_line(reason) or None, found, even_so
    )
    kept = (waiver for waiver in vault.golden(address).waivers if in_force(waiver, moment))
    return Golden(approval, tuple(kept))


def approval_edit(golden: Golden, state: State, by: str) -> FileEdit:
    """The commit that records a proposed baseline."""
    approval, address = golden.approval, state.address
    assert approval is not None, "it was proposed"
    assert address is not None, "only snapshots are proposed"
    subject = f"{address}: golden baseline approved"
    return _edit(address, golden, subject, by, approval.reason, Golden=approval.snapshot)


def is_golden(vault: Vault, state: State) -> bool:
    """Whether a snapshot is the baseline of its axis already, on the axis as it is built now."""
    if state.address is None or state.snapshot is None:
        return False
    approval, path = vault.golden(state.address).approval, layout.axis_file(state.address)
    if approval is None or approval.snapshot != state.snapshot.id:
        return False
    if vault.read(path, approval.vault_at) == vault.read(path):
        return True
    then, today = (
        {key: said for key, said in built(record).items() if said not in ({}, (), [])}
        for record in (
            vault.axis_record(state.address, approval.vault_at),
            vault.axis_record(state.address),
        )
    )
    return then == today


def _check_approvable(vault: Vault, state: State) -> tuple[Address, Snapshot]:
    """The axis and the snapshot. Raises WrongUsage for a file, Refused for what follows others."""
    if state.address is None or state.snapshot is None:
        raise WrongUsage("a file is no snapshot of the vault", hint="axisvault ingest FILE")
    followed = vault.follows(state.address)
    if followed is not None:
        raise Refused(
            f"{state.address} follows {followed}: its baseline is that one's",
            hint=f"approve {followed}, or take 'follows' out of its axis record",
        )
    return state.address, state.snapshot


def policy_objection(
    policy: ApprovalPolicy,
    state: State,
    by: str,
    reason: str | None,
    complaints: Collection[Complaint],
    accepted: Collection[str],
) -> Refused | None:
    """The first thing about an approval that a policy does not allow; None where it is right.

    `accepted` are rules of `check`, whose complaints about the state are given.
    """
    author = state.snapshot.record.by if state.snapshot else ""
    if policy.second_person and same_person(author, by):
        return Refused(
            f"{by} took this snapshot and cannot approve it",
            hint="the site wants the approval of a second person",
        )
    if objection := reason_objection(policy, reason):
        return objection
    open_ = [complaint for complaint in complaints if complaint.rule not in accepted]
    if policy.clean_check and open_:
        names = " ".join(f"--accept {rule}" for rule in dict.fromkeys(c.rule for c in open_))
        more = f" (and {len(open_) - 1} more)" if len(open_) > 1 else ""
        return Refused(
            f"check finds something here: {open_[0].sentence}{more}",
            hint=f"mend it, or accept it by name: {names}",
        )
    return None


def reason_objection(policy: ApprovalPolicy, reason: str | None) -> Refused | None:
    """That an approval has no reason, where a policy wants one."""
    if policy.reason and not one_line(reason):
        return Refused("an approval needs a reason here", hint="--reason TEXT")
    return None


def _check_accepted(complaints: Iterable[Complaint], accepted: Collection[str]) -> None:
    found = {complaint.rule for complaint in complaints}
    if unknown := sorted(set(accepted) - found):
        has = ", ".join(sorted(found)) or "none"
        raise WrongUsage(f"check finds no {unknown[0]} here", hint=f"its findings: {has}")


def _accepted(
    complaints: Iterable[Complaint], allowed: Collection[str]
) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for complaint in complaints:
        if complaint.rule in allowed:
            found[complaint.rule] = (*found.get(complaint.rule, ()), complaint.sentence)
    return found


def waive(vault: Vault, address: Address, request: WaiverRequest, by: str) -> Waiver:
    """Allow an exception to the baseline of an axis, until a day.

    Raises WrongUsage for a parameter that is not there, or an allowance that cannot be compared
    with it.
    """
    with vault.writing():
        waiver, edit = proposed_waiver(vault, address, request, by)
        vault.write_each([edit])
    return waiver


def proposed_waiver(
    vault: Vault, address: Address, request: WaiverRequest, by: str
) -> tuple[Waiver, FileEdit]:
    """The waiver that would be made, and the commit that records it; raises what `waive` does."""
    allowance, until, reason = request.allowance, request.until, request.reason
    vault.require_axis(address)
    baseline = show(vault, address)
    if baseline.state is None:
        source = baseline.follows or address
        raise WrongUsage(
            f"{source} has no golden baseline to be excepted from",
            hint=f"axisvault golden approve {source}",
        )
    waiver = Waiver(
        _waived_code(vault, address, baseline.state, request.parameter, allowance),
        allowance, until, by, now(), reason,
    )  # fmt: skip
    others = (w for w in baseline.golden.waivers if w.code != waiver.code)
    waivers = sorted((*others, waiver), key=lambda w: code_order(w.code))
    golden = replace(baseline.golden, waivers=tuple(waivers))
    subject = f"{address}: {waiver.code} waived"
    said = f"{allowance.text} until {until}"
    return waiver, _edit(address, golden, subject, by, reason, Waived=waiver.code, Allowed=said)


def _waived_code(
    vault: Vault, address: Address, golden: State, name: str, allowance: Allowance
) -> str:
    """Code of the parameter in the axis's latest set, else in the baseline."""
    code, role = canonical_code(name), name if roles.find(name) else None
    latest = vault.latest(address)
    states = [State(str(address), vault, address, latest, True)] if latest else []
    for state in (*states, golden):
        found = next((p for p in state.parameters.values() if _is(p, code, role)), None)
        if found is not None:
            size = view_of(state).physical_of(found)
            if not allowance.fits(found, size):
                raise WrongUsage(
                    f"{allowance.text!r} cannot be compared with {found.name}",
                    hint=f"it is in {found.unit}" if found.unit else "it is a number without unit",
                )
            return found.code
    raise WrongUsage(f"neither {address} nor its baseline has a parameter {name!r}")


def _is(parameter: Parameter, code: str, role: str | None) -> bool:
    return parameter.code == code or (role is not None and parameter.role == role)


def withdraw(
    vault: Vault, address: Address, by: str, reason: str | None, waiver: str | None = None
) -> None:
    """Take the baseline of an axis back with all its waivers, or one waiver only.

    Raises WrongUsage where there is none. What was approved stays in the vault's history.
    """
    with vault.writing():
        address = vault.require_axis(address)
        golden = vault.golden(address)
        if waiver is None:
            if golden == Golden():
                raise WrongUsage(f"{address} has no golden baseline of its own")
            subject = f"{address}: golden baseline withdrawn"
            vault.write_each([_edit(address, Golden(), subject, by, reason)])
            return
        code = _kept_waiver(golden, address, waiver)
        rest = tuple(kept for kept in golden.waivers if kept.code != code)
        subject = f"{address}: waiver for {code} withdrawn"
        vault.write_each([_edit(address, replace(golden, waivers=rest), subject, by, reason)])


def _kept_waiver(golden: Golden, address: Address, name: str) -> str:
    code = canonical_code(name)
    known = [waiver.code for waiver in golden.waivers]
    if code not in known:
        raise WrongUsage(
            f"{address} has no waiver for {name!r}", hint=f"it has: {', '.join(known) or 'none'}"
        )
    return code


def _edit(
    address: Address, golden: Golden, subject: str, by: str, reason: str | None, **trailers: str
) -> FileEdit:
    """The commit that gives an axis another baseline."""
    path = layout.golden_file(address)
    lines = [f"{name}: {text}" for name, text in trailers.items()]
    parts = [subject, one_line(reason), "\n".join(lines)]
    message = "\n\n".join(part for part in parts if part) + "\n"
    if golden == Golden():
        return FileEdit({}, message, by, removed=(path,))
    return FileEdit({path: golden_text(golden)}, message, by)
