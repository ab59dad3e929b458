"""Many axes side by side."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.inspect.kept_margins import KEPT
from vault.jobs.state.selectors import State, view_of
from vault.jobs.state.sides import sets_meant
from vault.meaning.margin_spread import MarginRow, spread_margins
from vault.meaning.spread import Row
from vault.meaning.spread import spread as spread_views
from vault.meaning.spread_answers import Answer, answers
from vault.model.bounds import MOST_TYPED
from vault.model.collector import collector_paused
from vault.model.errors import WrongUsage
from vault.model.parameters import canonical_code
from vault.model.patterns import fits_glob
from vault.model.wording import plural
from vault.store.files import layout

if TYPE_CHECKING:
    from vault.model.coverage import Coverage, Remark
    from vault.model.names import Address
    from vault.store.vault import Vault


_MANY = 8  # axes, from where it pays to start a process of git's for their files


@dataclass(frozen=True, slots=True)
class Spread:
    """Axes and rows; `rows` with every parameter, whether it differs or not.

    `answers` say who is odd, the worst first. `coverage` is by axis: what its latest snapshot has
    of the drive's set.
    """

    axes: tuple[str, ...]
    rows: tuple[Row, ...]
    answers: tuple[Answer, ...]
    coverage: Mapping[str, Coverage]

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Of which axes the set is not whole, or may not be."""
        return tuple(one for axis, held in self.coverage.items() for one in held.told(axis))

    @property
    def without_reference(self) -> int:
        """On how many parameters the axes differ with nothing to go by."""
        return sum(row.reference is None for row in self.differing)

    @property
    def differing(self) -> tuple[Row, ...]:
        """Rows on which the axes do not agree."""
        return tuple(row for row in self.rows if not row.is_same)


@dataclass(frozen=True, slots=True)
class MarginSpread:
    """Axes and their margins; `rows` with every margin, whether axes are odd or not."""

    axes: tuple[str, ...]
    rows: tuple[MarginRow, ...]
    coverage: Mapping[str, Coverage]

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """Of which axes the set is not whole, or may not be."""
        return tuple(one for axis, held in self.coverage.items() for one in held.told(axis))

    @property
    def odd_first(self) -> tuple[str, ...]:
        """The axes, those first that are short most often, then those that are far from others."""

        def place(axis: str) -> tuple[int, int]:
            short = sum(axis in row.short for row in self.rows)
            return -short, -sum(axis in row.far for row in self.rows)

        return tuple(sorted(self.axes, key=place))

    @property
    def odd(self) -> tuple[MarginRow, ...]:
        """Rows that have an odd axis."""
        return tuple(row for row in self.rows if row.odd)


def spread(vault: Vault, pattern: str, parameter: str | None = None) -> Spread:
    """Compare the latest snapshots of all axes that fit a pattern such as `*/lift`.

    Raises WrongUsage if fewer than two axes fit, or none has the parameter.
    """
    states = _states(vault, pattern)
    ahead = vault.repository.reading_ahead(_files_of(vault, states.values()))
    with collector_paused(), ahead:
        views = {name: view_of(state) for name, state in states.items()}
        wanted = canonical_code(parameter) if parameter else None
        rows = spread_views(views, wanted)
        coverage = {name: state.coverage for name, state in states.items()}
        told = answers(rows, views)
    if not rows:
        raise WrongUsage(f"none of these axes has a parameter {parameter!r}")
    return Spread(tuple(views), tuple(rows), told, coverage)


def has_twin(vault: Vault, address: Address) -> bool:
    """Whether another axis of that name, on another machine, has a snapshot to stand beside it."""
    name = vault.names.named(address).shown[1]
    return any(
        other.shown[1] == name
        and other != address
        and vault.names.retired(other) is None
        and vault.latest(other) is not None
        for other in (vault.controller_sets() if address.is_controller else vault.axes())
    )


def margin_spread(vault: Vault, pattern: str) -> MarginSpread:
    """Hold the margins of the latest snapshots of all axes that fit a pattern side by side.

    Raises WrongUsage if fewer than two axes fit.
    """
    if ":" in pattern:
        raise WrongUsage("margins are of axes, and of no controller's set", hint="leave the : out")
    asked = str(vault.repository.path), vault.tip, pattern
    if (known := _LAST.get(asked)) is not None:  # another thread may clear it meanwhile
        return known
    states = _states(vault, pattern)
    margins = KEPT.of(vault, list(states.values()))
    rows = spread_margins(dict(zip(states, margins, strict=True)))
    coverage = {name: state.coverage for name, state in states.items()}
    found = MarginSpread(tuple(states), tuple(rows), coverage)
    _LAST.clear()  # one answer: who looks again, looks at the same
    _LAST[asked] = found
    return found


_LAST: dict[tuple[str, str, str], MarginSpread] = {}
"""The last answer of the process: all that it rests on is at the tip of the vault."""


def _files_of(vault: Vault, states: Collection[State]) -> list[str]:
    """The files that many sets are read from; none where there are few."""
    names: list[str] = []
    if len(states) < _MANY:
        return names
    for state in states:
        assert state.address is not None and state.snapshot is not None
        taken, family = state.snapshot.id, state.family_name
        names.append(f"{taken}:{layout.parameters_file(state.address)}")
        names += [] if family is None else [f"{taken}:{layout.family_file(family)}"]
        axis_file = layout.axis_file(state.address)
        # Where there is no record, its folder is looked into.
        names += [f"{vault.tip}:{axis_file}", f"{vault.tip}:{axis_file.rpartition('/')[0]}"]
    return names


def _states(vault: Vault, pattern: str) -> dict[str, State]:
    """The latest states of all axes that fit, or of the controllers' sets: `*/lift:controller`.

    Raises WrongUsage if fewer than two do.
    """
    if len(pattern) > MOST_TYPED:
        raise WrongUsage(f"a pattern has at most {MOST_TYPED} characters")
    states: dict[str, State] = {}
    for address in sets_meant(vault, pattern):
        names = vault.names.names(address)
        if not any(fits_glob(name, pattern) for name in names):
            continue
        if vault.names.retired(address) is not None and pattern not in names:
            continue
        if (snapshot := vault.latest(address)) is not None:
            states[str(address)] = State(str(address), vault, address, snapshot, True)
    if len(states) < 2:
        fit = plural(len(states), "axis fits", "axes fit")
        raise WrongUsage(f"{fit} {pattern!r}; it takes two", hint="axisvault axis list")
    return states
