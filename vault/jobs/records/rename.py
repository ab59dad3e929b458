"""Giving an axis or a machine another name: place and history stay, every name leads to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.records.corrections import append, next_moment
from vault.jobs.records.machines import require_machine
from vault.model.corrections import Correction
from vault.model.errors import Refused, WrongUsage
from vault.model.names import CASE_HINT, checked_name
from vault.model.typed_text import text_or_none
from vault.store.files import layout
from vault.store.files.corrections_text import STANDING_FORMAT

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.model.names import Address
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Renamed:
    """What an axis or a machine was called `before` and is called now; `unchanged` where the same.

    `names` are all that lead to it, the present one first.
    """

    before: str
    name: str
    names: tuple[str, ...]
    unchanged: bool


def rename_axis(
    vault: Vault, address: Address, new: str, by: str, reason: str | None = None
) -> Renamed:
    """Call an axis by another name on its machine.

    Raises WrongUsage for a name that cannot be one, Refused where another axis has or had it.
    """
    with vault.writing():
        address = vault.require_whole_axis(address)
        machine, before = address.shown
        if new.startswith(f"{machine}/"):
            new = new.removeprefix(f"{machine}/")
        if "/" in new:
            raise WrongUsage(
                f"{new!r} is on another machine: a name is given on its own, {machine}",
                hint="an axis that was moved is another one: take its exports in there",
            )
        new = checked_name(new, "axis")
        _check_free(new, address.axis, vault.names.axis_names_in_use(address.machine), "axis")
        if new != before:
            path = layout.corrections_file(address)
            _add(vault, path, str(address), f"{machine}/{new}", new, by, reason)
        now_called = vault.names.named(address)
        names = tuple(vault.names.names(address))
    return Renamed(f"{machine}/{before}", str(now_called), names, unchanged=new == before)


def rename_machine(
    vault: Vault, machine: str, new: str, by: str, reason: str | None = None
) -> Renamed:
    """Call a machine by another name.

    Raises WrongUsage for a name that cannot be one, Refused where another machine has or had it.
    """
    new = checked_name(new, "machine")
    with vault.writing():
        folder = require_machine(vault, machine)
        before = vault.names.machine_name(folder)
        _check_free(new, folder, vault.names.machine_names_in_use(), "machine")
        if new != before:
            path = layout.machine_corrections_file(folder)
            _add(vault, path, before, new, new, by, reason)
        names = tuple(vault.names.names_of_machine(folder))
    return Renamed(before, new, names, unchanged=new == before)


def _check_free(new: str, own: str, in_use: Mapping[str, str], what: str) -> None:
    """Raise Refused where another one has, or had, a name, be it in other letters."""
    for name, folder in in_use.items():
        if folder != own and name.casefold() == new.casefold():
            other = "another axis" if what == "axis" else "another machine"
            raise Refused(
                f"{name!r} is, or was, the name of {other}", hint=CASE_HINT if name != new else
                "every name leads to what it was given to first; choose another one",
            )  # fmt: skip


def _add(
    vault: Vault, path: str, before: str, after: str, new: str, by: str, reason: str | None
) -> None:
    text = text_or_none(reason) or f"It was called {before}."
    entry = Correction("renamed", by=by, at=next_moment(vault, path), text=text, name=new)
    append(vault, path, entry, f"{before}: renamed, {after} from now on", STANDING_FORMAT)
