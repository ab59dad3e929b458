"""Three hundred baselines in a real browser, with fewer than fifteen clicks, also on a phone."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY
from tests.webui.browsing import Hand, Window, log_in, outcome, sideways
from tests.webui.visiting import add_people
from vault.jobs.baseline.drift import drift
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import set_site
from vault.store.vault import Vault

AXES, MACHINES = 300, 10
PHONE, DESK = 390, 1280
pytestmark = pytest.mark.sweep(3)
_SITE = """\
schema: axisvault/vault/1
site: Tile works (invented)
approval: {second_person: true, reason: true, clean_check: true}
"""


@pytest.fixture
def folder(vault: Vault, tmp_path: Path, export_text: Callable[..., str]) -> Path:
    """A plant of three hundred axes; on every tenth the supervision is off, which check finds."""
    for number in range(AXES):
        name = f"line-{number % MACHINES}/axis-{number // MACHINES:02}"
        place = tmp_path / "exports" / name
        place.mkdir(parents=True)
        lag = "0" if number % 10 == 7 else "2,5"
        saved = "2026-03-01T08:00:00+00:00"
        (place / "a.csv").write_text(export_text(lag, serial=f"S{number}", saved=saved))
    assert not ingest_tree(vault, tmp_path / "exports", BY).failures
    (tmp_path / "site.yaml").write_text(_SITE)
    set_site(vault, tmp_path / "site.yaml", BY)
    add_people(vault.repository.path)
    return vault.repository.path


@pytest.mark.parametrize(
    ("width", "has_scripts"), [(PHONE, False), (DESK, True)], ids=["phone, no scripts", "desk"]
)
def test_three_hundred_are_approved_with_fewer_than_fifteen_clicks(
    window: Window, folder: Path, width: int, has_scripts: bool
) -> None:
    with window.over(folder, width, has_scripts) as page:
        hand = Hand()
        log_in(page, "approver")
        if width == PHONE:
            hand.click(page.get_by_text("Pages", exact=True))
        hand.click(page.get_by_role("link", name="Baselines"))
        assert "too many to judge at once" in page.locator("main").inner_text()
        hand.fill(page.get_by_label("Pattern"), "line-*")
        hand.click(page.get_by_role("button", name="Show"))
        refused = page.get_by_role("heading", name="Refused as it stands: 30")
        assert refused.is_visible(), "those that have a finding"
        for tick in page.get_by_label("is known and right").all():
            hand.click(tick)
        hand.click(page.get_by_role("button", name="Look again"))
        assert page.get_by_role("heading", name="Would be approved: 300").is_visible()
        assert sideways(page) <= 0
        hand.fill(page.get_by_label("Why these states"), "as set up")
        hand.click(page.get_by_role("button", name="Approve those that are ticked"))
        assert "300 axes approved." in outcome(page)
        assert sideways(page) <= 0
        hand.click(page.locator(".many").get_by_role("link", name="line-3/axis-07"))
        assert "as set up" in page.locator("main").inner_text()
    assert hand.acts < 15
    with Vault.open(folder) as vault:
        assert [axis.status for axis in drift(vault)] == ["in_line"] * AXES
