"""A vault that reads exports of both sides of an axis."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from tests.controller_exports import LINDEN, controller_export
from vault.jobs.intake.report import Ingested
from vault.jobs.records.edit import add_family
from vault.store.vault import Vault

MARCH = "2026-03-01T08:00:00+00:00"
APRIL = "2026-04-01T08:00:00+00:00"
MAY = "2026-05-01T08:00:00+00:00"


@pytest.fixture
def both(vault: Vault, take: Take, tmp_path: Path, export_text: Callable[..., str]) -> Vault:
    """The vault with one set of each side of `m1/lift`, of the same moment."""
    (tmp_path / "linden.yaml").write_text(LINDEN)
    add_family(vault, tmp_path / "linden.yaml", BY)
    take(export_text(), MARCH)
    take(controller_export(), MARCH, "m1/lift:controller", "lift-controller.csv")
    return vault


@pytest.fixture
def take_controller(both: Vault, take: Take) -> Callable[..., Ingested]:
    """Takes in a set of the controller's side of `m1/lift`, with what differs from the first."""

    def take_in(taken_at: str = APRIL, to: str = "m1/lift:controller", **values: str) -> Ingested:
        return take(controller_export(**values), taken_at, to, "lift-controller.csv")

    return take_in
