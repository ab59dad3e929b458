"""The JSON objects of families and axes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json, snapshot_json

if TYPE_CHECKING:
    from vault.jobs.records.edit import AxisSheet
    from vault.model.families import Family


def family_json(family: Family) -> Json:
    """A dictionary in short."""
    return {
        "name": family.name,
        "title": family.title,
        "format": family.export.format,
        "parameters": len(family.parameters),
        "variants": [str(v.firmware) for v in family.variants],
    }


def axis_json(sheet: AxisSheet, *, short: bool = False) -> Json:
    """An axis; its whole record unless `short`."""
    found: Json = {
        "axis": str(sheet.address),
        "title": sheet.title,
        "snapshots": sheet.snapshots,
        "latest": snapshot_json(sheet.latest) if sheet.latest else None,
    }
    if not short:
        record = sheet.record
        found["record"] = (
            record.model_dump(mode="json", by_alias=True, exclude_none=True) if record else None
        )
    return found
