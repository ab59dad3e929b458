"""What another text of a dictionary makes of the same exports."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from vault.model.families import Family

_FOR_PEOPLE = {"name", "group"}  # of a parameter: how it is called, and where it stands
_BESIDE = {"title", "parameters", "groups"}


def meant_otherwise(before: Family, after: Family) -> list[str]:
    """What a later text understands otherwise: codes, and keys of the dictionary as a whole.

    How things are called is for people, and codes that are new change nothing that was known.
    """
    changed = [
        code
        for code, entry in before.parameters.items()
        if code not in after.parameters or _meaning(entry) != _meaning(after.parameters[code])
    ]
    return changed + [
        key
        for key in type(before).model_fields
        if key not in _BESIDE and getattr(before, key) != getattr(after, key)
    ]


def _meaning(entry: Any) -> dict[str, Any]:
    said: dict[str, Any] = entry.model_dump(exclude=_FOR_PEOPLE)
    return said
