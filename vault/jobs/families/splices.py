"""Where the parameters of a dictionary stand in its text, and what is said where none can."""

from __future__ import annotations

from typing import Any

from vault.model.errors import Unreadable
from vault.model.parameters import canonical_code


def parameter_nodes(root: Any) -> dict[str, Any]:
    """The mapping of each parameter as a node of YAML, by its code."""
    every = next((value for key, value in root.value if key.value == "parameters"), None)
    pairs = every.value if every is not None and isinstance(every.value, list) else []
    return {
        canonical_code(key.value): value
        for key, value in pairs
        if isinstance(value.value, list) and isinstance(key.value, str)
    }


def by_hand(file: str) -> Unreadable:
    """The refusal of an edit to a dictionary that is written in some other way."""
    return Unreadable(
        "this dictionary is written in a way in which it is edited by hand alone",
        file=file,
        hint="edit it and put it in: axisvault family add FILE",
    )
