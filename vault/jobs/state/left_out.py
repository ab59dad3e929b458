"""Which parameter a line that was left out is of, where that can be told."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from vault.model.parameters import canonical_code

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.jobs.state.selectors import State
    from vault.model.export import SkippedLine
    from vault.model.normalise import Definition

_BETWEEN = re.compile(r"[;,\t| ]+")


def parameter_of_line(
    line: SkippedLine, known: Mapping[str, Definition]
) -> tuple[str, Definition] | None:
    """Code and definition of the parameter that a line names; None where none is known."""
    for word in _BETWEEN.split(line.text):
        code = canonical_code(word.strip('"'))
        if code in known:
            return code, known[code]
    return None


def named_lines(state: State) -> list[tuple[SkippedLine, str | None]]:
    """The lines left out of a state, each with its parameter as `Home offset (ref/off)`."""
    if not state.coverage.left_out:
        return []
    known = state.definitions
    found = []
    for line in state.coverage.left_out:
        named = parameter_of_line(line, known)
        found.append((line, f"{named[1].name} ({named[0]})" if named else None))
    return found
