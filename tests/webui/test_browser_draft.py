"""From an unknown workbook to its first comparison in a real browser, by clicks and keys alone."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.conftest import BY
from tests.webui.browsing import Window, log_in, sideways
from tests.webui.test_browser import DESK, PHONE, focused, reach
from tests.webui.visiting import add_people
from tests.webui.workbooks import unknown_workbook
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.sweep(3)

MOST = 40
"""Clicks and keystrokes that the way may take."""
_CHOOSING = 4
"""Clicks in the window of the system that chooses two files: open it, first, second, take them."""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new vault that has no family and no axis yet."""
    Vault.create(tmp_path / "plant", "Tile works (invented)", BY).close()
    add_people(tmp_path / "plant")
    return tmp_path / "plant"


@pytest.fixture
def books(tmp_path: Path) -> list[Path]:
    """Two exports of one axis, of a drive that the vault does not know."""
    (tmp_path / "Hub 1.xlsx").write_bytes(unknown_workbook(2))
    (tmp_path / "Hub 2.xlsx").write_bytes(unknown_workbook(4, "20.11.2026 09:30"))
    return [tmp_path / "Hub 1.xlsx", tmp_path / "Hub 2.xlsx"]


class Hand:
    """A person at a page, without a script: what they click and type is counted and noted."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.done: list[tuple[int, str]] = []

    @property
    def count(self) -> int:
        return sum(number for number, _ in self.done)

    def click(self, what: Locator, words: str) -> None:
        what.click()
        self.done.append((1, words))

    def type(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.done.append((len(text), f"type {text}"))

    def choose(self, what: Locator, files: list[Path]) -> None:
        with self.page.expect_file_chooser() as opened:
            what.click()
        opened.value.set_files(files)
        self.done.append((_CHOOSING, "choose both files"))


def beyond(page: Page, title: str) -> int:
    """Pixels that a page, once it is there, is wider than its window."""
    page.get_by_role("heading", name=title).wait_for()
    return sideways(page)


@pytest.mark.parametrize(("width", "scripts"), [(PHONE, False), (DESK, True)])
def test_an_unknown_workbook_comes_to_its_first_comparison_in_under_forty_clicks_and_keys(
    width: int, scripts: bool, window: Window, folder: Path, books: list[Path]
) -> None:
    with window.over(folder, width, scripts) as page:
        log_in(page, "approver")
        page.goto("/")
        hand = Hand(page)
        if not scripts:  # and a phone
            hand.click(page.get_by_text("Pages", exact=True), "Pages")
        hand.click(page.get_by_role("link", name="Take in", exact=True), "Take in")
        hand.choose(page.get_by_label("Exports", exact=True), books)
        hand.click(page.get_by_label("Axis, where all belong to one"), "the field for the axis")
        hand.type("m1/hub")
        hand.click(page.get_by_role("button", name="Look at them"), "Look at them")
        assert beyond(page, "Before it is stored") <= 0
        hand.click(page.get_by_role("button", name="Draft a dictionary from it").first, "Draft")
        assert beyond(page, "Draft of qx-7") <= 0
        lag = page.locator("article", has_text="Schleppfehlergrenze")
        hand.click(lag.get_by_label("yes, "), "yes")
        hand.click(page.get_by_role("button", name="Put into the vault"), "Put into the vault")
        hand.click(page.get_by_role("button", name="Store them"), "Store them")
        page.get_by_text(re.compile("^(Done|⚠)")).first.wait_for()
        hand.click(page.get_by_role("link", name="Go on"), "Go on")
        hand.click(page.get_by_role("link", name="Latest change"), "Latest change")
        text = page.locator("main").inner_text()
        assert "1 parameter differs" in text
        assert re.search(r"2 mm .*4 mm", text)
        told = ", ".join(f"{words} ({number})" for number, words in hand.done)
        assert hand.count < MOST, told
        print(f"{hand.count}: {told}")


def test_a_draft_is_put_right_and_stored_by_the_keyboard_alone(
    window: Window, folder: Path, books: list[Path]
) -> None:
    with window.over(folder, DESK) as page:
        log_in(page, "approver")
        page.goto("/families")
        reach(page, "From an export")
        page.keyboard.press("Enter")
        page.wait_for_url("**/draft")
        page.get_by_label("Exports of one family").set_input_files(books)
        reach(page, "name")
        page.keyboard.type("oak")
        page.keyboard.press("Enter")
        page.wait_for_url(re.compile("/draft/."))
        for _ in range(120):  # every stop is seen to be one, up to the role of the lag
            page.keyboard.press("Tab")
            assert focused(page)["outline"] != "none"
            if page.evaluate(
                "document.activeElement.closest('article')?.innerText ?? ''"
            ).startswith("q.10"):
                break
        page.keyboard.press("ArrowDown")
        reach(page, "Put into the vault")
        page.keyboard.press("Enter")
        page.wait_for_url("**/take-in/*")
        assert "Family oak is in the vault" in page.locator(".message").inner_text()
        page.goto("/families/oak")
        page.locator("summary", has_text="with a role").click()
        row = page.locator("tbody tr", has_text="Schleppfehlergrenze")
        assert "following_error_window?" not in row.inner_text()
        assert "following_error_window" in row.inner_text()


def test_the_role_of_a_parameter_is_settled_on_a_phone_without_scripts(
    window: Window, folder: Path, books: list[Path]
) -> None:
    with window.over(folder, PHONE, False) as page:
        log_in(page, "approver")
        page.goto("/draft")
        page.get_by_label("Exports of one family").set_input_files(books)
        page.get_by_role("button", name="Look at them").click()
        page.get_by_role("button", name="Put into the vault").click()
        page.goto("/families/qx-7")
        brake = page.locator("article", has_text="Haltebremse")
        assert "hazard" in brake.inner_text()
        brake.get_by_label("yes, ").check()
        page.get_by_role("button", name="Settle them").click()
        assert "1 role settled" in page.locator(".message").inner_text()
        assert page.locator("article", has_text="Haltebremse").count() == 0
        page.locator("summary", has_text="without a role").click()
        page.get_by_role("link", name="q.31").click()
        assert page.get_by_label("Parameter, by code").input_value() == "q.31"
        page.get_by_label("Its role; empty for none").fill("motor_rated_current")
        page.get_by_role("button", name="Change it").click()
        assert "1 role settled" in page.locator(".message").inner_text()
