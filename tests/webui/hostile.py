"""What tests of hostile input share: such text, a look for what of it came through, raw forms."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

from flask import Flask
from werkzeug.test import TestResponse

from tests.conftest import BY, ROOT
from tests.webui.visiting import add_people
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family
from vault.model.names import Address
from vault.store.vault import Vault

Export = Callable[..., str]
FORM = "multipart/form-data; boundary=zz"

# A right-to-left override, an isolate, a bell, an escape, a line separator and NUL among markup.
HOSTILE = (
    "javascript:zz()<zz-tag><script>zz()</script>\"'><img src=x onerror=zz()>' onfocus='zz()"
    "{{1234*5678}}\u202e\u2066\x07\x1b[31m\u2028\x00end"
)
UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


class Parsed(HTMLParser):
    """A page as a browser takes it apart: its elements, and the fields of its forms."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    @property
    def fields(self) -> set[str | None]:
        return {told.get("name") for tag, told in self.tags if tag in ("input", "select", "button")}


def came_through(text: str) -> list[str]:
    """What of a page came out of somebody's text: nothing, if all is well."""
    found = [text[max(at.start() - 20, 0) : at.end() + 5] for at in UNSEEN.finditer(text)]
    for tag, attributes in Parsed(text).tags:
        picture = tag == "img" and (attributes.get("src") or "").startswith("data:image/svg")
        ours = tag == "script" and re.fullmatch(
            r"/[a-z_]+\.js(\?v=[0-9a-f]{12})?", attributes.get("src") or ""
        )
        if (tag in ("script", "iframe", "zz-tag") and not ours) or (tag == "img" and not picture):
            found.append(tag)
        for name, value in attributes.items():
            runs = name in ("href", "src", "action") and "script:" in (value or "")[:20].lower()
            if name.startswith("on") or not re.fullmatch("[A-Za-z:-]+", name) or runs:
                found.append(f"{tag} {name}={value}")
    return [*found, *re.findall("7006652|Traceback", text)]  # 1234 * 5678


def made(place: Path, family_text: str, export_text: Export) -> Path:
    """A vault with m1/lift (two snapshots) and m1/belt, and an account of each role."""
    (place / "hazel.yaml").write_text(family_text)
    with Vault.create(place / "plant", "Tile works (invented)", BY) as vault:
        add_family(vault, place / "hazel.yaml", BY)
        for day, lag in (("1", "2,5"), ("2", "3")):
            (place / "lift.csv").write_text(export_text(lag))
            who = parse_visit(BY, taken_at=f"2026-03-0{day}T08:00:00+00:00")
            ingest(vault, place / "lift.csv", Address("m1", "lift"), who)
        (place / "belt.csv").write_text(export_text("9", speed="70"))
        ingest(vault, place / "belt.csv", Address("m1", "belt"), who)
    add_people(place / "plant")
    return place / "plant"


def uploads(folder: Path) -> list[Path]:
    """What lies on disk of what was sent."""
    return [
        path
        for path in (folder / "axisvault/uploads").rglob("*")
        if path.is_file() and path.suffix != ".lock"
    ]


def settle(app: Flask, answer: TestResponse) -> str:
    """Where work that was begun can be seen, once it is over."""
    assert answer.status_code == 303, answer.text
    app.extensions["work_queue"].wait(60)
    return answer.headers["Location"]


def multipart(files: list[tuple[str, bytes]], fields: dict[str, str]) -> bytes:
    """A form as RFC 7578 has it; names go as they are but for quotes, as browsers write them."""
    parts = [
        f'Content-Disposition: form-data; name="{name}"\r\n\r\n{value}'.encode()
        for name, value in fields.items()
    ]
    for name, content in files:
        told = name.replace('"', "%22")
        head = f'Content-Disposition: form-data; name="export"; filename="{told}"\r\n\r\n'
        parts.append(head.encode() + content)
    return b"".join(b"--zz\r\n" + part + b"\r\n" for part in parts) + b"--zz--\r\n"


@contextmanager
def serving(folder: Path) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """`axisvault serve` in a process of its own, and its port on loopback."""
    process = subprocess.Popen(
        [sys.executable, "-m", "vault", "--vault", str(folder), "serve", "--port", "0"],
        env={"PATH": os.environ["PATH"], "HOME": str(folder.parent), "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:(\d+)/", process.stdout.readline())
        assert found is not None
        yield process, int(found[1])
    finally:
        process.kill()
        process.communicate()
