"""Words that follow a number or a name, and that every text of ours has them from one place."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from tests.conftest import ROOT
from vault.model.wording import capitalised, plural, span_text, with_article

# Things that our texts count. `vault/meaning` also writes multiples and measures of them.
_THINGS = (
    "snapshot axe line parameter value setting file record export entrie commit fault alert message"
    " problem code machine choice bit octet column object difference finding minute token"
    " account change suspect waiver attempt"
)
_COUNTED = re.compile(rf"^ (more )?({_THINGS.replace(' ', '|')})s\b")
_GOES_WITH_MANY = ("of ", "more than ", "all ")
_PYTHON = [p for top in ("vault", "webui") for p in sorted((ROOT / top).rglob("*.py"))]
_TEMPLATES = [*ROOT.glob("vault/**/*.jinja"), *ROOT.glob("webui/**/*.html")]


@pytest.mark.parametrize(
    ("count", "noun", "verb"),
    [
        (0, "0 axes", "0 parameters differ"),
        (1, "1 axis", "1 parameter differs"),
        (2, "2 axes", "2 parameters differ"),
        (12_000, "12,000 axes", "12,000 parameters differ"),
    ],
)
def test_noun_and_verb_agree_with_their_number(count: int, noun: str, verb: str) -> None:
    assert plural(count, "axis", "axes") == noun
    assert plural(count, "parameter differs", "parameters differ") == verb


def test_an_s_makes_most_nouns_many() -> None:
    assert [plural(count, "line") for count in (0, 1, 2)] == ["0 lines", "1 line", "2 lines"]


def test_a_vowel_takes_another_article() -> None:
    assert [with_article(noun) for noun in ("reader", "approver", "admin")] == [
        "a reader",
        "an approver",
        "an admin",
    ]


def test_a_sentence_begins_with_a_capital_and_keeps_its_names() -> None:
    assert capitalised("the order WO-7 of Mira") == "The order WO-7 of Mira"
    assert capitalised("") == ""


def counted_by_hand(text: str) -> Iterator[str]:
    """F-strings that put a plural noun behind a number, whatever the number is."""
    for node in ast.walk(ast.parse(text)):
        parts = node.values if isinstance(node, ast.JoinedStr) else []
        before = ""
        for part, after in pairwise(parts):
            if isinstance(part, ast.Constant):
                before = str(part.value)
            elif (
                isinstance(after, ast.Constant)
                and _COUNTED.match(str(after.value))
                and not before.endswith(_GOES_WITH_MANY)
            ):
                yield f"{node.lineno}: {ast.unparse(node)}"


def test_every_count_in_our_code_takes_its_noun_from_plural() -> None:
    assert list(counted_by_hand('f"{count} snapshots"')) == ["1: f'{count} snapshots'"]
    apart = ROOT / "vault/meaning"
    found = {
        str(path.relative_to(ROOT)): there
        for path in _PYTHON
        if apart not in path.parents and (there := list(counted_by_hand(path.read_text("utf-8"))))
    }
    assert found == {}


@pytest.mark.parametrize("path", _TEMPLATES, ids=lambda path: path.name)
def test_every_count_on_a_page_takes_its_noun_from_plural(path: Path) -> None:
    assert not [
        after
        for after in re.findall(r"\}\}([^{<]*)", path.read_text("utf-8"))
        if _COUNTED.match(after)
    ]


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.4, "less than a second"),
        (1, "1 second"),
        (119, "119 seconds"),
        (120, "2 minutes"),
        (7199, "119 minutes"),
        (7200, "2 hours"),
        (172_799, "47 hours"),
        (172_800, "2 days"),
        (90_000_000, "1,041 days"),
    ],
)
def test_a_span_is_told_in_the_largest_unit_of_which_there_are_two(
    seconds: float, text: str
) -> None:
    assert span_text(timedelta(seconds=seconds)) == text


# Files whose numbers are for machines, of our own form, or of limits that no site changes.
_NOT_FOR_PEOPLE = (
    "documents.py", "bounds.py", "limits.py", "server.py", "/drafting/", "printing_drafts.py",
    "cli/demo.py", "alerts/channels/", "raise_alerts.py", "folder_events.py", "yaml_text.py",
    "meaning/findings.py",
)  # fmt: skip


def numbers_by_hand(source: str) -> Iterator[str]:
    """Formats of figures in f-strings that do not go through `marked`."""
    tree = ast.parse(source)
    calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
    safe = {
        id(inner)
        for call in calls
        if getattr(call.func, "id", "") in ("marked", "float", "Fraction", "Finding")
        for inner in ast.walk(call)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.FormattedValue) and node.format_spec and id(node) not in safe:
            spec = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "9"
                for part in getattr(node.format_spec, "values", [])
            )
            if re.fullmatch(r"[+,]*(\.\d+)?[fg%]|,", spec):
                yield f"{ast.unparse(node)} in line {node.lineno}"


def test_a_figure_written_by_hand_is_found() -> None:
    found = list(numbers_by_hand('x = f"{size:,.3f} mm"; y = marked(f"{size:g}"); z = f"{n:04X}"'))
    assert len(found) == 1
    assert "size" in found[0]


_FOR_PEOPLE = [
    path
    for top in ("meaning", "jobs", "cli")
    for path in sorted((ROOT / "vault" / top).rglob("*.py"))
    if not any(part in path.as_posix() for part in _NOT_FOR_PEOPLE)
]


@pytest.mark.parametrize("path", _FOR_PEOPLE, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_figures_have_the_marks_of_the_site(path: Path) -> None:
    assert list(numbers_by_hand(path.read_text(encoding="utf-8"))) == []


_DATE_BY_HAND = re.compile(r"%Y-%m-%d|%d\.%m")
# Commit messages, names of files, values of fields, the vault's own form of times.
_OF_FILES = (
    "recorder.py", "notes.py", "evidence.py", "/drafting/", "demo/lived_in.py", "trials/add.py",
    "trials/trace.py",
)  # fmt: skip


@pytest.mark.parametrize(
    "path",
    [path for path in _FOR_PEOPLE if not any(part in path.as_posix() for part in _OF_FILES)],
    ids=lambda path: path.relative_to(ROOT).as_posix(),
)
def test_days_are_written_as_the_site_writes_them(path: Path) -> None:
    assert _DATE_BY_HAND.findall(path.read_text(encoding="utf-8")) == []
