"""Every page against the rules of axe-core (WCAG): a phone in the light, a desk in the dark."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Error

from tests.sweeps import part_of
from tests.webui.browsing import AXE, sideways
from tests.webui.workbooks import unknown_workbook
from webui.routes import ROUTES

if TYPE_CHECKING:
    from playwright.sync_api import Page

HOIST, PUSHER = "kiln-loader/hoist", "kiln-loader/pusher"
CONTROLLER = "/axis/glaze-line-2/lift:controller"
# Pages that show something, by the address under which they are registered.
SHOWN = {
    "/": "/",
    "/machine/<machine_name>": "/machine/kiln-loader",
    "/axis/<machine_name>/<axis_name>": f"/axis/{HOIST}",
    "/axis/<machine_name>/<axis_name>/at/<when>": f"/axis/{HOIST}/at/latest",
    "/axis/<machine_name>/<axis_name>/at/<when>/check": f"/axis/{HOIST}/at/first/check",
    "/axis/<machine_name>/<axis_name>/margins": f"/axis/{HOIST}/margins",
    "/axis/<machine_name>/<axis_name>/margins/over-time": f"/axis/{HOIST}/margins/over-time",
    "/axis/<machine_name>/<axis_name>/at/<when>/margins": f"/axis/{HOIST}/at/first/margins",
    "/axis/<machine_name>/<axis_name>/parameter/<path:code>": f"/axis/{HOIST}/parameter/mov-133",
    "/axis/<machine_name>/<axis_name>/golden": f"/axis/{HOIST}/golden",
    "/axis/<machine_name>/<axis_name>/record": f"/axis/{HOIST}/record?mechanics.lead=far",
    "/axis/<machine_name>/<axis_name>/standing": f"/axis/{HOIST}/standing",
    "/axis/<machine_name>/<axis_name>/trial": "/axis/glaze-line-1/lift/trial",
    "/axis/<machine_name>/<axis_name>/trial/<name>": "TRIAL",
    "/axis/<machine_name>/<axis_name>/trace": f"/axis/{PUSHER}/trace",
    "/axis/<machine_name>/<axis_name>/trace/<name>": "TRACE",
    "/machine/<machine_name>/record": "/machine/kiln-loader/record",
    "/new-axis": "/new-axis",
    "/refused": "/refused",
    "/settings": "/settings",
    "/baselines": "/baselines?pattern=*",
    "/compare": "/compare?left=glaze-line-1/lift@~2&right=glaze-line-1/lift@previous",
    "/spread": "/spread?pattern=*/lift",
    "/find": "/find?text=following_error_window&setting=1",
    "/search": "/search?text=hoist",
    "/faults": "/faults",
    "/waivers": "/waivers",
    "/alerts": "/alerts",
    "/families": "/families",
    "/families/<name>": "/families/larch",
    "/draft": "/draft",
    "/draft/<upload_id>": "DRAFT",
    "/restore/<machine_name>/<axis_name>": f"/restore/{HOIST}",
    "/restore/<machine_name>/<axis_name>/sheet": f"/restore/{HOIST}/sheet",
    "/restore/<machine_name>/<axis_name>/plan/<number>": "PLAN",
    "/restore/<machine_name>/<axis_name>/check": f"/restore/{HOIST}/check",
    "/restore/<machine_name>/<axis_name>/checked/<snapshot>": f"/restore/{HOIST}/checked/LATEST",
    "/audit": f"/audit?place={HOIST}&fault=F-11&to=2026-01-01",
    "/take-in": "/take-in",
    "/take-in/<upload_id>": "UPLOAD",
    "/health": "/health",
    "/manual": "/manual?text=witness",
    "/manual/<topic>": "/manual/golden",
    "/work": "/work",
    "/work/<work_id>": "WORK",
    "/log-in": "/log-in",
    "/account": "/account",
}
_PLAN = "/restore/<machine_name>/<axis_name>/plan/<number>"
NOT_SHOWN = {
    "/axis/<machine_name>/<axis_name>/record/file", "/work/<work_id>/file",
    "/axis/<machine_name>/<axis_name>/trace/<name>/file", "/draft/<upload_id>/file",
    f"{_PLAN}/folder", f"{_PLAN}/file/<name>",
}  # fmt: skip
VIEWS: tuple[tuple[int, Literal["light", "dark"]], ...] = ((390, "light"), (1280, "dark"))
FORMS = (
    "/?state=needs", "/spread?pattern=*/lift&margins=1", "/compare", "/spread", "/find", "/audit",
    "/nope", "/baselines?act=waive", f"/axis/{HOIST}?kind=fault&kind=snapshot",
    f"/compare?left={HOIST}@golden&right={HOIST}", "/faults?code=F-11",
    "/manual", "/manual/settings",
    "/spread?pattern=*", "/spread?pattern=*&parameter=following_error_time_out",
    "/compare?left=glaze-line-1&right=glaze-line-2", "/compare?left=glaze-line-1&right=kiln-loader",
    "/baselines", "/baselines?act=interval&machine=kiln-loader", "/baselines?pattern=nothing",
    "/find?text=nothing-is-called-that", "/find?text=following", "WAITING", "UNSENT", "REFUSED",
    CONTROLLER, f"{CONTROLLER}/at/latest", f"{CONTROLLER}/at/latest/check",
    "/axis/glaze-line-2/lift", "/axis/glaze-line-2/lift/at/latest/check", "ALL QUESTIONS",
)  # fmt: skip


def test_every_page_is_looked_at() -> None:
    assert SHOWN.keys() | NOT_SHOWN == {route.rule for route in ROUTES}


def serious(page: Page) -> list[tuple[str, list[str]]]:
    """The rules that a page breaks as it is shown now, with the markup that breaks them."""
    if not page.evaluate("'axe' in window"):
        try:
            page.add_script_tag(url=AXE)
        except Error:  # a document that is served as it was made takes no script
            page.evaluate(AXE_SCRIPT)
    found = page.evaluate("axe.run({resultTypes: ['violations'], preload: false})")
    return [
        (one["id"], [node["html"] for node in one["nodes"]])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]


def visit(address: str, page: Page, folder: Path) -> None:
    """Go to a page that is looked at; some are made by what somebody does before."""
    if address == "UPLOAD":
        (folder / "holiday.csv").write_text("no export\n")
        page.goto("/take-in")
        page.get_by_label("Exports", exact=True).set_input_files(folder / "holiday.csv")
        page.get_by_role("button", name="Look at them").click()
    elif address == "DRAFT":
        (folder / "hub.xlsx").write_bytes(unknown_workbook())
        page.goto("/draft")
        page.get_by_label("Exports of one family").set_input_files(folder / "hub.xlsx")
        page.get_by_role("button", name="Look at them").click()
        page.get_by_text("All 7 parameters").click()
    elif address == "PLAN":
        page.goto("/restore/glaze-line-1/turntable")
        page.get_by_role("button", name="Make the plan").click()
        page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
    elif address == "WORK":
        page.goto(f"/audit?place={HOIST}")
        page.get_by_role("button", name="Pack the evidence").click()
        page.get_by_text("The package is ready").wait_for()
    elif address == "WAITING":  # a draft that waits for an approver, on the list of families
        visit("DRAFT", page, folder)
        page.goto("/families")
        page.get_by_text("Drafts that wait").wait_for()
    elif address == "UNSENT":  # files that were dropped, and a field that was left
        page.goto("/take-in")
        page.get_by_label("Note").fill("after the storm")
        page.reload()
        page.get_by_text("not sent yet").wait_for()
        files = [folder / "a.csv", folder / "b.csv"]
        for file in files:
            file.write_text("x")
        page.get_by_label("Exports", exact=True).set_input_files(files)
    elif address == "REFUSED":
        page.goto(f"/axis/{HOIST}/golden")
        page.get_by_label("Parameter, by code or role").fill("nothing")
        page.get_by_label("What it may be").fill("any")
        page.get_by_label("Why", exact=True).fill("to be refused")
        page.get_by_role("button", name="Waive it").click()
        page.get_by_text("That did not work").wait_for()
    elif address == "TRIAL":  # one that failed
        page.goto("/axis/glaze-line-1/turntable/trial")
        page.get_by_role("link", name="2024-11-06 13:40").click()
        page.get_by_text("⚠ Failed", exact=True).wait_for()
    elif address == "TRACE":  # one over the one before
        page.goto(f"/axis/{PUSHER}/trace")
        page.get_by_role("link", name="2026-03-03 07:15").click()
        page.get_by_text("Moves otherwise").wait_for()
    elif address == "ALL QUESTIONS":
        page.goto("/axis/glaze-line-1/lift/trial")
        page.get_by_role("button", name="Show all questions").click()
    elif address.endswith("LATEST"):
        found = page.request.get(f"/api/v1/axis/{HOIST}").json()["snapshots"]
        page.goto(address.replace("LATEST", found[-1]["snapshot"]))
    else:
        page.goto(address)


@pytest.mark.parametrize(
    "address",
    [*SHOWN.values(), *(pytest.param(one, marks=pytest.mark.sweep(4)) for one in FORMS)],
)
def test_a_page_breaks_no_serious_rule_and_fits_its_width(
    address: str, page: Page, tmp_path: Path
) -> None:
    """Of a run that is not whole, every second page is held against the rules in the dark."""
    number = [*SHOWN.values(), *FORMS].index(address)
    visit(address, page, tmp_path)
    for view in VIEWS:
        width, scheme = view
        page.set_viewport_size({"width": width, "height": 850})
        assert sideways(page) <= 0, f"{width} px"
        if part_of(2, 2) == 2 or view == VIEWS[number % 2]:
            page.emulate_media(color_scheme=scheme)
            assert serious(page) == [], f"{width} px, {scheme}"
