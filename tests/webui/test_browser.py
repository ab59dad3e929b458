"""The three jobs in a real browser, by clicking: on a phone and on a desk, also without scripts."""

from __future__ import annotations

import re
import shutil
import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any
from unicodedata import normalize

import pypdf
import pytest

from tests.webui.browsing import Window, go_to, log_in, outcome
from tests.webui.visiting import PASSWORD, add_people
from vault.model.names import Address
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.sweep(3)

HOIST = "kiln-loader/hoist"
PHONE, DESK = 390, 1280


@pytest.fixture(scope="module")
def plant_folder(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("browsed") / "plant"
    shutil.copytree(works, folder)
    add_people(folder)
    return folder


@pytest.fixture(params=[(PHONE, False), (DESK, True)], ids=["phone, no scripts", "desk"])
def page(request: pytest.FixtureRequest, window: Window, plant_folder: Path) -> Iterator[Page]:
    width, has_scripts = request.param
    with window.over(plant_folder, width, has_scripts) as tab:
        yield tab


@pytest.fixture
def desk(window: Window, plant_folder: Path) -> Iterator[Page]:
    with window.over(plant_folder, DESK) as tab:
        yield tab


def test_two_axes_are_compared(page: Page) -> None:
    page.goto("/")
    go_to(page, "Compare")
    page.get_by_label("State before").fill("glaze-line-1/lift")
    page.get_by_label("State after").fill("glaze-line-2/lift")
    page.get_by_role("button", name="Compare", exact=True).click()
    text = page.locator("main").inner_text()
    assert "Home offset" in text
    assert re.search(r"\d+ parameters differ, \d+ are equal", text)
    page.get_by_role("link", name="inch", exact=True).click()
    assert re.search(r"[\d.]+ in\b", page.locator("main").inner_text())
    go_to(page, "Odd ones out")
    page.get_by_label("Pattern").fill("*/lift")
    page.get_by_role("button", name="Show").click()
    assert "glaze-line-2/lift" in page.locator("thead").inner_text()


def test_from_the_site_it_is_three_clicks_to_the_difference_of_the_worst_pair(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Machine glaze-line-1").click()
    page.get_by_role("button", name="Compare").click()  # its twin is proposed
    worst = page.locator("article.card").first
    assert worst.get_by_role("heading").inner_text().endswith("hazard turntable")
    worst.get_by_role("link").click()
    assert "Input 4 inverted" in page.locator("main").inner_text()


def test_heads_of_a_spread_stay_in_sight_and_the_keyboard_scrolls_it(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto("/spread?pattern=*")
    box = page.get_by_role("region", name="Axes side by side")
    box.scroll_into_view_if_needed()
    before = page.locator("thead th").first.bounding_box()
    box.focus()
    for key in ("PageDown", "PageDown", "ArrowRight", "ArrowRight", "ArrowRight"):
        page.keyboard.press(key)
    for _ in range(100):
        if box.evaluate("one => one.scrollTop > 300 && one.scrollLeft > 50"):
            break
        page.wait_for_timeout(50)
    after = page.locator("thead th").first.bounding_box()
    frame = box.bounding_box()
    assert before is not None and after is not None and frame is not None
    assert after["y"] == pytest.approx(frame["y"], abs=2)
    assert after["x"] == pytest.approx(frame["x"], abs=2)


def test_a_fault_is_audited_and_its_evidence_packed(page: Page, tmp_path: Path) -> None:
    log_in(page, "reader")
    page.goto(f"/axis/{HOIST}")
    fault = page.locator("article", has_text="2023-01-24 03:52, fault F-11")
    fault.get_by_role("link", name="What explains it").click()
    first = page.locator("article.card").first.inner_text()
    assert "Braking resistor used: Yes (1) became No (0)" in first
    page.get_by_role("button", name="Pack the evidence").click()
    assert "HOW-TO-CHECK.txt" in outcome(page)
    with page.expect_download() as downloading:
        page.get_by_role("link", name="Download").click()
    downloading.value.save_as(tmp_path / "evidence.zip")
    with zipfile.ZipFile(tmp_path / "evidence.zip") as archive:
        names = {name.rsplit("/", 1)[-1] for name in archive.namelist()}
    assert {"report.html", "report.json", "SHA256SUMS", "history.bundle"} <= names


def test_exports_are_looked_at_before_they_are_stored(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    with Vault.open(plant_folder) as vault:
        address = Address.parse("kiln-loader/pusher")
        latest = vault.latest(address)
        assert latest is not None
        name = latest.record.export_name
        content = vault.read_required(f"machines/{address}/export/{name}", latest.id)
        count = vault.index.count()
    (tmp_path / name).write_bytes(content)
    (tmp_path / "half.csv").write_bytes(content[: len(content) // 2])
    (tmp_path / "holiday.csv").write_text("a photo, not an export\n")
    log_in(page, "technician")
    go_to(page, "Take in")
    files = [tmp_path / name, tmp_path / "holiday.csv"]
    page.get_by_label("Exports", exact=True).set_input_files(files)
    page.get_by_label("Work order").fill("WO-1 <b>")
    page.get_by_role("button", name="Look at them").click()
    text = page.locator("main").inner_text()
    assert "2 exports of 3 can be stored" in text  # the drive has two axes
    assert text.count("No setting differs") == 2
    with Vault.open(plant_folder) as vault:
        assert vault.index.count() == count  # nothing is stored yet
    page.locator("[name=taken_at-0]").fill("2026-09-01 10:00")
    page.locator("[name=taken_at-1]").fill("2026-09-01 10:00")
    page.get_by_role("button", name="Store them").click()
    said = outcome(page)
    assert "is stored as kiln-loader/pusher" in said
    assert "is stored as kiln-loader/shuttle" in said
    assert "Not stored: holiday.csv" in said
    page.get_by_role("link", name="Go on").click()
    assert "0 exports of 1 can be stored" in page.locator("main").inner_text()
    page.get_by_role("button", name="Store nothing").click()
    with Vault.open(plant_folder) as vault:
        assert vault.index.count() == count + 2


def test_a_baseline_is_approved_waived_and_withdrawn(page: Page) -> None:
    log_in(page, "approver")
    page.goto("/axis/glaze-line-2/lift")
    page.get_by_role("link", name="Golden baseline", exact=True).click()
    page.get_by_label("Why this state is the right one").fill("accepted after service")
    page.get_by_role("button", name="Approve it").click()
    assert "approved by Abena Lorn" in page.locator("main").inner_text()
    page.get_by_label("Parameter, by code or role").fill("following_error_window")
    page.get_by_label("What it may be").fill("1..9 mm")
    page.get_by_label("Why", exact=True).fill("worn screw")
    page.get_by_role("button", name="Waive it").click()
    assert "may be 1..9 mm until" in page.locator("main article").inner_text()
    page.get_by_role("button", name="Take it back").click()
    page.get_by_label("Why nothing is approved any more").fill("machine is rebuilt")
    page.get_by_role("button", name="Withdraw the baseline").click()
    assert "No state of it is approved" in page.locator("main").inner_text()


def test_the_keyboard_alone_is_enough(desk: Page) -> None:
    """Log in, reach an axis and ask for its difference: Tab, Enter and typing only."""
    page = desk
    page.goto("/")
    page.keyboard.press("Tab")
    assert focused(page)["text"] == "To the content"
    reach(page, "Log in")
    page.keyboard.press("Enter")
    page.wait_for_url("**/log-in*")
    reach(page, "name")
    page.keyboard.type("reader")
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    page.locator(".message").wait_for()
    reach(page, HOIST)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/axis/{HOIST}")
    reach(page, "Latest change")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile("/compare.left="))


def focused(page: Page) -> dict[str, Any]:
    """What the keyboard is on, which must be seen to be."""
    found: dict[str, Any] = page.evaluate(
        "() => { const e = document.activeElement, s = getComputedStyle(e);"
        " return {text: e.textContent.trim() || e.name, outline: s.outlineStyle,"
        " width: s.outlineWidth}; }"
    )
    return found


def reach(page: Page, text: str) -> None:
    for _ in range(80):
        found = focused(page)
        if found["text"] == text:
            assert found["outline"] != "none"
            assert found["width"] != "0px"
            return
        page.keyboard.press("Tab")
    pytest.fail(f"the keyboard does not reach {text!r}")


def test_a_difference_and_a_sheet_print(desk: Page) -> None:
    """As PDF on A4: pages come out, without the navigation, and with the sentences."""
    page = desk
    for address, words in (
        ("/compare?left=glaze-line-1/lift@~2&right=glaze-line-1/lift@previous", "Home offset"),
        (f"/restore/{HOIST}/sheet", "Restore sheet"),
    ):
        page.goto(address)
        printed = pypdf.PdfReader(BytesIO(page.pdf(format="A4")))
        text = normalize("NFKC", "".join(sheet.extract_text() for sheet in printed.pages))
        assert 1 <= len(printed.pages) <= 8
        assert words in text
        assert "Odd ones out" not in text
