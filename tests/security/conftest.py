"""A vault and an enemy's copy of it; plant and people are invented."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.security.hostile_copies import BY, STRICT, place, write
from vault.store.files import layout
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def other(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Iterator[Vault]:
    """An enemy's copy of a vault with one snapshot, whose policy wants a second person."""
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00")
    write(vault, layout.VAULT, STRICT, BY)
    with Vault.copy(tmp_path / "other", place(vault)) as copied:
        yield copied
