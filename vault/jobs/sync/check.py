"""What another copy of the vault has, before it becomes part of this one: is all of it sound?"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from typing import TYPE_CHECKING

from vault.jobs.trials.trace_kept import recording
from vault.jobs.verify.signatures import bad_under
from vault.jobs.verify.verify import verify_axes
from vault.model.errors import Damaged, Refused
from vault.model.names import CASE_HINT, Address, checked_name, differs_in_case
from vault.model.written_form import minute_text
from vault.store.clock import CLOCKS_APART, now
from vault.store.files import layout
from vault.store.files.corrections_text import read_corrections
from vault.store.files.edited_files import kept_axis, read_family, read_machine, read_site
from vault.store.files.fault_log_text import read_fault_log
from vault.store.files.golden_text import read_golden
from vault.store.files.restore_text import read_restore
from vault.store.files.trace_record_text import read_trace_record
from vault.store.files.trial_text import read_kept_trial
from vault.store.index.recorded import is_recorded

if TYPE_CHECKING:
    from vault.jobs.verify.verify import Progress
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_READ: dict[str, Callable[[bytes, str], object]] = {
    "vault.yaml": read_site,
    "axis.yaml": kept_axis,
    "golden.yaml": read_golden,
    "faults.yaml": read_fault_log,
    "corrections.yaml": read_corrections,
    "machine.yaml": read_machine,
    "restore.yaml": read_restore,
    "trial.yaml": read_kept_trial,
    "trace.yaml": read_trace_record,
}


def check_candidate(
    vault: Vault,
    partner: str,
    tip: str,
    axes: Collection[Address],
    files: Collection[str],
    progress: Progress,
) -> None:
    """Check what would be the vault's tip: axes with new snapshots whole, and changed files.

    Raises Damaged naming what is wrong, Refused for names and signatures that may not be, and what
    reading a file raises. The vault stays as it was.
    """
    ours = vault.tip
    vault.tip = tip
    try:
        _check_names(vault, partner)
        for path in files:
            _check_file(vault, partner, path)
        problems = verify_axes(vault, axes, progress).problems if axes else []
    finally:
        vault.tip = ours
    for bad in bad_under(vault, ours, tip):
        raise Refused(
            f"{partner}, commit {bad.commit[:10]}: {bad.details}",
            hint="nothing was taken; the site requires signatures of those it allows",
        )
    if problems:
        first, more = problems[0], len(problems) - 1
        said = f"{first.kind}, {first.where}: {first.details}"
        rest = f", and {more} more" if more else ""
        raise Damaged(f"nothing was taken: {said}{rest}", file=partner)


def check_moments(partner: str, snapshots: Iterable[Snapshot]) -> None:
    """Raise Refused for a snapshot of the future, which would be the latest for good."""
    latest = now() + CLOCKS_APART
    for snapshot in snapshots:
        if snapshot.record.taken_at > latest:
            raise Refused(
                f"{partner}: snapshot {snapshot.id[:10]} of {snapshot.address} was taken "
                f"{minute_text(snapshot.record.taken_at)}, which is yet to come",
                hint="nothing was taken; look at the clock here, and at the one there",
            )


def _check_names(vault: Vault, partner: str) -> None:
    """Machines and axes are called what every file system takes, and differ in more than case."""
    spelled: dict[str, str] = {}
    for name in _names(vault):
        before = spelled.setdefault(name.casefold(), name)
        if before != name:
            parts = (whole.rpartition("/")[2] for whole in (name, before))
            raise Refused(
                f"{partner}: {differs_in_case(*parts)}", hint=f"nothing was taken; {CASE_HINT}"
            )
    for clash in vault.names.clashes:
        raise Refused(
            f"{partner}: {clash} then",
            hint=f"nothing was taken; rename one of them, here or there: axisvault {clash.command}",
        )


def _names(vault: Vault) -> Iterator[str]:
    for entry in vault.repository.list(vault.tip, layout.MACHINES):
        yield checked_name(entry.path.split("/")[1], "machine")
    for axis in vault.axis_folders():
        yield str(Address(axis.machine, checked_name(axis.axis, "axis")))


def _check_file(vault: Vault, partner: str, path: str) -> None:
    content = vault.read(path)
    if content is None:  # it was removed
        return
    place = f"{partner}:{path}"
    parts = path.split("/")
    if parts[0] == layout.FAMILIES:
        family = read_family(content, place)
        if layout.family_file(family.name) != path:
            raise Damaged(f"nothing was taken: it calls itself {family.name}", file=place)
    elif (trace := layout.trace_of(path)) is not None:
        _check_trace(vault, partner, *trace)
    elif (read := _READ.get(parts[-1])) is not None:
        read(content, place)
    its_place = layout.place_of(path)
    if its_place is not None and its_place[1] == "golden.yaml":
        approval = read_golden(content, place).approval
        if approval is not None and not is_recorded(
            vault.repository, vault.tip, its_place[0], approval.snapshot
        ):
            said = f"nothing was taken: the approved snapshot {approval.snapshot[:10]} is not there"
            raise Damaged(said, file=place)


def _check_trace(vault: Vault, partner: str, address: Address, name: str) -> None:
    """A trace and its recording belong together, whichever of them came."""
    path = layout.trace_file(address, name)
    content = vault.read(path)
    place = f"{partner}:{path}"
    if content is None:
        raise Damaged("nothing was taken: there is no record of this trace", file=place)
    try:
        recording(vault, address, read_trace_record(content, place))
    except Damaged as error:
        raise Damaged(f"nothing was taken: {error.message}", file=place) from error
