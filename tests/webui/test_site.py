"""The stub of the viewer: one page that lists the axes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from vault.jobs.edit_records import set_axis
from vault.model.names import Address
from vault.store.vault import Vault
from webui import create_app


def test_the_page_lists_every_axis_and_shows_markup_as_text(
    vault: Vault, tmp_path: Path, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    take(export_text(), to="m1/lift")
    record = tmp_path / "lift.yaml"
    record.write_text("schema: axisvault/axis/1\ntitle: <b>Lift</b>\n")
    set_axis(vault, Address("m1", "lift"), record, "Mira <mira@tileworks.example>")
    page = create_app(vault.repository.path).test_client().get("/").text
    assert "m1/lift: &lt;b&gt;Lift&lt;/b&gt;" in page
    assert "1 snapshots" in page
    assert "never writes to a drive" in page
