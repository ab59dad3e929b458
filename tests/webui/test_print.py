"""What people carry to the cabinet, printed on A4 by a browser and read by pypdf."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING
from unicodedata import normalize

import pypdf
import pytest

from tests.webui.test_accessibility import FORMS, HOIST, SHOWN, visit

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.sweep(3)

_SHEET = f"/restore/{HOIST}/sheet"
_LIFTS = "/compare?left=glaze-line-1/lift@~2&right=glaze-line-1/lift@previous"
# What is carried, with words that have to stand on it.
CARRIED = {
    f"/axis/{HOIST}": (HOIST, "Logbook", "Braking resistor used: No (0) became Yes (1)"),
    _LIFTS: ("glaze-line-1/lift", "What differs", "22 values mean something else by it (folded)"),
    f"/axis/{HOIST}/margins": (HOIST, "What protects people or machine", "holds, 1.06"),
    "/compare?left=glaze-line-1&right=glaze-line-2":
        ("glaze-line-1", "glaze-line-2", "50 things differ and must", "(folded)"),
    "/spread?pattern=*": ("Axes * side by side", "81 more are odd (folded)"),
    "/spread?pattern=*/lift": ("glaze-line-2/lift: 121.05 mm", "164 parameters are the same"),
    _SHEET: ("Restore sheet", HOIST, "Lock out and tag out the supply"),
    "PLAN": ("restore plan", "glaze-line-1/turntable", "Lock out and tag out the supply"),
    f"/audit?place={HOIST}&fault=F-11&to=2026-01-01": (HOIST, "F-11", "What happened"),
    f"/axis/{HOIST}/golden": (HOIST, "approved by Mira Okafor", "Waivers"),
    "/find?setting=1&text=following_error_window&value=%3E+4+mm":
        ("Find following_error_window > 4 mm", "glaze-line-1/belt-feed", "20 mm"),
    "/baselines?pattern=*": ("Would be approved: 1", "kiln-loader/shuttle"),
    f"/axis/{HOIST}/parameter/mov-133": (HOIST, "mov-133", "450 mm/s"),
}  # fmt: skip
_A4 = (210 - 2 * 15) / 25.4 * 96
"""Width of the text on A4 in CSS pixels: 15 mm at each side, 96 pixels an inch."""
# What reaches beyond the paper, and is no text for screen readers alone.
_CUT = """() => [...document.querySelectorAll("main *")].filter(one => {
    const box = one.getBoundingClientRect();
    return box.width && getComputedStyle(one).position !== "absolute"
      && box.right > document.documentElement.clientWidth + 1;
  }).map(one => one.outerHTML.slice(0, 100))"""
_HIDDEN = """() => [...document.querySelectorAll("main *")].filter(one =>
    one.scrollWidth > one.clientWidth + 1
    && /auto|scroll|hidden/.test(getComputedStyle(one).overflowX)
  ).map(one => one.outerHTML.slice(0, 100))"""


def printed(page: Page) -> list[str]:
    """The text of each sheet of paper, on one line."""
    paper = pypdf.PdfReader(BytesIO(page.pdf(format="A4")))
    for sheet in paper.pages:  # ISO 216: 210 mm by 297 mm, 72 points an inch
        assert float(sheet.mediabox.width) == pytest.approx(595, abs=1)
        assert float(sheet.mediabox.height) == pytest.approx(842, abs=1)
    texts = (normalize("NFKC", sheet.extract_text()) for sheet in paper.pages)
    return [" ".join(text.split()) for text in texts]


@pytest.mark.parametrize("address", CARRIED)
def test_a_page_is_carried_with_its_site_its_time_and_all_it_says(
    address: str, page: Page, tmp_path: Path
) -> None:
    visit(address, page, tmp_path)
    sheets = printed(page)
    text = " ".join(sheets)
    assert [words for words in CARRIED[address] if words not in text] == []
    if address != _SHEET:  # which has its own head and foot
        assert "Tile works (invented example)" in sheets[0]
        assert re.search(r"As it stood on \d{4}-\d{2}-\d{2} \d{2}:\d{2}", sheets[-1])
        for number, sheet in enumerate(sheets, 1):
            assert f"{number} / {len(sheets)}" in sheet
        for act in ("Take in", "Upkeep", "as CSV", "Approve it", "Note it", "Pack the evidence"):
            assert act not in text


@pytest.mark.parametrize("address", sorted({*SHOWN.values(), *FORMS} - {_SHEET, "UNSENT"}))
def test_no_column_is_cut_on_paper(address: str, page: Page, tmp_path: Path) -> None:
    visit(address, page, tmp_path)
    page.emulate_media(media="print")
    page.set_viewport_size({"width": int(_A4), "height": 1000})
    try:
        assert page.evaluate(_CUT) == []
        assert page.evaluate(_HIDDEN) == []
        seen = [one.is_visible() for one in page.locator("header a, header input").all()]
        assert sum(seen) == 1  # the name of the site
    finally:
        page.emulate_media(media="null")


def test_what_a_card_says_more_is_open_on_paper(page: Page) -> None:
    page.goto(_LIFTS)
    more = page.locator(".card details p").all_text_contents()
    assert more
    text = " ".join(printed(page))
    assert [words for words in more if " ".join(words.split()) not in text] == []
