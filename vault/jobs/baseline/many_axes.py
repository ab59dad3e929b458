"""Approving, and waiving, on many axes at once: who is refused is told, the others go together.

Each axis is judged as if it were the only one (`golden`); each gets a commit of its own, and the
branch moves once, so that a process that is killed leaves whole ones only.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from vault.jobs.baseline.axis_drift import counted_axes
from vault.jobs.baseline.golden import approval_edit, is_golden, proposed, proposed_waiver
from vault.jobs.baseline.kept_complaints import Checker
from vault.jobs.state.selectors import resolve
from vault.jobs.state.sides import sets_meant
from vault.jobs.state.whole_set import why_not_whole
from vault.meaning.sentences import number_text
from vault.model.bounds import MOST_TYPED
from vault.model.errors import VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.model.near_names import did_you_mean
from vault.model.patterns import fits_glob

if TYPE_CHECKING:
    from vault.jobs.baseline.waiver_request import WaiverRequest
    from vault.meaning.checks import Complaint
    from vault.model.golden import Golden, Waiver
    from vault.store.vault import FileEdit, Vault

Progress = Callable[[int, int], None]


class _OfAxis(Protocol):
    """What became of an axis, by whatever job."""

    @property
    def axis(self) -> str:
        """`machine/axis`, or its controller's set."""


def no_progress(done: int, total: int) -> None:
    """For whoever does not wait."""


@dataclass(frozen=True, slots=True)
class JudgedAxis:
    """What becomes of one axis: approved where it has a `golden`, refused where a `refusal`.

    With neither, the snapshot is its baseline already. `complaints` are what `check` finds in it,
    `not_whole` why its set is no whole one; `snapshot` is None where there is no state to judge.
    """

    axis: str
    snapshot: str | None = None
    complaints: tuple[Complaint, ...] = ()
    not_whole: str | None = None
    golden: Golden | None = None
    edit: FileEdit | None = None
    refusal: VaultError | None = None


@dataclass(frozen=True, slots=True)
class ManyApproved:
    """What became of every axis, or would; `looked_only` where nothing was written."""

    axes: tuple[JudgedAxis, ...]
    looked_only: bool = False

    @property
    def refused(self) -> tuple[JudgedAxis, ...]:
        """Those that are not approved."""
        return tuple(axis for axis in self.axes if axis.refusal is not None)

    @property
    def approved(self) -> tuple[JudgedAxis, ...]:
        """Those that are."""
        return tuple(axis for axis in self.axes if axis.golden is not None)

    @property
    def already(self) -> tuple[JudgedAxis, ...]:
        """Those whose baseline it was before: they are not approved once more."""
        return tuple(axis for axis in self.axes if axis.golden is None and axis.refusal is None)


@dataclass(frozen=True, slots=True)
class WaivedAxis:
    """What becomes of one axis: its waiver, or why there is none."""

    axis: str
    waiver: Waiver | None = None
    edit: FileEdit | None = None
    refusal: VaultError | None = None


@dataclass(frozen=True, slots=True)
class ManyWaived:
    """What became of every axis, or would; `looked_only` where nothing was written."""

    axes: tuple[WaivedAxis, ...]
    looked_only: bool = False

    @property
    def refused(self) -> tuple[WaivedAxis, ...]:
        """Those that got none."""
        return tuple(axis for axis in self.axes if axis.refusal is not None)

    @property
    def waived(self) -> tuple[WaivedAxis, ...]:
        """Those that got one."""
        return tuple(axis for axis in self.axes if axis.waiver is not None)


def counted(
    done: Collection[_OfAxis],
    what: str,
    refused: Collection[_OfAxis],
    already: Collection[_OfAxis] = (),
    *,
    looked_only: bool = False,
) -> str:
    """How many axes, or sets of controllers, became what, as a sentence."""
    others = [one.axis for one in (*refused, *already)]
    axes = counted_axes([one.axis for one in done], of=others)
    told = [f"{axes} would be {what}" if looked_only else f"{axes} {what}"]
    if already:
        told.append(f"{number_text(len(already))} golden already")
    if refused:
        told.append(f"{number_text(len(refused))} refused")
    return f"{', '.join(told)}."


def is_pattern(selector: str) -> bool:
    """Whether a selector stands for all axes that fit it, as `glaze-line-1/*`."""
    return any(sign in selector.partition("@")[0] for sign in "*?[")


def fitting(vault: Vault, pattern: str) -> list[str]:
    """Selectors of all axes that fit `PATTERN[@WHEN]`; of controllers' sets by `*/*:controller`.

    Raises WrongUsage where none does.
    """
    names, at, when = pattern.partition("@")
    if len(names) > MOST_TYPED:
        raise WrongUsage(f"a pattern has at most {MOST_TYPED} characters")
    axes = sets_meant(vault, names)
    found = [f"{axis}{at}{when}" for axis in axes if fits_glob(str(axis), names)]
    if not found:
        raise WrongUsage(f"no axis fits {names!r}", hint="axisvault axis list")
    return found


def approve_many(
    vault: Vault,
    selectors: Sequence[str],
    by: str,
    reason: str | None,
    accepted: Collection[str] = (),
    override_reason: str | None = None,
    *,
    shown: Mapping[str, Collection[str]] | None = None,
    all_found: bool = True,
    looks_only: bool = False,
    progress: Progress = no_progress,
) -> ManyApproved:
    """Make a snapshot of each axis its golden baseline, where that is allowed.

    A rule that is `accepted` is for every axis that has such a finding; of those that were `shown`
    of it, where that is told: what came up since was seen by nobody. With `all_found` raises
    WrongUsage for one that none of them has.
    """
    selectors = tuple(dict.fromkeys(selectors))

    def judge(progress: Progress) -> tuple[JudgedAxis, ...]:
        checker, judged = Checker(vault), []
        for number, selector in enumerate(selectors):
            progress(number, len(selectors))
            axis = selector.partition("@")[0]
            rules = set(accepted) if shown is None else set(accepted) & set(shown.get(axis, ()))
            judged.append(_judged(vault, selector, by, reason, rules, override_reason, checker))
        progress(len(selectors), len(selectors))
        return tuple(judged)

    axes = judge(progress)
    if all_found:
        _check_found(axes, accepted)
    if not looks_only:
        with vault.writing():  # what was found holds where nobody wrote meanwhile
            axes = judge(no_progress)
            vault.write_each(axis.edit for axis in axes if axis.edit is not None)
    return ManyApproved(axes, looks_only)


def _judged(
    vault: Vault,
    selector: str,
    by: str,
    reason: str | None,
    accepted: set[str],
    override_reason: str | None,
    checker: Checker,
) -> JudgedAxis:
    axis = selector.partition("@")[0]
    snapshot, not_whole, golden, edit = None, None, None, None
    complaints: tuple[Complaint, ...] = ()
    refusals: list[VaultError] = []
    with told_apart(refusals.append, axis):
        state = resolve(vault, selector)
        snapshot = state.snapshot.id if state.snapshot is not None else None
        not_whole, complaints = why_not_whole(state), checker.complaints(state)
        if not is_golden(vault, state):
            rules = accepted & {complaint.rule for complaint in complaints}
            golden = proposed(vault, state, by, reason, complaints, rules, override_reason)
            edit = approval_edit(golden, state, by)
    refusal = refusals[0] if refusals else None
    return JudgedAxis(axis, snapshot, complaints, not_whole, golden, edit, refusal)


def _check_found(axes: Iterable[JudgedAxis], accepted: Iterable[str]) -> None:
    found = {complaint.rule for axis in axes for complaint in axis.complaints}
    if unknown := sorted(set(accepted) - found):
        has = ", ".join(sorted(found)) or "none"
        near = did_you_mean(unknown[0], found)
        raise WrongUsage(
            f"check finds no {unknown[0]} on any of these axes{near}", hint=f"its findings: {has}"
        )


def waive_many(
    vault: Vault,
    axes: Sequence[str],
    request: WaiverRequest,
    by: str,
    *,
    looks_only: bool = False,
    progress: Progress = no_progress,
) -> ManyWaived:
    """Allow the same exception on each axis, where it has a baseline and such a parameter."""

    def judge(progress: Progress) -> tuple[WaivedAxis, ...]:
        judged = []
        for number, axis in enumerate(axes):
            progress(number, len(axes))
            judged.append(_waived(vault, axis, request, by))
        progress(len(axes), len(axes))
        return tuple(judged)

    if looks_only:
        return ManyWaived(judge(progress), looks_only)
    with vault.writing():
        found = judge(progress)
        vault.write_each(axis.edit for axis in found if axis.edit is not None)
    return ManyWaived(found)


def _waived(vault: Vault, axis: str, request: WaiverRequest, by: str) -> WaivedAxis:
    refusals: list[VaultError] = []
    with told_apart(refusals.append, axis):
        waiver, edit = proposed_waiver(vault, vault.address(axis), request, by)
        return WaivedAxis(axis, waiver, edit)
    return WaivedAxis(axis, refusal=refusals[0])
