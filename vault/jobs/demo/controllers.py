"""The controllers of the example plant: the projects of the two glaze lines, of all their axes."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import as_file, files
from pathlib import Path

from vault.jobs.demo.demo import BY, DemoBuilt
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.store.vault import Vault

CONTROLLERS = "controllers.csv"


def add_controllers(folder: Path, progress: Callable[[int, int], None]) -> DemoBuilt:
    """Take the projects in as sets of the controller's side; what the vault has of them stays."""
    with as_file(files("example_machines")) as example, Vault.open(folder) as vault:
        outcome = ingest_tree(vault, example, BY, example / CONTROLLERS, progress)
        if outcome.failures:
            raise outcome.failures[0]
        return DemoBuilt(vault.index.count(), len(vault.axes()))
