"""Is the axis restored? The as-left export against what the plan wants, by meaning."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.intake.as_left import AsLeft
from vault.jobs.intake.ingest import ingest
from vault.jobs.restore.controller_side import changed_program
from vault.jobs.restore.motion import (
    Motion,
    MotionFile,
    check_readable,
    kept_motion,
    prove_by_motion,
)
from vault.jobs.restore.target import default_target, planned, planned_target, target_before
from vault.jobs.restore.unproven import Unproven, unproven
from vault.jobs.restore.verdict import LeftOver, hold_against
from vault.jobs.state.cross_checks import misfits
from vault.jobs.state.selectors import State, view_of
from vault.meaning.measured_move import MeasuredMove, TravelRatio, judge, parse_move
from vault.model.errors import Unreadable
from vault.model.restore import Adapted, RestoreRecord
from vault.model.wording import plural
from vault.store.clock import parse_time

if TYPE_CHECKING:
    from vault.jobs.intake.visit import Visit
    from vault.meaning.checks import Complaint
    from vault.model.coverage import Coverage
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Checked:
    """The verdict about the as-left `snapshot`; `warnings` are of taking it in.

    `plan` is the plan that was made, None where there was none: then the target is the golden
    baseline, else the snapshot before. `coverage` is that of the as-left export, `unproven` what it
    or the target does not state. `doubt` is why the export proves nothing, although it was
    taken in. `misfits` is what does not fit between the drive as left and the controller's set,
    `changed_program` that this is another one than the target was made for, as of the latest set;
    `motion` the traces of its moves, held against earlier ones.
    """

    address: Address
    target: State
    snapshot: Snapshot
    warnings: tuple[str, ...]
    plan: RestoreRecord | None
    left_over: LeftOver
    travel: TravelRatio | None
    coverage: Coverage
    unproven: tuple[Unproven, ...] = ()
    doubt: str | None = None
    misfits: tuple[Complaint, ...] = ()
    motion: Motion = field(default_factory=Motion)
    changed_program: str | None = None

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader should know beside the verdict."""
        return (*self.warnings, *filter(None, [self.changed_program]))

    @property
    def moved_right(self) -> bool:
        """Whether no measured move says otherwise."""
        return self.travel is None or self.travel.is_fine

    @property
    def override_reason(self) -> str | None:
        """Why the export was taken in although a guard objected."""
        return self.snapshot.record.override_reason

    @property
    def limits(self) -> tuple[str, ...]:
        """Sentences on how far the verdict carries: what the export does not prove."""
        said = []
        if self.doubt is not None:
            said.append(f"It proves nothing: {self.doubt}.")
        if self.override_reason is not None:
            said.append(f"A guard objected; taken in all the same: {self.override_reason}.")
        if self.unproven:
            count = plural(len(self.unproven), "parameter is", "parameters are")
            said.append(f"{count} not proven by it.")
        return (*said, *self.motion.problems)

    @property
    def is_restored(self) -> bool:
        """Whether nothing is left to do."""
        moves = self.moved_right and self.motion.as_it_did
        return not self.left_over.differences and not self.left_over.safety and moves


def check_restore(
    vault: Vault,
    address: Address,
    path: Path,
    visit: Visit,
    *,
    plan_file: Path | None = None,
    motion: MotionFile | None = None,
) -> Checked:
    """Take the as-left export in, linked to the plan, and hold it against the target.

    Raises as `ingest` does, before anything is recorded.
    """
    move = parse_move(visit.moved) if visit.moved is not None else None
    plan = _plan_of_file(vault, plan_file, address) if plan_file else planned(vault, address)
    target = planned_target(vault, address, plan) if plan else default_target(vault, address)[0]
    visit = _linked(visit, plan, target)
    if motion is not None:
        check_readable(vault, address, visit.family, motion)
    ingested = ingest(vault, path, address, visit)
    if motion is not None:
        prove_by_motion(vault, ingested.snapshot, motion)
    return _judged(vault, ingested.snapshot, target, plan, move, ingested.warnings)


def _linked(visit: Visit, plan: RestoreRecord | None, target: State) -> Visit:
    """The visit with the plan that it checks, and with what plan and target tell of the export."""
    family, channel = visit.family, visit.channel
    if plan is not None:
        family = family or plan.family
    if channel is None and family in (None, target.family_name) and target.record is not None:
        channel = target.record.channel
    restores = plan.id if plan is not None else None
    return replace(
        visit,
        family=family,
        channel=channel,
        restores=restores,
        as_left=_as_left(plan, target),
        unsure="now",
    )


def _as_left(plan: RestoreRecord | None, target: State) -> AsLeft:
    """What an export is to prove: younger than the plan, and no file that was there before."""
    kept: dict[str, str] = {}
    if plan is not None and plan.load_file_sha256 is not None:
        kept[plan.load_file_sha256] = "the load file"
    if target.record is not None:
        kept[target.record.export_sha256] = "the export that is restored"
    return AsLeft(plan.made_at if plan is not None else None, kept)


def checked_before(vault: Vault, address: Address, snapshot: Snapshot) -> Checked:
    """The verdict about an as-left snapshot once more, by what was planned and approved then.

    Raises WrongUsage where there was nothing to hold it against.
    """
    record = snapshot.record
    plan = planned(vault, address, snapshot.id) if record.restores else None
    if plan is not None and plan.id == record.restores:
        target = planned_target(vault, address, plan)
    else:
        plan, target = None, target_before(vault, address, snapshot)
    return _judged(
        vault, snapshot, target, plan, parse_move(record.moved) if record.moved else None
    )


def _judged(
    vault: Vault,
    snapshot: Snapshot,
    target: State,
    plan: RestoreRecord | None,
    move: MeasuredMove | None,
    warnings: tuple[str, ...] = (),
) -> Checked:
    address = snapshot.address
    latest = vault.latest(address)
    is_latest = latest is not None and latest.id == snapshot.id
    record = snapshot.as_recorded.record
    left = State(f"{address}@as-left", vault, address, snapshot, is_latest)
    return Checked(
        address=address,
        target=target,
        snapshot=snapshot,
        warnings=warnings,
        plan=plan,
        left_over=hold_against(target, left, plan.adapted if plan is not None else ()),
        travel=judge(move, view_of(left)) if move is not None else None,
        coverage=left.coverage,
        unproven=unproven(target, left),
        doubt=_as_left(plan, target).doubt(record.export_sha256, record.taken_at),
        misfits=tuple(misfits(left)[0]),
        motion=kept_motion(vault, snapshot),
        changed_program=changed_program(vault, address, target) if is_latest else None,
    )


def _plan_of_file(vault: Vault, file: Path, address: Address) -> RestoreRecord:
    try:
        plan = json.loads(file.read_bytes())
        if vault.address(plan["axis"]) != address:
            raise Unreadable(f"this is a plan for {plan['axis']}", file=str(file))
        onto, load_file = plan["onto"], plan["load_file"]
        return RestoreRecord(
            id=str(plan["id"]),
            made_at=parse_time(plan["made_at"]),
            by="",
            snapshot=str(plan["target"]["snapshot"]),
            load_file_sha256=str(load_file["sha256"]) if load_file else None,
            family=onto["family"] if onto["is_other_family"] else None,
            adapted=tuple(
                Adapted(str(a["code"]), str(a["raw"]), str(a["reason"])) for a in plan["adapted"]
            ),
        )
    except OSError as error:
        raise Unreadable(f"the plan cannot be read: {error.strerror}", file=str(file)) from error
    except (ValueError, KeyError, TypeError) as error:
        raise Unreadable("this is no plan.json of ours", file=str(file)) from error
