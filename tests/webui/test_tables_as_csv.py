"""Tables of pages as CSV, held against what a browser shows, read by Python's csv (RFC 4180)."""

from __future__ import annotations

import csv
import shutil
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from flask.testing import FlaskClient

from tests.webui.test_accessibility import FORMS, SHOWN, visit
from vault.model.errors import WrongUsage
from webui.app import create_app
from webui.pages import find
from webui.tables import guarded, table_as_csv, with_links

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.sweep(3)

# Rows of every table as the browser has them, without pictures, marks and buttons.
_CELLS = """() => [...document.querySelectorAll("table")].map(table => [...table.rows].map(row =>
  [...row.cells].flatMap(cell => {
    const copy = cell.cloneNode(true);
    copy.querySelectorAll("svg, select, button, [aria-hidden=true]").forEach(one => one.remove());
    copy.querySelectorAll("br, p, div, li, ul, details, summary").forEach(
      one => { one.before(" "); one.after(" "); });
    copy.querySelectorAll("input").forEach(
      one => one.replaceWith(one.type === "text" ? one.defaultValue : ""));
    const text = copy.textContent.split(/\\s+/).filter(Boolean).join(" ");
    return [text, ...Array(cell.colSpan - 1).fill("")];
  })))"""
_SHEET = "/restore/kiln-loader/hoist/sheet"  # a document for paper, served as it was made
_HOSTILE = (
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "=cmd|' /C calc'!A0", "-2+3+cmd|' /C calc'!A0", "-A1",
    '=HYPERLINK("x")', "-5 A1*B1+1", "+49 (0) 30", "--1", "-1 =A1",
)  # fmt: skip


def read(content: bytes) -> list[list[str]]:
    """A file as a program reads it that knows the standard and nothing of us."""
    assert content.startswith("\ufeff".encode())
    assert content.replace(b"\r\n", b"").count(b"\n") == 0
    return list(csv.reader(StringIO(content.decode("utf-8-sig"), newline=""), strict=True))


@pytest.mark.parametrize("address", sorted({*SHOWN.values(), *FORMS} - {_SHEET, "REFUSED"}))
def test_every_table_of_a_page_is_csv_with_the_cells_that_the_page_shows(
    address: str, page: Page, tmp_path: Path
) -> None:
    visit(address, page, tmp_path)
    shown: list[list[list[str]]] = page.evaluate(_CELLS)
    links = page.locator(".as-csv a").evaluate_all("all => all.map(one => one.href)")
    assert len(links) == len(shown)
    for link, rows in zip(links, shown, strict=True):
        answer = page.request.get(link)
        assert answer.headers["content-type"] == "text/csv; charset=utf-8"
        assert answer.headers["content-disposition"].startswith("attachment; filename=")
        assert read(answer.body()) == [[*map(guarded, row)] for row in rows]


@pytest.mark.parametrize("cell", _HOSTILE)
def test_a_text_that_a_spreadsheet_would_run_gets_an_apostrophe(cell: str) -> None:
    """What begins a formula: common practice, no source."""
    assert guarded(cell) == f"'{cell}"


@pytest.mark.parametrize(
    "cell",
    ["-12.5 mm", "-90,455 increments", "-0,625 mm", "+3 1/s", "-1,200 mm/s^2", "-5", "-3 °", "-2 %",
     "12 mm=", "", "lift"],
)  # fmt: skip
def test_a_number_with_its_unit_stays_as_it_is(cell: str) -> None:
    assert guarded(cell) == cell


def test_a_cell_over_several_columns_leaves_the_others_empty() -> None:
    table = '<table><tr><th>a</th><th>b</th></tr><tr><td colspan="2">x<br>=y</td></tr></table>'
    assert read(table_as_csv(table, "1")) == [["a", "b"], ["x =y", ""]]


@pytest.mark.parametrize("number", ["0", "2", "-1", "x", "", "²", "9" * 30])
def test_a_table_that_is_not_there_is_refused(number: str) -> None:
    with pytest.raises(WrongUsage, match="no table"):
        table_as_csv("<table><tr><td>1</td></tr></table>", number)


def test_a_link_keeps_what_was_asked_and_escapes_it() -> None:
    text = with_links("<table></table>", [("text", 'a&"<b'), ("csv", "4")])
    assert 'href="?text=a%26%22%3Cb&amp;csv=1"' in text
    assert with_links("no table", []) == "no table"


@pytest.fixture(scope="module")
def client(works: Path, tmp_path_factory: pytest.TempPathFactory) -> FlaskClient:
    folder = tmp_path_factory.mktemp("tables") / "plant"
    shutil.copytree(works, folder)
    return create_app(folder, is_local=True).test_client()


def test_a_long_table_begins_with_its_first_rows_and_is_whole_as_csv(
    client: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(find, "_MOST_ROWS", 3)
    address = "/find?setting=1&text=following_error_window"
    count = len(client.get(f"/api/v1{address}").json["found"])  # type: ignore[index]
    assert count > 3
    first = client.get(address).text
    assert f"These are the first 3 of {count} rows" in first
    assert first.count("<tr>") == 4
    assert client.get(f"{address}&all=1").text.count("<tr>") == count + 1
    assert len(read(client.get(f"{address}&csv=1").data)) == count + 1


def test_a_page_that_needs_an_account_gives_nobody_else_its_table(works: Path) -> None:
    client = create_app(works).test_client()
    assert client.get("/families?csv=1").status_code in (302, 303, 401)
