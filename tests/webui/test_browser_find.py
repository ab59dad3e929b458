"""The box of the header in a real browser: by keys, by clicks, on a phone, and without scripts."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.webui.browsing import Window, sideways
from tests.webui.test_accessibility import serious
from tests.webui.test_browser import DESK, PHONE, focused, reach

if TYPE_CHECKING:
    from playwright.sync_api import Page

HOIST = "kiln-loader/hoist"


@pytest.fixture
def page(window: Window, works: Path) -> Iterator[Page]:
    with window.over(works, DESK) as tab:
        tab.goto("/families")
        yield tab


def state(page: Page) -> tuple[str | None, int | None]:
    """Whether the list is open, and which result of it is active."""
    box = page.get_by_role("combobox", name="Find")
    active = box.get_attribute("aria-activedescendant")
    place = None if active is None else int(active.rpartition("-")[2])
    return box.get_attribute("aria-expanded"), place


def test_an_axis_is_reached_by_slash_some_letters_an_arrow_and_return(page: Page) -> None:
    page.keyboard.press("/")
    assert focused(page)["outline"] != "none"
    page.keyboard.type("hoi")
    first = page.get_by_role("option").first
    first.wait_for()
    assert "kiln-loader/hoist" in first.inner_text()
    assert "Hoist of the kiln loader" in first.inner_text()
    assert state(page) == ("true", None)
    page.keyboard.press("ArrowDown")
    assert state(page) == ("true", 0)
    assert first.get_attribute("aria-selected") == "true"
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/axis/{HOIST}")


def test_arrows_go_round_and_escape_closes_the_list_and_then_empties_the_box(page: Page) -> None:
    page.keyboard.press("/")
    page.keyboard.type("lift")
    options = page.get_by_role("option")
    options.first.wait_for()
    last = options.count() - 1
    page.keyboard.press("ArrowUp")
    assert state(page) == ("true", last)
    page.keyboard.press("ArrowDown")
    assert state(page) == ("true", 0)
    page.keyboard.press("Escape")
    assert state(page) == ("false", None)
    assert page.get_by_role("listbox").count() == 0
    assert page.get_by_label("Find", exact=True).input_value() == "lift"
    page.keyboard.press("Escape")
    assert page.get_by_label("Find", exact=True).input_value() == ""
    assert focused(page)["text"] == "text"  # the name of the box: the keyboard stays in it


def test_the_list_names_its_groups_and_breaks_no_serious_rule(page: Page) -> None:
    page.keyboard.press("/")
    page.keyboard.type("following")
    page.get_by_role("group", name="Parameters").get_by_role("option").first.wait_for()
    assert page.get_by_role("group", name="Faults").get_by_role("option").count() > 0
    assert page.locator("#search-told").inner_text().endswith("results")
    for width in (PHONE, DESK):
        page.set_viewport_size({"width": width, "height": 850})
        page.keyboard.press("ArrowDown")
        assert serious(page) == [], f"{width} px"
        assert sideways(page) <= 0


def test_return_without_an_arrow_shows_the_whole_page_of_results(page: Page) -> None:
    page.keyboard.press("/")
    page.keyboard.type("kiln")
    page.keyboard.press("Enter")
    page.wait_for_url("**/find?text=kiln")
    assert page.get_by_role("heading", name="Machines").count() == 1


def test_a_result_is_followed_by_a_click(page: Page) -> None:
    page.get_by_label("Find", exact=True).fill("larch")
    page.get_by_role("group", name="Families").get_by_role("option").click()
    page.wait_for_url("**/families/larch")


def test_what_may_have_been_meant_is_offered_while_typing(page: Page) -> None:
    page.get_by_label("Find", exact=True).fill("hoisst")
    offered = page.get_by_role("option").first
    offered.wait_for()
    assert offered.inner_text().startswith("hoist")
    offered.click()
    page.wait_for_url("**/find?text=*oist")


def test_slash_stays_a_letter_in_a_field(page: Page) -> None:
    page.goto("/compare")
    left = page.get_by_label("State before")
    left.focus()
    page.keyboard.type("m1/lift")
    assert left.input_value() == "m1/lift"


def test_what_a_slow_answer_says_is_not_shown_over_a_later_one(page: Page) -> None:
    """The first answer is held back until the second was shown."""
    held: list[object] = []

    def late(route: object) -> None:
        held.append(route)

    page.route("**/api/v1/search?text=lift", late)
    page.get_by_label("Find", exact=True).fill("lift")
    page.wait_for_timeout(400)
    page.get_by_label("Find", exact=True).fill("hoist")
    page.get_by_role("option").first.wait_for()
    assert len(held) == 1
    assert "kiln-loader/hoist" in page.get_by_role("option").first.inner_text()


def test_markup_in_a_result_is_text(page: Page) -> None:
    hostile = {
        "axes": [{"axis": "m/<img src=x>", "title": "<b>t</b>", "why": "<script>1</script>"}],
        "did_you_mean": [],
    }
    page.route("**/api/v1/search?*", lambda route: route.fulfill(json=hostile))
    page.get_by_label("Find", exact=True).fill("img")
    option = page.get_by_role("option").first
    option.wait_for()
    assert option.inner_text() == "m/<img src=x> <b>t</b> <script>1</script>"
    assert page.locator("#search-hits img, #search-hits script").count() == 0


def test_where_the_answer_fails_the_form_still_works(page: Page) -> None:
    page.route("**/api/v1/search?*", lambda route: route.abort())
    page.keyboard.press("/")
    page.keyboard.type("hoist")
    page.wait_for_timeout(300)
    assert state(page) == ("false", None)
    page.keyboard.press("Enter")
    page.wait_for_url("**/find?text=hoist")


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_without_scripts_the_box_is_a_form_that_the_keyboard_reaches(
    width: int, window: Window, works: Path
) -> None:
    with window.over(works, width, has_scripts=False) as page:
        page.goto(f"/axis/{HOIST}")
        assert page.get_by_role("combobox").count() == 0  # no promise that nobody keeps
        box = page.get_by_role("textbox", name="Find")
        box.focus()
        page.keyboard.type("schleppfehler")
        page.keyboard.press("Enter")
        page.wait_for_url("**/find?text=schleppfehler")
        page.get_by_role("link", name="Following error window").first.click()
        assert "setting=1" in page.url
        assert page.get_by_role("rowheader").count() > 1


def test_on_a_phone_the_acts_of_the_page_come_before_the_folded_navigation_opens(
    window: Window, works: Path
) -> None:
    with window.over(works, PHONE) as page:
        page.goto("/machine/kiln-loader")
        assert not page.get_by_role("link", name="Take in").is_visible()
        act = page.get_by_role("link", name="What happened here").bounding_box()
        assert act is not None and act["y"] < 425  # in the upper half of the screen
        reach(page, "Pages")
        page.keyboard.press("Enter")
        assert page.get_by_role("link", name="Upkeep").is_visible()
        page.keyboard.press("Tab")
        assert focused(page)["text"] == "Take in"
