"""JSON of the example vault."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from pathlib import Path

    from vault.jobs.demo.demo import DemoBuilt


class DemoDocument(TypedDict):
    """The example vault that was built: `demo`."""

    vault: str
    """Its folder."""

    snapshots: int
    """How many snapshots it has."""

    axes: int
    """How many axes."""


def demo_document(folder: Path, built: DemoBuilt) -> DemoDocument:
    """The example vault that was built."""
    return {"vault": str(folder), "snapshots": built.snapshots, "axes": built.axes}
