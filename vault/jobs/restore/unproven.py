"""What a check of a restore cannot tell: values that one of the two sides does not state."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.state.left_out import Named, parameter_of_line
from vault.meaning.loading import never_loaded

if TYPE_CHECKING:
    from vault.jobs.state.selectors import State

BY_HAND = "its line was left out of the target: it was to be set by hand"
NOT_STATED = "the target does not state it: its value there is the file's default"


@dataclass(frozen=True, slots=True)
class Unproven:
    """A parameter that was not proven, and why; `code` is None for a line that names none."""

    code: str | None
    name: str
    reason: str


def unproven(target: State, left: State) -> tuple[Unproven, ...]:
    """Everything that is not proven, each parameter once."""
    found: dict[object, Unproven] = {}
    for one in (*_of_target(target, left), *_of_export(left)):
        found.setdefault(one.code or one.name, one)
    return tuple(found.values())


def _of_target(target: State, left: State) -> Iterator[Unproven]:
    if not target.coverage.is_whole:
        yield from _lines(target, "the target", BY_HAND, left)
        yield from _defaults(target, NOT_STATED)


def _of_export(left: State) -> Iterator[Unproven]:
    if not left.coverage.is_whole:
        why = "its line was left out of the as-left export"
        yield from _lines(left, "the as-left export", why)
        yield from _defaults(left, "the as-left export has the file's default for it, and no value")


def _lines(state: State, what: str, why: str, left: State | None = None) -> Iterator[Unproven]:
    for line in state.coverage.left_out:
        named = parameter_of_line(line, state.definitions)
        if named is None:
            yield Unproven(None, f"line {line.line} of {what}", f"it was left out: {line.reason}")
        elif named.definition is None or never_loaded(named.definition) is None:
            stands = "" if left is None else _stands(left, named.code)
            yield Unproven(named.code, _name(named, left), f"{why}{stands}")


def _name(named: Named, left: State | None) -> str:
    there = left.parameters.get(named.code) if left is not None else None
    return named.name or (there.name if there is not None else named.code)


def _stands(left: State, code: str) -> str:
    if code not in left.parameters:
        return ", and the as-left export does not have it"
    return "; compare it with what was decided"


def _defaults(state: State, why: str) -> Iterator[Unproven]:
    known = state.definitions
    for code in state.coverage.defaults:
        definition = known.get(code)
        if definition is not None and never_loaded(definition) is None:
            yield Unproven(code, definition.name, why)


def not_stated(state: State) -> dict[str, str]:
    """Codes that a target does not state, with the reason: no restore can be held to them."""
    coverage = state.coverage
    found = dict.fromkeys(coverage.defaults, NOT_STATED)
    if coverage.left_out:
        named = (parameter_of_line(line, state.definitions) for line in coverage.left_out)
        found |= {one.code: BY_HAND for one in named if one is not None}
    return found
