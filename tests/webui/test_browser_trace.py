"""Two traces of one move sent from the axis, in a real browser: the later one over the earlier."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from example_machines import traces as example
from tests.webui.browsing import Window, log_in, sideways

if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Page

TRACES = "/axis/kiln-loader/pusher/trace"
PHONE, DESK = 390, 1280
pytestmark = pytest.mark.sweep(3)

_DRAWN = """svg => [...svg.querySelectorAll("path:not(.grid)")].map(path => {
    const style = getComputedStyle(path)
    const dashed = style.strokeDasharray !== "none"
    return {dashed, seen: style.stroke !== "none", box: path.getBoundingClientRect().toJSON()}
})"""
_ENDS = """svg => [svg, ...svg.querySelectorAll("path, text")].map(one => {
    const box = one.getBoundingClientRect()
    return [box.left, box.right]
})"""


@pytest.mark.parametrize(
    ("width", "has_scripts"), [(PHONE, False), (DESK, True)], ids=["phone, no scripts", "desk"]
)
def test_the_later_of_two_traces_is_drawn_over_the_earlier_one(
    window: Window, plant_folder: Path, width: int, has_scripts: bool
) -> None:
    with window.over(plant_folder, width, has_scripts) as page:
        log_in(page, "technician")
        send(page, "kiln-loader-pusher.csv", "2025-10-16 10:00")
        assert "a later one is held against this" in page.locator("main").inner_text()
        send(page, "kiln-loader-pusher-worn.csv", "2025-12-01 10:00")
        told = page.locator("main .warning").inner_text()
        assert "The axis does not move as it did: dry friction" in told
        assert page.get_by_role("link", name="the trace of 2025-10-16 10:00").is_visible()
        picture = page.locator("svg.picture")
        key, *strips = by_twos(picture.evaluate(_DRAWN))
        assert [one["dashed"] for one in key] == [True, False]
        assert len(strips) == 4  # position, speed, following error and torque
        for earlier, later in strips:
            assert earlier["seen"] and later["seen"]
            assert earlier["dashed"] and not later["dashed"], "the later one is drawn last"
            assert is_over(later["box"], earlier["box"])
        assert all(0 <= left < right <= width for left, right in picture.evaluate(_ENDS))
        assert sideways(page) <= 0


def send(page: Page, name: str, taken_at: str) -> None:
    """Send a recording of the move, and see its page."""
    page.goto(TRACES)
    page.get_by_label("Recording").set_input_files(example.FOLDER / name)
    page.get_by_label("Name of the move").fill(example.MOVE)
    page.get_by_label("Recorded at").fill(taken_at)
    assert sideways(page) <= 0
    page.get_by_role("button", name="Keep the trace").click()
    assert "The trace is kept." in page.locator(".message").inner_text()


def by_twos(found: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    return [found[number : number + 2] for number in range(0, len(found), 2)]


def is_over(one: dict[str, float], other: dict[str, float]) -> bool:
    """Whether most of the place that both take is taken by each."""
    wide = min(one["right"], other["right"]) - max(one["left"], other["left"])
    high = min(one["bottom"], other["bottom"]) - max(one["top"], other["top"])
    return wide > 0.9 * one["width"] and high > 0.5 * one["height"]
