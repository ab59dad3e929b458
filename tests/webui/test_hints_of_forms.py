"""Hints of the command line in the words of a page."""

from __future__ import annotations

import ast
import re
from collections import deque
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest

from vault.model.errors import WrongUsage
from webui.app import create_app
from webui.errors import hint_text
from webui.page_words import OF_THE_COMMAND_LINE, page_words

VAULT = Path(__file__).parents[2] / "vault"


@pytest.mark.parametrize(
    "hint",
    [
        "--reason TEXT",
        "axisvault axis list",
        "axisvault axis list shows what is retired",
        "axisvault ingest FILE --to M/A",
    ],
)
def test_no_hint_on_a_page_speaks_of_the_command_line(hint: str) -> None:
    told = hint_text(WrongUsage("no", hint=hint))
    assert told
    assert "axisvault" not in told
    assert "--" not in told


def hints() -> Iterator[str]:
    """Every hint that stands in the code of jobs and of what is below, NAME for what is named."""
    for file in VAULT.rglob("*.py"):
        if VAULT / "cli" not in file.parents:
            for node in ast.walk(ast.parse(file.read_text())):
                if isinstance(node, ast.keyword) and node.arg in ("hint", "next_step"):
                    yield from texts(node.value)


def texts(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.JoinedStr):
        parts = (part.value if isinstance(part, ast.Constant) else "NAME" for part in node.values)
        yield "".join(map(str, parts))
    elif isinstance(node, ast.IfExp):
        yield from (*texts(node.body), *texts(node.orelse))
    elif isinstance(node, ast.BinOp):
        yield from (f"{one}{two}" for one in texts(node.left) for two in texts(node.right))


def test_no_hint_of_any_job_speaks_of_the_command_line_on_a_page() -> None:
    every = set(hints())
    of_the_line = [hint for hint in every if OF_THE_COMMAND_LINE.search(hint)]
    assert len(of_the_line) > 40  # of them there are many, or nothing was read
    words = [page_words(hint) for hint in every]
    assert [one for one in words if OF_THE_COMMAND_LINE.search(one)] == []
    assert [hint for hint in every - {*of_the_line} if page_words(hint) != hint] == []


@pytest.mark.parametrize(
    ("hint", "words"),
    [
        ("axisvault ingest FILE", "take it in: see Take in above"),
        (
            "draft a dictionary from it: axisvault family draft FILE --name NAME",
            "draft a dictionary from it",
        ),
        ("axisvault verify says what is wrong", ""),
        ("look at it; later: axisvault drift --alert", "look at it; later"),
        ("a newer axisvault may have written it", "a newer axisvault may have written it"),
        ("nothing was taken; decide with --keep here", "nothing was taken"),
    ],
)
def test_what_only_the_command_line_can_do_is_left_out(hint: str, words: str) -> None:
    assert page_words(hint) == words


REFUSED = (
    "/?state=odd", "/axis/glaze-line-1/none", "/axis/glaze-line-1/lift/at/golden",
    "/axis/glaze-line-1/lift/at/~99", "/axis/glaze-line-1/lift/at/1999-01-01", "/machine/none",
    "/compare?left=glaze-line-1/lift@golden&right=glaze-line-1/lift", "/compare?left=a&right=b",
    "/compare?left=none&right=glaze-line-1", "/spread?pattern=none/*", "/find?what=none",
    "/audit?place=glaze-line-1/lift&fault=1&at=2026-01-01",
    "/audit?place=glaze-line-1/lift&fault=x",
    "/restore/glaze-line-1/lift?when=golden", "/restore/glaze-line-1/lift?encoder_bits=x",
    "/restore/glaze-line-1/lift/plan/zzzz", "/waivers?days=-1", "/manual/none",
    "/axis/glaze-line-1/lift/parameter/none", "/family/none", "/baselines?pattern=none/*",
    "/axis/glaze-line-1/lift/margins?margin=none", "/faults?since=x", "/restore/glaze-line-1/none",
)  # fmt: skip


def spoken(page: str) -> list[str]:
    """What a page says of the command line, but where it says that it does."""
    page = re.sub(r"At the command line:.*?</(p|li|dd|td)>", "", page, flags=re.DOTALL)
    page = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    text = " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())
    text = text.replace("axisvault demo", "")  # who took the plant's exports in
    return [text[max(0, m.start() - 60) : m.end() + 40] for m in OF_THE_COMMAND_LINE.finditer(text)]


def test_no_refusal_and_no_page_of_the_plant_speaks_of_the_command_line(works: Path) -> None:
    client = create_app(works, is_local=True).test_client()
    for address in REFUSED:
        assert spoken(client.get(address).text) == [], address
    waiting, seen = deque(["/"]), {"/"}
    shapes: dict[str, int] = {}
    told: list[tuple[str, str]] = []
    while waiting:
        address = waiting.popleft()
        answer = client.get(address)
        if answer.mimetype != "text/html":
            continue
        told += [(address, one) for one in spoken(answer.text)]
        for link in map(unescape, re.findall(r'href="(/[^"#]*)', answer.text)):
            shape = re.sub(r"=[^&]*|/[^/?]*\d[^/?]*|/[a-z-]+/[a-z-]+(?=/|$)", "", link)
            shapes[shape] = shapes.get(shape, 0) + (link not in seen)
            # What is set once a year is set on the command line: these show it, and say so.
            aside = ("/manual", "/static", "/api", "/settings", "/health", "/log-in")
            on_paper = "/sheet" in link  # it is carried to where there is no page
            if link in seen or shapes[shape] > 1 or on_paper or link.startswith(aside):
                continue
            seen.add(link)
            waiting.append(link)
    assert told == []
    assert len(seen) > 30
