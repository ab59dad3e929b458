"""What comes in, in a real browser: dates, refusals put right, and a restore on other hardware.

On a phone without scripts and on a desk with them. Invented data.
"""

from __future__ import annotations

import json
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.webui.browsing import Window, log_in, outcome
from vault.model.names import Address
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.sweep(3)

LIFT, FEED = "glaze-line-2/lift", "glaze-line-1/belt-feed"
PHONE, DESK = 390, 1280


@pytest.fixture(params=[(PHONE, False), (DESK, True)], ids=["phone, no scripts", "desk"])
def page(request: pytest.FixtureRequest, window: Window, plant_folder: Path) -> Iterator[Page]:
    width, has_scripts = request.param
    with window.over(plant_folder, width, has_scripts) as tab:
        log_in(tab, "technician")
        yield tab


def export_of(folder: Path, name: str) -> bytes:
    """The latest export of an axis."""
    with Vault.open(folder) as vault:
        latest = vault.latest(Address.parse(name))
        assert latest is not None
        path = f"machines/{name}/export/{latest.record.export_name}"
        return vault.read_required(path, latest.id)


def count(folder: Path) -> int:
    with Vault.open(folder) as vault:
        return vault.index.count()


def object_value(dcf: str, section: str) -> str:
    """What a DCF says of an object (CiA 306)."""
    found = re.search(rf"^\[{section}\]\r?\n(?:(?!\[).*\n)*?ParameterValue=([^\r\n]*)", dcf, re.M)
    assert found is not None, section
    return found[1]


def sent(page: Page, path: Path, axis: str) -> None:
    """Send a file to the page on which it waits."""
    page.goto("/take-in")
    page.get_by_label("Exports", exact=True).set_input_files(path)
    page.get_by_label("Axis, where all belong to one").fill(axis)
    page.get_by_role("button", name="Look at them").click()


def test_what_is_typed_of_the_fitted_hardware_stands_in_the_load_file(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    kept = export_of(plant_folder, LIFT).decode("latin-1")
    page.goto(f"/restore/{LIFT}")
    page.get_by_label("Drive", exact=True).fill("ALD-5A")
    page.get_by_label("Its firmware").fill("2.43.1")
    page.get_by_label("Encoder bits").fill("24+12")
    page.get_by_label("Its rated torque").fill("6.4")
    page.get_by_role("button", name="Make the plan").click()
    assert "608F" in page.locator("main").inner_text(), "corrections are shown before they are made"
    page.get_by_role("button", name="Make the plan").click()
    page.get_by_role("link", name="Download").wait_for()
    with page.expect_download() as downloading:
        page.get_by_role("link", name="All of it in a zip").click()
    downloading.value.save_as(tmp_path / "plan.zip")
    with zipfile.ZipFile(tmp_path / "plan.zip") as archive:
        names = {name.rsplit("/", 1)[-1]: name for name in archive.namelist()}
        plan = json.loads(archive.read(names["plan.json"]))
        load = archive.read(names[plan["load_file"]["name"]]).decode("latin-1")
        sheet = archive.read(names["sheet.html"]).decode()
    assert int(object_value(kept, "608Fsub1"), 0) == 2**20
    assert int(object_value(load, "608Fsub1"), 0) == 2**24
    # The limit is in permille of a rating that is twice as large: half of it is the same torque.
    before, after = (int(object_value(text, "6072"), 0) for text in (kept, load))
    assert after * 2 == before
    assert re.search(r"bits of one turn\b[^§]{0,400}\b24\b", sheet)


def test_bits_that_are_none_are_refused_and_the_rest_stays(page: Page) -> None:
    page.goto(f"/restore/{LIFT}")
    page.get_by_label("Drive", exact=True).fill("ALD-5A")
    page.get_by_label("Encoder bits").fill("24/12")
    page.get_by_role("button", name="Make the plan").click()
    assert "24+12, or 20" in page.locator("[role=alert]").inner_text()
    assert page.get_by_label("Drive", exact=True).input_value() == "ALD-5A"
    page.get_by_label("Encoder bits").fill("24")
    page.get_by_role("button", name="Work it out").click()
    assert "Worked out" in page.locator(".message").inner_text()
    assert page.get_by_label("Encoder bits").input_value() == "24"


def test_a_bad_line_is_left_out_by_a_tick_and_the_file_is_stored(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    before = count(plant_folder)
    content = export_of(plant_folder, FEED)
    broken = content.replace(b"ParameterValue=", b"ParameterValue=what is this", 1)
    path = tmp_path / "broken.dcf"
    path.write_bytes(broken)
    sent(page, path, FEED)
    assert "It cannot be stored" in page.locator("main").inner_text()
    assert page.get_by_role("button", name="Store it").is_disabled()
    text = page.locator("article.entry").inner_text()
    assert text.index("It cannot be stored") < text.index("Axis within the file")
    page.get_by_label("leave out lines that cannot be read").check()
    page.get_by_label("Taken", exact=True).fill("now")
    page.get_by_label("Take it in although a guard objects").fill("one line is garbled")
    page.get_by_role("button", name="Look again").click()
    seen = page.locator("main").inner_text()
    assert "Left out, line" in seen
    assert "1 export of 1 can be stored" in seen
    assert count(plant_folder) == before
    page.get_by_role("button", name="Store it").click()
    assert "is stored as" in outcome(page)
    assert count(plant_folder) == before + 1


def test_a_wrong_node_id_is_put_right_and_the_file_is_stored(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    path = tmp_path / "node.dcf"
    path.write_text(
        "[1400]\nParameterName=Receive\nDataType=0x0007\nAccessType=rw\n"
        "DefaultValue=0\nParameterValue=$NODEID+0x200\n"
    )
    sent(page, path, "new-line/lift")
    page.get_by_label("Node id").fill("900")
    page.get_by_role("button", name="Look again").click()
    assert "is no node id" in page.locator("main").inner_text()
    page.get_by_label("Node id").fill("5")
    page.get_by_role("button", name="Look again").click()
    page.get_by_role("button", name="Store it").click()
    assert "is stored as new-line/lift" in outcome(page)
    with Vault.open(plant_folder) as vault:
        latest = vault.latest(Address.parse("new-line/lift"))
        assert latest is not None
        assert latest.record.node_id == 5


def test_a_file_of_2020_shows_its_date_and_the_proposal_before_it_is_stored(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    before = count(plant_folder)
    content = export_of(plant_folder, LIFT).decode("latin-1")
    for key, value in (("Date", "09-09-2020"), ("Time", "10:15AM")):
        for kind in ("Creation", "Modification"):
            content = re.sub(rf"(?m)^{kind}{key}=.*?(\r?)$", rf"{kind}{key}={value}\1", content)
    content = re.sub(r"(?m)^(LastEDS=.*)$", r"\1", content)
    path = tmp_path / "laptop.dcf"
    path.write_bytes(content.encode("latin-1"))
    sent(page, path, "new-line/lift")
    page.get_by_label("Take it in although a guard objects").fill("a twin of the other lift")
    page.get_by_role("button", name="Look again").click()
    seen = page.locator("main").inner_text()
    assert "When was it taken?" in seen
    assert "2020-09-09" in seen
    assert "0 exports of 1 can be stored" in seen
    assert page.get_by_role("button", name="Store it").is_disabled()
    assert count(plant_folder) == before
    page.get_by_label("Taken", exact=True).fill("file")
    page.get_by_role("button", name="Look again").click()
    seen = page.locator("main").inner_text()
    assert re.search(r"taken 2020-09-09 \d\d:\d\d \(as the file proposes\)", seen)
    page.get_by_role("button", name="Store it").click()
    assert "is stored as" in outcome(page)
    with Vault.open(plant_folder) as vault:
        latest = vault.latest(Address.parse("new-line/lift"))
        assert latest is not None
        assert (latest.record.taken_at.year, latest.record.taken_at_from) == (2020, "file")


def test_a_refused_as_left_export_need_not_be_chosen_again(
    page: Page, plant_folder: Path, tmp_path: Path
) -> None:
    before = count(plant_folder)
    path = tmp_path / "after.dcf"
    path.write_bytes(export_of(plant_folder, LIFT) + b"\r\n")  # not the bytes that the vault has
    page.goto(f"/restore/{LIFT}/check")
    page.get_by_label("Export taken after loading").set_input_files(path)
    page.get_by_label("Short move: commanded").fill("10 furlongs")
    page.get_by_label("Measured on the machine").fill("10.01 mm")
    page.get_by_role("button", name="Store and check it").click()
    assert page.locator("[role=alert]").count() == 1
    assert "after.dcf waits here" in page.locator("main").inner_text()
    assert count(plant_folder) == before
    page.get_by_label("Short move: commanded").fill("10 mm")
    page.get_by_role("button", name="Store and check it").click()
    assert page.locator("[role=alert]").count() == 0, page.locator("main").inner_text()
    assert "restored" in page.locator("main").inner_text()
    with Vault.open(plant_folder) as vault:
        latest = vault.latest(Address.parse(LIFT))
        assert latest is not None
        assert latest.record.export_name == "after.dcf"
        assert latest.record.moved == "10 mm=10.01 mm"
