"""A trial on a phone at the axis, in a real browser: with scripts one question at a time."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.webui.browsing import Window, log_in, sideways
from vault.jobs.trials.kept import latest_result
from vault.model.names import Address
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Page

HOIST = Address("kiln-loader", "hoist")
PHONE = 390
pytestmark = pytest.mark.sweep(3)


@pytest.mark.parametrize("has_scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_trial_is_done_on_a_phone(window: Window, plant_folder: Path, has_scripts: bool) -> None:
    with window.over(plant_folder, PHONE, has_scripts) as page:
        log_in(page, "technician")
        page.goto(f"/axis/{HOIST}")
        page.get_by_role("link", name="Trial", exact=True).click()
        assert sideways(page) <= 0
        if has_scripts:
            page.locator("form.trial.stepping").wait_for()
        keys = answered(page, has_scripts)
        assert keys[0] == "q-inputs.emergency_stop"
        assert keys.index("q-jog.stops") < keys.index("q-brake.holds") < keys.index("q-moves")
        page.get_by_label("What a reader should know").fill("wind from the kiln")
        page.get_by_role("button", name="Keep the trial").click()
        said = page.locator("main").inner_text()
        assert "The trial is kept." in said
        assert "wind from the kiln" in said
        assert "the axis moves as told" in said
        assert sideways(page) <= 0
    with Vault.open(plant_folder) as vault:
        result = latest_result(vault, HOIST)
    assert result is not None
    assert result.trial.by.startswith("Tomas Quillfeather <")
    failed = [found.check for found in result.verdict.failed]
    assert failed == ["direction.negative"]
    assert result.verdict.is_whole


def answered(page: Page, has_scripts: bool) -> list[str]:
    """Answer every question in the order in which it is shown; gives their names."""
    found = []
    for question in page.locator("section.question").all():
        key = question.get_attribute("id") or ""
        if has_scripts:
            assert [one.get_attribute("id") for one in visible(page)] == [key]
        found.append(key)
        if key == "q-end":
            break
        answer(page, question, key)
        if has_scripts:
            page.get_by_role("button", name="Next").click()
    return found


def visible(page: Page) -> list:  # type: ignore[type-arg]
    return [one for one in page.locator("section.question").all() if one.is_visible()]


def answer(page: Page, question, key: str) -> None:  # type: ignore[no-untyped-def]
    if key == "q-direction.negative":
        assert not question.get_by_text("Stop here").is_visible()
        question.get_by_label("failed").check()
        assert question.get_by_text("Stop here").is_visible()
    elif key == "q-moves":
        for number in (1, 2):
            commanded = question.get_by_label(f"Move {number}, commanded").input_value()
            question.get_by_label(f"Move {number}, measured").fill(commanded)
    elif key == "q-stops":
        question.get_by_label("Stop 1, way").fill("5")
    elif key == "q-drop":
        question.get_by_label("It sank").fill("0")
    else:
        assert question.get_by_label("right").bounding_box() is not None
        question.get_by_label("right").check()
