"""What names a snapshot beside the chain: baselines, plans, trials and traces.

Each can be read, and names snapshots of its axis and commits of this history.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Literal

from vault.jobs.restore.kept_plan import damage_of_plan
from vault.jobs.verify.outcome import Problem
from vault.jobs.verify.traces import trace_problems
from vault.jobs.verify.trials import trial_problems
from vault.model.errors import VaultError
from vault.store.files import layout
from vault.store.files.restore_text import read_restore

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault

_Kind = Literal["golden", "restore"]


def named_problems(
    vault: Vault,
    paths: Iterable[str],
    is_snapshot: Callable[[Address, str], bool],
    is_commit: Callable[[str], bool],
) -> Iterator[Problem]:
    """What is wrong with those at the tip that some paths belong to, as far as they are there.

    `is_snapshot` says whether a commit is a snapshot of an axis, `is_commit` whether it is of this
    history.
    """
    paths = list(paths)
    for address, name in dict.fromkeys(filter(None, map(layout.trial_of, paths))):
        if vault.repository.list(vault.tip, layout.trial_folder(address, name)):
            yield from trial_problems(vault, address, name, is_snapshot, is_commit)
    for address, name in dict.fromkeys(filter(None, map(layout.trace_of, paths))):
        if vault.repository.list(vault.tip, layout.trace_folder(address, name)):
            yield from trace_problems(vault, address, name, is_snapshot, is_commit)
    for address, kind in dict.fromkeys(filter(None, map(_kind_of, paths))):
        path = _file(address, kind)
        if vault.read(path) is not None:
            yield from _problems(vault, address, kind, path, is_snapshot, is_commit)


def _kind_of(path: str) -> tuple[Address, _Kind] | None:
    """The axis and the kind that a file belongs to: a plan has a folder of files too."""
    place = layout.place_of(path)
    if place is None:
        return None
    address, file = place
    if file == "golden.yaml":
        return address, "golden"
    is_plan = file == "restore.yaml" or path.startswith(f"{layout.plan_folder(address)}/")
    return (address, "restore") if is_plan else None


def _file(address: Address, kind: _Kind) -> str:
    return layout.golden_file(address) if kind == "golden" else layout.restore_file(address)


def _problems(
    vault: Vault,
    address: Address,
    kind: _Kind,
    path: str,
    is_snapshot: Callable[[Address, str], bool],
    is_commit: Callable[[str], bool],
) -> Iterator[Problem]:
    try:
        named, seen_at = _named_in(vault, address, kind)
    except VaultError as error:
        yield Problem(kind, path, str(error))
        return
    for commit in named:
        if not is_snapshot(address, commit):
            yield Problem(kind, path, f"{commit} is no snapshot of this axis")
    if seen_at is not None and not is_commit(seen_at):
        yield Problem(kind, path, f"{seen_at} is no commit of this vault")
    if kind == "restore" and (damage := damage_of_plan(vault, address)) is not None:
        yield Problem(kind, damage.file or path, damage.message)


def _named_in(vault: Vault, address: Address, kind: _Kind) -> tuple[list[str], str | None]:
    """Commits that a baseline or plan names as snapshots, and the one that its author saw."""
    if kind == "golden":
        approval = vault.golden(address).approval
        return ([], None) if approval is None else ([approval.snapshot], approval.vault_at)
    path = layout.restore_file(address)
    plan = read_restore(vault.read_required(path, vault.tip), path)
    signed = plan.signed_off
    return [plan.snapshot, *([signed.snapshot] if signed is not None else [])], None
