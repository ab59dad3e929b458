"""The example vault: an invented ceramic tile works.

It is built in four steps: the plant whose drives have dictionaries, then a machine whose drives
had none (`vault.jobs.demo.unknown_drive`), then the projects of the controllers
(`vault.jobs.demo.controllers`), then what people did last (`vault.jobs.demo.lived_in`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib.resources import as_file, files
from pathlib import Path

from vault.jobs.faults.log import import_faults
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_family, set_axis, set_site
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

SITE = "Tile works (invented example)"
BY = "axisvault demo <demo@tileworks.example>"
UNKNOWN_FAMILY, UNKNOWN_MACHINE = "hazel", "palletiser"


@dataclass(frozen=True, slots=True)
class DemoBuilt:
    """Size of the example vault."""

    snapshots: int
    axes: int


def build_demo(folder: Path, progress: Callable[[int, int], None]) -> DemoBuilt:
    """Build the first step, or complete one that is there. Raises WrongUsage for other vaults."""
    if not folder.exists() or not any(folder.iterdir()):
        Vault.create(folder, SITE, BY).close()
    with as_file(files("example_machines")) as example, Vault.open(folder) as vault:
        if vault.site != SITE:
            raise WrongUsage(f"{folder} is another vault: {vault.site}", hint="name a new folder")
        if not vault.site_record.alerts:  # `vault.jobs.demo.lived_in` adds some
            set_site(vault, example / "site.yaml", BY)
        for path in sorted((example / "families").glob("*.yaml")):
            if path.stem != UNKNOWN_FAMILY:
                add_family(vault, path, BY)
        for path in sorted((example / "machines").glob("*/*.yaml")):
            if path.parent.name != UNKNOWN_MACHINE:
                set_axis(vault, Address.parse(f"{path.parent.name}/{path.stem}"), path, BY)
        outcome = ingest_tree(vault, example, BY, progress=progress)
        if outcome.failures:
            raise outcome.failures[0]
        for path in sorted((example / "faults").glob("*/*.csv")):
            import_faults(vault, Address.parse(f"{path.parent.name}/{path.stem}"), path, BY)
        return DemoBuilt(vault.index.count(), len(vault.axes()))
