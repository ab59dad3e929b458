"""From an empty vault to an axis that is watched, in a real browser alone: each act is counted."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.webui.browsing import Hand, Window, go_to, log_in, outcome, sideways
from tests.webui.visiting import add_people
from vault.jobs.baseline.golden import show
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Page

LIFT = Address("line-1", "lift")
PHONE, DESK = 390, 1280
pytestmark = pytest.mark.sweep(3)
MOST_ACTS = 24


@pytest.fixture
def folder(vault: Vault, tmp_path: Path, export_text: Callable[..., str]) -> Path:
    """A vault that knows a drive family, and has no axis; an export lies on the visitor's disk."""
    (tmp_path / "lift.csv").write_text(export_text(serial="S1"))
    add_people(vault.repository.path)
    return vault.repository.path


@pytest.mark.parametrize(
    ("width", "has_scripts"), [(PHONE, False), (DESK, True)], ids=["phone, no scripts", "desk"]
)
def test_an_axis_is_set_up_with_at_most_twenty_four_acts(
    window: Window, folder: Path, tmp_path: Path, width: int, has_scripts: bool
) -> None:
    with window.over(folder, width, has_scripts) as page:
        hand = Hand()
        log_in(page, "approver")
        assert "There is no axis yet" in page.locator("main").inner_text()
        hand.click(page.get_by_role("link", name="Make an axis"))
        hand.fill(page.get_by_label("Machine"), "line-1")
        hand.fill(page.get_by_label("Axis", exact=True), "lift")
        hand.fill(page.get_by_label("Title"), "Lift of line 1")
        assert sideways(page) <= 0
        hand.click(page.get_by_role("button", name="Make it"))
        enter_record(page, hand, has_scripts)
        assert sideways(page) <= 0
        hand.click(page.get_by_role("button", name="Store the record"))
        assert "The record is stored" in page.locator("main").inner_text()
        assert page.get_by_label("Axis, where all belong to one").input_value() == "line-1/lift"
        hand.acts += 1
        page.get_by_label("Exports").set_input_files(tmp_path / "lift.csv")
        hand.click(page.get_by_role("button", name="Look at them"))
        hand.click(page.get_by_role("button", name="Store it"))
        assert "is stored as line-1/lift" in outcome(page)
        hand.click(page.get_by_role("link", name="Go on"))
        hand.click(page.get_by_role("link", name="approve its latest state"))
        hand.fill(page.get_by_label("Why this state is the right one"), "as commissioned")
        hand.click(page.get_by_role("button", name="Approve it"))
        assert "is golden" in page.locator(".message").inner_text()
        assert sideways(page) <= 0
    assert hand.acts <= MOST_ACTS, hand.acts
    with Vault.open(folder) as vault:
        assert show(vault, LIFT).approval is not None
        text = (vault.read(layout.axis_file(LIFT)) or b"").decode()
    assert "  lead: 20 mm\n" in text
    assert "  rated_torque: 3.2 N*m\n" in text


def enter_record(page: Page, hand: Hand, has_scripts: bool) -> None:
    """What the plates say; what follows is told while it is typed, or when that is asked."""
    hand.select(page.get_by_label("Kind"), "ball screw")
    hand.fill(page.get_by_label("Lead", exact=True), "20 mm")
    hand.fill(page.get_by_label("Gearbox: turns of the motor"), "2")
    hand.fill(page.get_by_label("Gearbox: turns of the output"), "1")
    hand.select(page.get_by_label("Orientation"), "vertical")
    hand.fill(page.get_by_label("Moving mass"), "60 kg")
    hand.click(page.locator("summary", has_text="Motor"))
    hand.fill(page.get_by_label("Inertia", exact=True), "1.6 kg*cm^2")
    hand.fill(page.get_by_label("Rated torque"), "3.2 N*m")
    follows = page.get_by_role("region", name="What follows")
    if not has_scripts:
        hand.click(page.get_by_role("button", name="Work it out"))
    follows.get_by_text("Inertia of the rotor", exact=True).wait_for()
    told = follows.inner_text()
    assert "10 mm" in told, "a turn of the motor: 20 mm over 2"
    assert "0.9365 N*m" in told, "60 kg x 9.80665 m/s^2 x 20 mm / (2 pi x 2)"


def test_what_is_wrong_is_told_beside_its_field_while_it_is_typed(
    window: Window, folder: Path
) -> None:
    with window.over(folder, DESK) as page:
        log_in(page, "technician")
        page.goto("/new-axis")
        page.get_by_label("Machine").fill("line-1")
        page.get_by_label("Axis", exact=True).fill("lift")
        page.get_by_role("button", name="Make it").click()
        page.get_by_label("Kind").select_option(label="ball screw")
        lead = page.get_by_label("Lead", exact=True)
        lead.fill("20 kg")
        page.get_by_text("needed here: length").wait_for()
        assert lead.get_attribute("aria-invalid") == "true"
        lead.fill("20 mm")
        page.get_by_text("needed here: length").wait_for(state="detached")
        assert lead.get_attribute("aria-invalid") is None


def test_the_way_to_settings_is_in_the_navigation_on_a_phone(window: Window, folder: Path) -> None:
    with window.over(folder, PHONE) as page:
        page.goto("/")
        go_to(page, "Settings")
        assert "axisvault site set" in page.locator("main").inner_text()
        assert sideways(page) <= 0
