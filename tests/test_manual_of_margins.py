"""The manual's page of margins says what the register says, and no name is ever taken away."""

from __future__ import annotations

import re
from pathlib import Path

from tests.margins_page import PAGE, frozen_names, margins_page
from vault.behaviour.behave import load_themes
from vault.behaviour.facts import MARGINS
from vault.store.files.edited_files import read_axis


def test_the_page_is_up_to_date(works: Path) -> None:
    assert PAGE.read_text("utf-8") == margins_page(works), "write it: python -m tests.reference"


def sections(text: str) -> dict[str, str]:
    """What the page says of each margin, by name."""
    found = re.findall(r"^### (\w+)\n\n(.*?)(?=^##|\Z)", text, re.MULTILINE | re.DOTALL)
    return dict(found)


def test_every_margin_has_a_line_and_a_section_that_says_what_it_asks_for() -> None:
    load_themes()
    text = PAGE.read_text("utf-8")
    assert re.findall(r"^\| \[`(\w+)`\]", text, re.MULTILINE) == list(sections(text))
    assert sections(text).keys() == MARGINS.keys()
    assert [name for name, words in sections(text).items() if "- asks the " not in words] == []


def test_no_name_of_a_margin_is_ever_taken_away() -> None:
    load_themes()
    assert [name for name in frozen_names() if name not in MARGINS] == []


def test_every_name_is_frozen() -> None:
    load_themes()
    new = [name for name in MARGINS if name not in frozen_names()]
    assert new == [], "new ones are added by python -m tests.reference"


def test_the_floors_that_the_page_shows_can_be_set() -> None:
    (lines,) = re.findall(r"```yaml\n(.*?)```", PAGE.read_text("utf-8"), re.DOTALL)
    record = read_axis(f"schema: axisvault/axis/1\n{lines}".encode(), "axis.yaml")
    assert {*record.margins} <= {*frozen_names()}
    assert len(record.margins) == 2
