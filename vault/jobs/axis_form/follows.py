"""What follows from an axis record, before it is stored: travel of a turn, torques, margins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.behave import behave, margins_of
from vault.behaviour.force import rotor_inertia
from vault.behaviour.loops import load_at_motor
from vault.behaviour.missing import DoesNotApply, Missing
from vault.jobs.state.selectors import resolve, view_of
from vault.meaning.margin_sentences import amount
from vault.meaning.margin_text import (
    hedges_in,
    held_text,
    needs_somebody,
    ordered,
    ratio_text,
    standing,
    summary,
    title_of,
)
from vault.meaning.missing_words import ToEnter, to_enter
from vault.meaning.surrounding_effects import as_built
from vault.model.wording import capitalised

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from vault.behaviour.facts import Bound, Figure, Margin
    from vault.behaviour.state import State
    from vault.model.axis import AxisRecord
    from vault.model.names import Address
    from vault.store.vault import Vault

_FIRST = (
    "way of a motor turn",
    "speed at rated motor speed",
    "motor's highest speed at the axis",
    "torque to hold the load",
    "torque to lift the load",
    "thrust at rated torque",
)
"""Facts that people hold against what they know, before the others."""
_BOUNDS: Mapping[Bound, str] = {
    "exact": "", "at_least": "at least ", "up_to": "up to ", "unknown": "about ",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Told:
    """A quantity that follows: what it is, its size for the reader, and the formula."""

    title: str
    size: str
    basis: str


@dataclass(frozen=True, slots=True)
class HeldMargin:
    """A margin that can be told: its name, title, factor, what it holds against what, its stand."""

    name: str
    title: str
    ratio: str
    held: str
    stands: str

    @property
    def needs_somebody(self) -> bool:
        """Whether it is short, or may be."""
        return self.stands != "holds"


@dataclass(frozen=True, slots=True)
class Follows:
    """What follows of a record alone, and together with the latest snapshot.

    `summary` is the answer about the margins in a line, `told_before` how many could be told with
    the record as it is stored, `missing` what to enter next; `assumed` what is taken for granted.
    """

    facts: tuple[Told, ...]
    margins: tuple[HeldMargin, ...]
    summary: str
    told_before: int
    missing: tuple[ToEnter, ...]
    assumed: tuple[str, ...]
    with_snapshot: bool


def follows(
    vault: Vault, address: Address, record: AxisRecord, stored: AxisRecord | None
) -> Follows:
    """What follows from a record that is supposed to be the axis's."""
    bare = as_built(record).state
    found = behave(bare)
    known = {name: fact for name, fact in found.facts.items() if fact.value is not None}
    order = [name for name in _FIRST if name in known]
    order += [name for name in known if name not in order]
    facts = [
        Told(
            capitalised(name),
            _BOUNDS[known[name].bound] + amount(known[name].value, known[name].unit),
            known[name].basis,
        )
        for name in order
    ]
    facts[1:1] = _at_motor(bare)
    hedges = {hedge for name in order for hedge in hedges_in(known[name].hedge)}
    with_snapshot = vault.exists(address) and vault.latest(address) is not None
    if with_snapshot:
        view = view_of(resolve(vault, str(address)))
        margins = margins_of(view.with_record(record).state)
        before = sum(margin.is_known for margin in margins_of(view.state).values())
    else:
        margins = dict(found.margins)
        known_before = margins_of(as_built(stored).state).values()
        before = sum(margin.is_known for margin in known_before)
    told = ordered(margins.values(), record.margins)
    return Follows(
        tuple(facts),
        tuple(_held(margin, record) for margin in told if margin.is_known),
        summary([(margin, record.margins.get(margin.name)) for margin in told]) if told else "",
        before,
        _missing(margins),
        tuple(sorted(hedges)),
        with_snapshot,
    )


def _held(margin: Margin, record: AxisRecord) -> HeldMargin:
    stands = standing(margin, record.margins.get(margin.name))
    return HeldMargin(
        margin.name,
        capitalised(title_of(margin.name)),
        ratio_text(margin.ratio, margin.bound),
        held_text(margin),
        stands if needs_somebody(stands) else "holds",
    )


def _at_motor(state: State) -> Iterator[Told]:
    """The inertia of the load as the motor has it, beside its own."""
    functions: tuple[tuple[str, Callable[[State], Figure | float]], ...] = (
        ("Inertia of the load at the motor", load_at_motor),
        ("Inertia of the rotor", rotor_inertia),
    )
    for title, function in functions:
        try:
            size = state.ask(function)
        except (Missing, DoesNotApply):
            continue
        if isinstance(size, float):
            if size:
                yield Told(title, amount(size, "kg*m^2"), "the record")
        else:
            yield Told(title, _BOUNDS[size.bound] + amount(size.value, size.unit), size.basis)


def _missing(margins: Mapping[str, Margin]) -> tuple[ToEnter, ...]:
    """What to enter in the record next: what most margins wait for comes first."""
    counts: dict[str, int] = {}
    for margin in margins.values():
        for name in margin.missing:
            counts[name] = counts.get(name, 0) + 1
    found = (to_enter(name) for name in sorted(counts, key=lambda name: -counts[name]))
    return tuple(one for one in found if one.in_record)
