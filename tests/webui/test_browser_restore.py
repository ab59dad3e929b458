"""A swapped drive is restored in a real browser, from the site page to the signature, by clicks."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from unicodedata import normalize

import pypdf
import pytest

from tests.jobs.restore.test_restore_story import NEW_PLATE
from tests.simulated_drive import SimulatedDrive, story_of
from tests.webui.browsing import Hand, Window, log_in, sideways
from vault.jobs.restore.target import planned
from vault.model.names import Address
from vault.store.clock import now, time_text
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.sweep(3)

HOIST = "kiln-loader/hoist"
PHONE, DESK = 390, 1280
CLICKS = 7
"""From the logbook to the signature; choosing the file is one of them, and saying that the boxes of
the sheet were not ticked here another. It took 7 without that, an archive that
had to be unpacked, and a wait on a page of its own before a plan had its page."""


@pytest.fixture(params=[(PHONE, False), (DESK, True)], ids=["phone, no scripts", "desk"])
def page(request: pytest.FixtureRequest, window: Window, plant_folder: Path) -> Iterator[Page]:
    width, has_scripts = request.param
    with window.over(plant_folder, width, has_scripts) as tab:
        yield tab


def swapped_drive(load_file: bytes) -> SimulatedDrive:
    """A new drive on the hoist, with the file loaded and the safety functions validated."""
    last = list(story_of("kiln-loader", "hoist").states())[-1]
    drive = SimulatedDrive.like(last, **NEW_PLATE[last.story.family])
    assert drive.load(load_file) == []
    drive.restart()
    drive.validate_safety(last.settings)
    return drive


def button(page: Page, name: str) -> Locator:
    return page.get_by_role("button", name=name)


def loaded(page: Page, hand: Hand, place: Path) -> Path:
    """Download the load file by itself, load it, and export the drive again."""
    with page.expect_download() as downloading:
        hand.click(page.get_by_role("link", name="Download"))
    file = place / "load"
    downloading.value.save_as(file)
    after = place / "after.txt"
    after.write_bytes(swapped_drive(file.read_bytes()).export(time_text(now())))
    return after


def checked(page: Page, hand: Hand, after: Path, measured: str) -> str:
    hand.choose(page.get_by_label("Export taken after loading"), after)
    page.get_by_label("Short move: commanded").fill("10 mm")
    page.get_by_label("Measured on the machine").fill(measured)
    hand.click(button(page, "Store and check it"))
    return page.locator("#verdict").inner_text()


def test_a_drive_is_restored_in_as_many_clicks_as_are_told(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    log_in(page, "technician")
    page.goto(f"/axis/{HOIST}")
    hand = Hand()
    hand.click(page.locator(".actions").get_by_role("link", name="Restore it"))
    hand.click(button(page, "Make the plan"))
    after = loaded(page, hand, tmp_path)
    assert f"{HOIST} is restored" in checked(page, hand, after, "10.01 mm")
    hand.click(page.get_by_label("or without a reason: signed although"))
    hand.click(button(page, "Sign as Tomas Quillfeather"))
    assert "Signed off by Tomas Quillfeather" in page.locator("main").inner_text()
    assert hand.acts == CLICKS
    with Vault.open(plant_folder) as vault:
        latest = vault.latest(Address.parse(HOIST))
        assert latest is not None
        assert latest.record.by.startswith("Tomas Quillfeather")
        assert latest.record.moved == "10 mm=10.01 mm"
        plan = planned(vault, Address.parse(HOIST))
    assert plan is not None
    page.goto(f"/axis/{HOIST}")
    page.get_by_role("link", name=f"restore plan {plan.number}").click()
    assert plan.number in page.locator("h1").inner_text()


def test_a_restore_is_left_and_gone_on_with_from_the_site_page(page: Page, tmp_path: Path) -> None:
    log_in(page, "technician")
    page.goto(f"/restore/{HOIST}")
    hand = Hand()
    button(page, "Make the plan").click()
    after = loaded(page, hand, tmp_path)
    box = page.get_by_label("Compare the plates of what is fitted with this table.")
    box.check()
    page.get_by_label("Commanded", exact=True).fill("10 mm")
    page.get_by_label("Measured", exact=True).fill("20 mm")
    button(page, "Keep the ticks").click()
    page.goto("/")
    entry = page.locator("li", has_text=f"{HOIST}, plan")
    assert "Next: load the file by the sheet, then export again" in entry.inner_text()
    entry.get_by_role("link").click()
    assert box.is_checked()
    assert "Tomas Quillfeather" in (page.locator("label", has=box).text_content() or "")
    moved = page.get_by_label("Short move: commanded")
    assert moved.input_value() == "10 mm"  # typed on the sheet, and not again
    page.get_by_label("Export taken after loading").set_input_files(after)
    button(page, "Store and check it").click()
    assert "is NOT restored" in page.locator("#verdict").inner_text()  # twice as far as commanded
    assert "restored" in checked(page, hand, after, "10.01 mm")
    page.goto("/")
    plan = page.locator("li", has_text=f"{HOIST}, plan")
    assert "Next: sign it off" in plan.inner_text()
    plan.get_by_role("link").click()
    page.locator("#sheet > summary").click()
    page.locator('.sheet-part[open] [name="tick"]:not(:checked)').first.check()
    page.get_by_label("Why it is signed although").fill("the rest on paper")
    button(page, "Sign as Tomas Quillfeather").click()
    assert "the rest on paper" in page.locator(".verdict").first.inner_text()
    assert page.locator('[name="tick"]:checked').count() == 2  # the one kept, and the one not


def test_no_page_of_the_thread_scrolls_sideways_and_the_print_is_its_sheet(page: Page) -> None:
    log_in(page, "technician")
    page.goto("/restore/glaze-line-1/lift")
    page.get_by_label("Encoder bits").fill("20+12")
    page.get_by_label("Its rated torque").fill("9.55")
    button(page, "Work it out").click()
    assert page.locator("label.correction").count() > 0
    assert sideways(page) == 0
    button(page, "Make the plan").click()
    assert sideways(page) == 0
    number = page.locator("h1 .num").inner_text()
    page.goto("/")
    page.goto("/axis/glaze-line-1/lift")
    assert number in page.locator("main").inner_text()
    for address in (
        f"/restore/glaze-line-1/lift/plan/{number}",
        f"/restore/glaze-line-1/lift/plan/{number}/file/sheet.html",
        "/restore/glaze-line-1/lift/sheet",
    ):
        page.goto(address)
        printed = pypdf.PdfReader(BytesIO(page.pdf(format="A4")))
        text = normalize("NFKC", "".join(sheet.extract_text() for sheet in printed.pages))
        assert number in text, address
        assert "Lock out and tag out the supply" in " ".join(text.split())
        assert "Store and check it" not in text
        assert 1 <= len(printed.pages) <= 8
