"""Pages say what the sets they show have of the drive's, and whose it is. Invented objects."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from tests.conftest import Outcome
from tests.dcf_texts import TUNING, UNREADABLE_TUNING, WINDOW, dcf
from vault.store.vault import Vault
from webui.app import create_app

WHOLE, PART = dcf(WINDOW, TUNING), dcf(WINDOW, UNREADABLE_TUNING)
SAID = "Not the whole set A part of the set: 1 line was left out."
EVEN_SO = ("--even-so", "for the test")

# Of m1/lift a whole set is approved and the latest is a part; of m2/lift the latest is whole.
PAGES = {
    "/axis/m1/lift": [f"Latest snapshot: {SAID}", f"⚠ {SAID}"],
    "/axis/m1/lift/at/latest": [f"⚠ {SAID}", "1 line left out 0x2010:00, line"],
    "/axis/m1/lift/at/latest/check": [f"⚠ {SAID}"],
    "/axis/m1/lift/golden": [f"Latest snapshot: {SAID}"],
    "/axis/m1/lift/parameter/0x2010:00": ["not in this export"],
    "/compare?left=m1/lift@golden&right=m1/lift": [
        f"m1/lift: {SAID}",
        "Tuning is not in this export: 6 before.",
    ],
    "/spread?pattern=*/lift": [f"⚠ m1/lift: {SAID}", "not in this export"],
    "/machine/m1": ["⚠ Latest snapshot: Not the whole set"],
    "/": ["⚠ Latest snapshot: Not the whole set"],
    "/audit?place=m1/lift&from=2026-01-01": [SAID.replace(" A part", ": A part")],
    "/restore/m1/lift?when=latest": [
        f"⚠ {SAID}",
        "A guard objected when this set was taken in; it was taken in all the same: for the test",
        "Left out of the target: to be set by hand 0x2010:00, line",
    ],
}
SILENT = [
    "/axis/m2/lift",
    "/axis/m2/lift/at/latest",
    "/axis/m2/lift/at/latest/check",
    "/machine/m2",
]


@pytest.fixture
def site(vault: Vault, cli: Callable[..., Outcome], tmp_path: Path) -> Iterator[FlaskClient]:
    def send(text: str, day: int, to: str, *options: str) -> None:
        path = tmp_path / "lift.dcf"
        path.write_text(text)
        when = f"2026-03-{day:02}T08:00:00Z"
        done = cli("ingest", path, "--to", to, "--taken-at", when, *options)
        assert done.code == 0, done.stderr

    send(WHOLE, 1, "m1/lift")
    assert cli("golden", "approve", "m1/lift", "--reason", "as set up").code == 0
    send(PART, 2, "m1/lift", "--partial", *EVEN_SO)
    send(WHOLE, 1, "m2/lift")
    app = create_app(tmp_path / "plant", is_local=True)
    with app.test_client() as client:
        yield client


def seen(site: FlaskClient, address: str) -> str:
    """Text of the page's content as people read it."""
    answer = site.get(address)
    assert answer.status_code == 200, answer.text
    return " ".join(re.sub(r"<[^>]*>", " ", answer.text.partition("<main")[2]).split())


@pytest.mark.parametrize("address", PAGES)
def test_a_page_says_that_a_set_is_a_part_and_which(site: FlaskClient, address: str) -> None:
    text = seen(site, address)
    assert [said for said in PAGES[address] if said not in text] == [], text
    assert not {"gone", "gone:", "removed"} & set(text.split())


@pytest.mark.parametrize("address", SILENT)
def test_a_page_of_whole_sets_says_nothing(site: FlaskClient, address: str) -> None:
    assert "whole set" not in seen(site, address)


def test_the_data_of_pages_has_coverage(site: FlaskClient) -> None:
    def data(address: str) -> object:
        return site.get(f"/api/v1{address}").json

    check = data("/axis/m1/lift/at/latest/check")
    assert check["coverage"]["kind"] == "partial"  # type: ignore[index]
    spread = data("/spread?pattern=*/lift")
    assert spread["coverage"]["m2/lift"]["kind"] == "complete"  # type: ignore[index]
