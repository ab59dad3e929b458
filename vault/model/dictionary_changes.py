"""What another text of a dictionary makes of the same exports."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.model.families import Family


def meant_otherwise(before: Family, after: Family) -> list[str]:
    """What a later text understands otherwise: codes, `exports` for how they are read, `variants`.

    Names and titles are for people, and codes that are new change nothing that was known.
    """
    changed = [
        code
        for code, entry in before.parameters.items()
        if code not in after.parameters or _meaning(entry) != _meaning(after.parameters[code])
    ]
    if before.export != after.export:
        changed.append("exports")
    if before.variants != after.variants:
        changed.append("variants")
    return changed


def _meaning(entry: object) -> dict[str, object]:
    said: dict[str, object] = entry.model_dump(exclude={"name"})  # type: ignore[attr-defined]
    return said
