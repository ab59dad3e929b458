"""What a restore sheet says of the controller's side: its program may have changed meanwhile.

A drive that is restored to an approved state fits the controller's program of that time. Here is
told whether the program is that one still, and what the controller writes into the drive when it
starts (start-up parameters), over what was loaded.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.restore.sheet_parts import SheetLine, SheetSection
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import State, view_of
from vault.jobs.state.sides import controller_golden, controller_state
from vault.meaning.controller_side import ControllerSide
from vault.meaning.drift import deviations
from vault.meaning.readings import Readings
from vault.model.cached_property import cached_property
from vault.model.wording import plural
from vault.model.written_form import minute_text
from vault.store.clock import microseconds, now

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.model.names import Address
    from vault.store.vault import Vault

_MOST = 6  # sentences about what changed; the whole is a comparison


@dataclass(frozen=True)
class ControllerAtRestore:
    """The controller's set of an axis that is restored: its `latest` and what it is held against.

    `reference` is its golden baseline (`is_approved`), else what it was when the restored state was
    taken; None where there is nothing of that time.
    """

    vault: Vault
    address: Address
    latest: State
    reference: State | None
    is_approved: bool
    target: State

    @cached_property
    def changed(self) -> tuple[Change, ...]:
        """What is another one than in the reference, worst first, without what a waiver allows."""
        if self.reference is None or self.reference.snapshot == self.latest.snapshot:
            return ()
        compared = compare_states(self.reference, self.latest).comparison
        waivers = self.vault.golden(self.address).waivers if self.is_approved else ()
        views = view_of(self.reference), view_of(self.latest)
        moment = now()
        found = deviations(compared, *views, waivers, of_twin=False).settings
        return tuple(one.change for one in found if one.drifts(moment))

    @property
    def since(self) -> str:
        """Since when it is looked at whether the program changed."""
        return "the baseline" if self.is_approved else "the state that is restored was taken"

    @property
    def warning(self) -> str | None:
        """That the program changed, in a sentence; None where it did not, as far as is known."""
        if not self.changed:
            return None
        count = plural(len(self.changed), "setting")
        return (
            f"the controller's program changed since {self.since}: {count} of {self.address}, "
            f"worst {self.changed[0].consequence}"
        )

    @property
    def command(self) -> str:
        """The command that tells everything that changed: without a baseline nothing drifts."""
        if self.is_approved or self.reference is None:
            return f"axisvault drift {self.address} --all"
        return f"axisvault compare {self.reference.name} {self.address}"

    @property
    def startup_rows(self) -> Iterator[tuple[str, str, str, str]]:
        """Parameters of the drive that the controller's set tells too: name, both values, verdict.

        The controller writes them when it starts.
        """
        target = view_of(self.target)
        side = ControllerSide(target, view_of(self.latest, self.target))
        readings = Readings(target)
        for written, own in side.written_over():
            values = readings.of(written).told, readings.of(own).told
            verdict = "the same" if side.writes_the_same(written, own) else "differs"
            yield (f"{own.name} ({own.code})", *values, verdict)


def controller_side(vault: Vault, address: Address, target: State) -> ControllerAtRestore | None:
    """The controller's side of an axis that is restored to a state; None where it has no set."""
    latest = controller_state(vault, address)
    if latest is None or latest.address is None:
        return None
    reference = controller_golden(vault, address)
    is_approved = reference is not None
    if reference is None and target.record is not None:
        moment = microseconds(target.record.taken_at)
        then = vault.index.latest_at(latest.address, moment)
        if then is not None:
            reference = State(f"{latest.address}@{then.id[:10]}", vault, latest.address, then)
    return ControllerAtRestore(vault, latest.address, latest, reference, is_approved, target)


def changed_program(vault: Vault, address: Address, target: State) -> str | None:
    """That the controller's program is another one than the restored state was made for, if so."""
    found = controller_side(vault, address, target)
    return None if found is None else found.warning


def controller_sections(vault: Vault, address: Address, target: State) -> Iterator[SheetSection]:
    """The step of the sheet about the controller's side, where it has a set."""
    found = controller_side(vault, address, target)
    if found is not None:
        rows = tuple(found.startup_rows)
        yield SheetSection(
            "controller",
            "Controller's side",
            tuple(_lines(found, has_startup=bool(rows))),
            ("start-up parameter", "the controller writes", "to be restored", "") if rows else (),
            rows,
        )


def _lines(found: ControllerAtRestore, *, has_startup: bool) -> Iterator[SheetLine]:
    latest = found.latest.record
    if latest is not None:
        name = latest.by.partition(" <")[0]
        yield SheetLine(f"Its latest set was taken {minute_text(latest.taken_at)} by {name}.")
    if found.reference is not None and found.is_approved and found.reference.record is not None:
        taken = minute_text(found.reference.record.taken_at)
        yield SheetLine(f"Its golden baseline is the set of {taken}.")
    elif not found.is_approved:
        yield SheetLine(
            "No set of the controller's side is approved: nothing says which program this drive is "
            "to fit.",
            "warning",
        )
    if found.warning is not None:
        yield SheetLine(f"{found.warning[0].upper()}{found.warning[1:]}.", "warning")
        for change in found.changed[:_MOST]:
            yield SheetLine(change.explanation, "warning")
        if len(found.changed) > _MOST:
            rest = plural(len(found.changed) - _MOST, "more change")
            yield SheetLine(f"And {rest}: {found.command} tells them.")
        yield SheetLine(
            "Have it decided which of both is right, the program or the state to be restored, "
            "before the axis moves.",
            "tick",
        )
    elif found.reference is not None:
        yield SheetLine(f"Its program is what it was since {found.since}.")
    if has_startup:
        yield SheetLine(
            "The controller writes these into the drive when it starts, over what was loaded.",
            "warning",
        )


def restart_lines(vault: Vault, address: Address) -> Iterator[SheetLine]:
    """That the controller is started anew too before the drive is exported again."""
    if controller_state(vault, address) is not None:
        yield SheetLine(
            "Then start the controller anew too, and export only after that: it may write start-up "
            "parameters into the drive, and only a set of after both were started proves anything.",
            "tick",
        )
