"""Which parameter a line that was left out is of, where that can be told."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.model import roles
from vault.model.parameters import canonical_code

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.jobs.state.selectors import State
    from vault.model.export import SkippedLine
    from vault.model.normalise import Definition

_OBJECT = re.compile(r"(0x[0-9A-Fa-f]{4}:[0-9A-Fa-f]{2}): ")
_BETWEEN = re.compile(r"[;,\t| ]+")


@dataclass(frozen=True, slots=True)
class Named:
    """A parameter that a line names; nothing may define it where an export describes itself."""

    code: str
    definition: Definition | None

    @property
    def name(self) -> str:
        """Its name, empty where nothing tells."""
        if self.definition is not None:
            return self.definition.name
        role = roles.for_object(self.code)
        return role.title if role is not None else ""

    def __str__(self) -> str:
        return f"{self.name} ({self.code})" if self.name else self.code


def parameter_of_line(line: SkippedLine, known: Mapping[str, Definition]) -> Named | None:
    """The parameter that a line names; None where it names none that is known."""
    if (found := _OBJECT.match(line.reason)) is not None:  # as the reader of DCF says it
        code = canonical_code(found[1])
        return Named(code, known.get(code))
    for word in _BETWEEN.split(line.text):
        code = canonical_code(word.strip('"'))
        if code in known:
            return Named(code, known[code])
    return None


def named_lines(state: State) -> list[tuple[SkippedLine, Named | None]]:
    """The lines left out of a state, each with its parameter, told as `Home offset (ref/off)`."""
    if not state.coverage.left_out:
        return []
    known = state.definitions
    return [(line, parameter_of_line(line, known)) for line in state.coverage.left_out]
