"""The margins of an axis over time: every snapshot at which one was another than before."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.jobs.state.selectors import State, golden_state, view_of
from vault.meaning.margin_moves import MarginMove
from vault.meaning.margin_news import is_news
from vault.meaning.margin_text import ordered, title_of
from vault.model.errors import WrongUsage
from vault.model.near_names import did_you_mean

if TYPE_CHECKING:
    from vault.behaviour.facts import Kind, Margin
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class MarginStep:
    """A margin from a snapshot on; None where it has no sense for the axis as it was then."""

    snapshot: Snapshot
    margin: Margin | None


@dataclass(frozen=True, slots=True)
class MarginTimeline:
    """A margin over time: its `steps` are the first snapshot that has it, and each that moves it.

    `golden` is that of the baseline, `last` the latest snapshot, which has what the last step has.
    """

    name: str
    kind: Kind
    steps: tuple[MarginStep, ...]
    golden: Margin | None
    last: Snapshot

    @property
    def title(self) -> str:
        """What is held against what."""
        return title_of(self.name)

    @property
    def told(self) -> tuple[MarginStep, ...]:
        """The steps without those that hardly moved it from the one told before."""
        found: list[MarginStep] = []
        for step in self.steps:
            if not found or _is_told(found[-1].margin, step.margin):
                found.append(step)
        return tuple(found)

    @property
    def has_moved(self) -> bool:
        """Whether it ever was another one, by more than hardly."""
        return len(self.told) > 1


def _is_told(before: Margin | None, after: Margin | None) -> bool:
    """Whether a step crossed 1, moved by more than a small share, or was told on one side alone."""
    one, other = (side.ratio if side is not None else None for side in (before, after))
    came_or_went = (before is None) != (after is None) or (one is None) != (other is None)
    return came_or_went or is_news(MarginMove("", before, after))


def margin_history(
    vault: Vault, address: Address, wanted: str | None = None
) -> list[MarginTimeline]:
    """All margins of an axis over time, or the `wanted` one; in the order of the latest state.

    The machine is taken as it was recorded at each snapshot, the present record where none was.
    Raises WrongUsage where there is no snapshot, or no such margin.
    """
    states = list(_states(vault, address))
    if not states:
        raise WrongUsage(f"{address} has no snapshot yet", hint="axisvault ingest FILE --to M/A")
    steps: dict[str, list[MarginStep]] = {}
    for snapshot, margins in states:
        for name in (*steps, *(name for name in margins if name not in steps)):
            _add(steps.setdefault(name, []), snapshot, name, margins.get(name))
    if wanted is not None and wanted not in steps:
        near = did_you_mean(wanted, steps)
        raise WrongUsage(f"this axis never had a margin {wanted!r}{near}")
    approved = _approved(vault, address)
    last, latest = states[-1]
    order = [margin.name for margin in ordered(latest.values())]
    order += [name for name in steps if name not in latest]
    return [
        MarginTimeline(
            name, _kind(steps[name]), tuple(steps[name]), approved.get(name), last
        )
        for name in order
        if wanted in (None, name)
    ]  # fmt: skip


def _states(vault: Vault, address: Address) -> Iterator[tuple[Snapshot, Mapping[str, Margin]]]:
    """Snapshots, oldest first, with their margins, which equal sets share."""
    latest = vault.latest(address)
    before: tuple[object, ...] | None = None
    margins: Mapping[str, Margin] = {}
    for snapshot in vault.index.snapshots(address):
        is_latest = latest is not None and snapshot.id == latest.id
        state = State(snapshot.id[:10], vault, address, snapshot, is_latest)
        rests_on = (
            state.parameters_text, state.axis_text, dict(state.nameplate), state.family_name,
        )  # fmt: skip
        if rests_on != before:
            margins, before = margins_of(view_of(state).state), rests_on
        yield snapshot, margins


def _add(steps: list[MarginStep], snapshot: Snapshot, name: str, margin: Margin | None) -> None:
    """A step, where the margin is another one than it was."""
    before = steps[-1].margin if steps else None
    is_first = not steps and margin is not None
    came_or_went = bool(steps) and (before is None) != (margin is None)
    if is_first or came_or_went or MarginMove(name, before, margin).moves:
        steps.append(MarginStep(snapshot, margin))


def _kind(steps: list[MarginStep]) -> Kind:
    """What it is for now, or was when it last had sense."""
    return next(step.margin.kind for step in reversed(steps) if step.margin is not None)


def _approved(vault: Vault, address: Address) -> Mapping[str, Margin]:
    with suppress(WrongUsage):
        return margins_of(view_of(golden_state(vault, address)).state)
    return {}
