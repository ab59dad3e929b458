"""The restore sheet: everything on it, nothing from outside, two pages of A4."""

from __future__ import annotations

import base64
import html
import json
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

import pytest
import segno

from vault.jobs.records.edit import set_site
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.request import PlanRequest
from vault.jobs.restore.sheet import pieces, sheet_html
from vault.jobs.restore.sheet_parts import TICK
from vault.jobs.restore.sheet_sections import sections
from vault.model.replacement import Replacement
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
SITE = (
    "schema: axisvault/vault/1\nsite: Tile works\nviewer: https://vault.tileworks.example/drives/\n"
)
LINK = "https://vault.tileworks.example/drives/axis/glaze-line-2/lift"


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


def plan_of(vault: Vault, name: str = "glaze-line-2/lift", onto: str | None = None) -> RestorePlan:
    return make_plan(vault, PlanRequest(name, onto=onto))


@pytest.fixture(scope="module")
def with_viewer(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RestorePlan]:
    """A plan of a site that has an address of its viewer."""
    folder = tmp_path_factory.mktemp("viewer")
    shutil.copytree(works, folder / "plant")
    (folder / "vault.yaml").write_text(SITE)
    with Vault.open(folder / "plant") as vault:
        set_site(vault, folder / "vault.yaml", BY)
        yield plan_of(vault)


def joined(text: str) -> str:
    return " ".join(text.split())


AXES = [
    ("glaze-line-2/lift", None),  # vertical, alder
    ("kiln-loader/hoist", None),  # vertical, larch
    ("kiln-loader/pusher", None),
    ("glaze-line-1/slurry-pump", None),  # rowan
    ("glaze-line-1/slurry-pump", "larch"),
]


@pytest.mark.parametrize(("name", "onto"), AXES)
def test_every_line_and_every_cell_is_on_the_sheet(
    name: str, onto: str | None, vault: Vault
) -> None:
    plan = plan_of(vault, name, onto)
    assert bool(plan.open_rows) == (onto is not None)
    page = Page(sheet_html(plan))
    for section in sections(plan):
        assert section.title in page.text
        cells = (cell for row in section.rows for cell in row if cell != TICK)
        for text in (*(line.text for line in section.lines), *section.heads, *cells):
            assert joined(text) in page.text


def test_the_head_says_what_goes_where(vault: Vault) -> None:
    plan = plan_of(vault)
    page, file, record = Page(sheet_html(plan)), plan.load_file, plan.target.record
    assert file is not None and record is not None and plan.target.snapshot is not None
    digest = sha256(file.content).hexdigest()
    for text in (
        "Restore sheet: glaze-line-2/lift",
        "Lift of glaze line 2",
        f"Target {plan.chosen}, snapshot {plan.target.snapshot.id[:10]}, taken "
        f"{record.taken_at:%Y-%m-%d %H:%M}",
        f"by {record.by.partition(' <')[0]}",
        "Drive ALD-5A, firmware 2.41.0, family alder",
        f"Plan {plan.number}, made {plan.made_at:%Y-%m-%d %H:%M}",
        file.name,
        " ".join(digest[at : at + 8] for at in range(0, 64, 8)),
    ):
        assert text in page.text


def test_the_head_does_not_take_the_old_drive_for_one_of_another_family(vault: Vault) -> None:
    plan = plan_of(vault, "glaze-line-1/slurry-pump", "larch")
    assert "Drive type not told, firmware not told, family larch" in Page(sheet_html(plan)).text
    fitted = Replacement(drive="LRC-1x12", firmware="4.6.0")
    plan = make_plan(vault, PlanRequest("glaze-line-1/slurry-pump", fitted, onto="larch"))
    assert "Drive LRC-1x12, firmware 4.6.0, family larch" in Page(sheet_html(plan)).text


def test_codes_move_to_the_next_line_as_a_whole() -> None:
    text = "Command: mov-101, 0x607C:00 (pos/accel), --adapt of two-channel\n axis.yaml"
    found = list(pieces(f"{text} {'x' * 40}"))
    assert [piece for piece, kind in found if kind == "whole"] == [
        "mov-101,", "0x607C:00", "(pos/accel),", "--adapt",
    ]  # fmt: skip
    assert [piece for piece, kind in found if kind == "long"] == ["x" * 40]
    assert " ".join(piece for piece, _ in found) == f"{joined(text)} {'x' * 40}"
    assert list(pieces("")) == []


def test_the_order_is_that_of_the_work(vault: Vault) -> None:
    names = [section.name for section in sections(plan_of(vault))]
    assert names == [
        "cautions", "people", "hardware", "cabinet", "controller_link", "load", "special", "safety",
        "never", "restart", "home", "direction", "move", "proof", "sign_off",
    ]  # fmt: skip


@pytest.mark.parametrize(("name", "onto"), AXES)
def test_a_box_for_every_tick_and_a_field_for_every_blank(
    name: str, onto: str | None, vault: Vault
) -> None:
    """A cell that nobody filled in, under a heading, is a blank too: what the plate says."""
    plan = plan_of(vault, name, onto)
    lines = [line.kind for section in sections(plan) for line in section.lines]
    cells = [
        cell
        for section in sections(plan)
        for row in section.rows
        for head, cell in zip(section.heads, row, strict=True)
        if head
    ]
    page = Page(sheet_html(plan))
    inputs = [one["type"] for one in page.all("input")]
    assert inputs.count("checkbox") == lines.count("tick") + cells.count(TICK)
    assert inputs.count("text") == lines.count("blank") + cells.count("") > lines.count("blank")
    assert len(page.all("label")) == len(inputs) - cells.count("")


def test_a_box_in_a_table_says_what_it_is_about(vault: Vault) -> None:
    plan = plan_of(vault, "glaze-line-1/slurry-pump", "larch")
    said = [one.get("aria-label") for one in Page(sheet_html(plan)).all("input")]
    assert "done: local isolator" in said
    row = plan.open_rows[0].target
    assert any((text or "").startswith(f"done: {row.name} ({row.code}):") for text in said)


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


def test_the_only_address_is_that_of_the_axis(with_viewer: RestorePlan) -> None:
    content = sheet_html(with_viewer)
    assert re.findall(rb"https?://[^\s<]*", content) == [LINK.encode()]
    (image,) = Page(content).all("img")
    assert (image["src"] or "").startswith("data:image/svg+xml")


def test_without_an_address_of_the_viewer_there_is_no_code(vault: Vault) -> None:
    assert not Page(sheet_html(plan_of(vault))).all("img")


def test_the_code_is_the_address_of_the_axis(with_viewer: RestorePlan) -> None:
    """Against what segno encodes for the address that was put together here."""
    page = Page(sheet_html(with_viewer))
    assert LINK in page.text
    (image,) = page.all("img")
    drawn = BytesIO()
    segno.make(LINK, error="m", micro=False).save(
        drawn, kind="svg", scale=3, border=4, light="#fff", xmldecl=False, svgns=True, nl=False
    )
    source = image["src"] or ""
    assert path_of(source) == path_of(drawn.getvalue().decode()) != []


def path_of(svg: str) -> list[str]:
    """The modules as drawn: commands of the path, however the address is encoded."""
    from urllib.parse import unquote

    head, _, rest = svg.partition(",")
    text = base64.b64decode(rest).decode() if head.endswith("base64") else unquote(svg)
    return re.findall(r"d=['\"](M4[^'\"]+)['\"]", text)


needs_chromium = pytest.mark.skipif(
    shutil.which("chromium") is None, reason="no chromium to draw with"
)


def chromium(folder: Path, *arguments: str) -> str:
    done = subprocess.run(
        ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
         "--disable-background-networking", f"--user-data-dir={folder / 'profile'}", *arguments],
        check=True, capture_output=True, timeout=60,
    )  # fmt: skip
    return done.stdout.decode()


@needs_chromium
@pytest.mark.parametrize("name", [name for name, onto in AXES if onto is None])
def test_it_prints_on_two_pages(name: str, vault: Vault, tmp_path: Path) -> None:
    (tmp_path / "sheet.html").write_bytes(sheet_html(plan_of(vault, name)))
    pdf = tmp_path / "sheet.pdf"
    chromium(tmp_path, f"--print-to-pdf={pdf}", (tmp_path / "sheet.html").as_uri())
    assert len(re.findall(rb"/Type\s*/Page\b", pdf.read_bytes())) == 2


@needs_chromium
@pytest.mark.parametrize(("name", "onto"), [AXES[0], AXES[-1]])
def test_it_fits_a_phone(name: str, onto: str | None, vault: Vault, tmp_path: Path) -> None:
    """390 px wide: no scrolling sideways, even with a name that has no place to break."""
    plan = plan_of(vault, name, onto)
    row = plan.open_rows[0] if onto else plan.never("safety")[0]
    named = replace(row, target=replace(row.target, name="unbroken_name_" * 6))
    plan = replace(plan, rows=tuple(named if one is row else one for one in plan.rows))
    frame = tmp_path / "frame.html"
    frame.write_text(
        '<iframe style="width:390px;height:800px;border:0" srcdoc="'
        + html.escape(sheet_html(plan).decode())
        + """"></iframe><pre></pre><script>onload = () => {
        const page = document.querySelector("iframe").contentDocument;
        const boxes = [...page.querySelectorAll("input[type=checkbox]")];
        document.querySelector("pre").textContent = JSON.stringify({
          wide: page.documentElement.scrollWidth,
          box: Math.min(...boxes.map((one) => one.getBoundingClientRect().width)) }) }</script>"""
    )
    dom = chromium(tmp_path, "--dump-dom", frame.as_uri())
    found = json.loads(dom.rpartition("<pre>")[2].partition("</pre>")[0])
    assert found["wide"] <= 390
    assert found["box"] >= 24
