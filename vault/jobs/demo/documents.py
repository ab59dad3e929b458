"""JSON of the example vault."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.demo.lived_in import ACCOUNT

if TYPE_CHECKING:
    from pathlib import Path

    from vault.jobs.demo.demo import DemoBuilt
    from vault.jobs.demo.lived_in import Acts


class DemoDocument(TypedDict):
    """The example vault that was built: `demo`."""

    vault: str
    """Its folder."""

    snapshots: int
    """How many snapshots it has."""

    axes: int
    """How many axes."""

    alerts: str
    """The file beside it that alerts went into."""

    account: str
    """An account for its pages."""

    password: str | None
    """The password of that, told once; null where the account was there before."""


def demo_document(folder: Path, built: DemoBuilt, acts: Acts) -> DemoDocument:
    """The example vault that was built."""
    return {
        "vault": str(folder),
        "snapshots": built.snapshots,
        "axes": built.axes,
        "alerts": str(acts.alerts),
        "account": ACCOUNT,
        "password": acts.password,
    }
