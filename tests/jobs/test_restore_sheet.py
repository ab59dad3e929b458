"""The restore sheet: everything on it, nothing from outside, two pages of A4."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
import segno

from vault.jobs.edit_records import set_site
from vault.jobs.restore_plan import RestorePlan, make_plan
from vault.jobs.restore_sheet import sheet_html
from vault.jobs.restore_steps import TICK, sections
from vault.model.replacement import Replacement
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
SITE = (
    "schema: axisvault/vault/1\nsite: Tile works\nviewer: https://vault.tileworks.example/drives/\n"
)


class Page(HTMLParser):
    """What a reader sees, and what a browser would fetch."""

    def __init__(self, content: bytes) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(content.decode())
        self.text = " ".join(" ".join(self.words).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture(scope="module")
def vault(works: Path) -> Iterator[Vault]:
    with Vault.open(works) as opened:
        yield opened


def plan_of(vault: Vault, name: str = "glaze-line-2/lift") -> RestorePlan:
    return make_plan(vault, name, Replacement())


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", ["glaze-line-2/lift", "kiln-loader/pusher"])
def test_every_line_and_every_cell_is_on_the_sheet(name: str, vault: Vault) -> None:
    plan = plan_of(vault, name)
    page = Page(sheet_html(plan))
    for section in sections(plan):
        assert section.title in page.text
        cells = (cell for row in section.rows for cell in row if cell != TICK)
        for text in (*(line.text for line in section.lines), *section.heads, *cells):
            assert joined(text) in page.text
    assert plan.id in page.text


def test_the_order_is_that_of_the_work(vault: Vault) -> None:
    names = [section.name for section in sections(plan_of(vault))]
    assert names == [
        "cautions", "people", "hardware", "cabinet", "controller_link", "load", "special", "safety",
        "never", "restart", "home", "direction", "move", "proof", "sign_off",
    ]  # fmt: skip


def test_a_box_for_every_tick_and_a_field_for_every_blank(vault: Vault) -> None:
    plan = plan_of(vault)
    lines = [line.kind for section in sections(plan) for line in section.lines]
    cells = [cell for section in sections(plan) for row in section.rows for cell in row]
    inputs = [one["type"] for one in Page(sheet_html(plan)).all("input")]
    assert inputs.count("checkbox") == lines.count("tick") + cells.count(TICK)
    assert inputs.count("text") == lines.count("blank")


def test_a_warning_says_so_in_words(vault: Vault) -> None:
    plan = plan_of(vault)
    warnings = [ln.text for s in sections(plan) for ln in s.lines if ln.kind == "warning"]
    text = Page(sheet_html(plan)).text
    assert len(warnings) >= 5
    assert all(f"⚠ Warning {joined(warning)}" in text for warning in warnings)
    assert all(f"⚠ Note {joined(note)}" in text for note in plan.warnings)


def test_nothing_comes_from_outside_and_nothing_runs(vault: Vault) -> None:
    content = sheet_html(plan_of(vault))
    page = Page(content)
    assert not page.all("script") + page.all("link") + page.all("iframe")
    assert re.findall(rb"https?://|@import|url\(", content) == []
    policy = next(m["content"] for m in page.all("meta") if m.get("http-equiv"))
    assert policy == "default-src 'none'; style-src 'unsafe-inline'; img-src data:"


def test_what_an_export_carries_is_text(vault: Vault) -> None:
    plan = plan_of(vault)
    hostile = "<script>alert(1)</script>&\"'"
    row = plan.never("safety")[0]
    named = replace(row, target=replace(row.target, name=hostile))
    rows = tuple(named if one is row else one for one in plan.rows)
    page = Page(sheet_html(replace(plan, rows=rows, warnings=(hostile,))))
    assert not page.all("script")
    assert page.text.count(hostile) == 2


def test_without_an_address_of_the_viewer_there_is_no_code(vault: Vault) -> None:
    assert not Page(sheet_html(plan_of(vault))).all("img")


def test_the_code_is_the_address_of_the_axis(works: Path, tmp_path: Path) -> None:
    """Against what segno encodes for the address that was put together here."""
    shutil.copytree(works, tmp_path / "plant")
    (tmp_path / "vault.yaml").write_text(SITE)
    with Vault.open(tmp_path / "plant") as vault:
        set_site(vault, tmp_path / "vault.yaml", BY)
        page = Page(sheet_html(plan_of(vault)))
    link = "https://vault.tileworks.example/drives/axis/glaze-line-2/lift"
    assert link in page.text
    (image,) = page.all("img")
    drawn = BytesIO()
    segno.make(link, error="m", micro=False).save(
        drawn, kind="svg", scale=3, border=4, light="#fff", xmldecl=False, svgns=True, nl=False
    )
    source = image["src"] or ""
    assert source.startswith("data:image/svg+xml")
    assert path_of(source) == path_of(drawn.getvalue().decode()) != []


def path_of(svg: str) -> list[str]:
    """The modules as drawn: commands of the path, however the address is encoded."""
    from urllib.parse import unquote

    head, _, rest = svg.partition(",")
    text = base64.b64decode(rest).decode() if head.endswith("base64") else unquote(svg)
    return re.findall(r"d=['\"](M4[^'\"]+)['\"]", text)


@pytest.mark.skipif(shutil.which("chromium") is None, reason="no chromium to print with")
@pytest.mark.parametrize("name", ["glaze-line-2/lift", "kiln-loader/hoist"])
def test_it_prints_on_two_pages(name: str, vault: Vault, tmp_path: Path) -> None:
    (tmp_path / "sheet.html").write_bytes(sheet_html(plan_of(vault, name)))
    subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
         "--disable-background-networking", f"--user-data-dir={tmp_path / 'profile'}",
         f"--print-to-pdf={tmp_path / 'sheet.pdf'}", (tmp_path / "sheet.html").as_uri()],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    assert len(re.findall(rb"/Type\s*/Page\b", (tmp_path / "sheet.pdf").read_bytes())) == 2
