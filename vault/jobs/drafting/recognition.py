"""By what exports of a family are to be known: a pattern that fits all that were given."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from vault.formats.nameplate import HEAD_LINES
from vault.formats.registry import RecognisesFamilies, format_named
from vault.formats.text_encoding import decode
from vault.jobs.drafting.plate import Plate
from vault.jobs.drafting.raw_table import Guess
from vault.model.errors import VaultError
from vault.model.export import Listing
from vault.model.export_dialect import ExportDialect
from vault.model.internal_errors import told_apart

if TYPE_CHECKING:
    from vault.store.vault import FamilyFile

_FIELDS = ("drive", "product", "vendor")
_LONGEST = 120


def find_recognition(
    dialect: ExportDialect,
    contents: Sequence[bytes],
    listings: Sequence[Listing],
    plates: Sequence[Plate],
) -> tuple[dict[str, str], tuple[Guess, ...]]:
    """Patterns by which the exports are known, with how that was told."""
    for field in _FIELDS:
        texts = {plate.texts.get(field, "") for plate in plates}
        texts |= {listing.nameplate.get(field, "") for listing in listings}
        if field in dialect.nameplate.values() and (found := _same_begin(texts)):
            pattern = {field: _pattern(found)}
            if _fits(dialect, contents, pattern):
                reason = f"its nameplate says so in {_every(contents)}"
                return pattern, (Guess("recognise", f"{field}: {found}", 0.8, reason),)
    line = _same_line(dialect, contents)
    if line:
        pattern = {"text": _pattern(line)}
        if _fits(dialect, contents, pattern):
            reason = f"this line stands in {_every(contents)}"
            return pattern, (Guess("recognise", line, 0.6, reason),)
    reason = "exports of it are known by their headings alone"
    return {}, (Guess("recognise", "", 0.5, reason),)


def _every(contents: Sequence[bytes]) -> str:
    return "the export" if len(contents) == 1 else f"all {len(contents)} exports"


def _same_begin(texts: set[str]) -> str:
    """What texts begin with alike, up to a part of a word; empty where that is next to nothing."""
    if "" in texts or not texts:
        return ""
    texts = {text.partition("  ")[0] for text in texts}
    first, last = min(texts), max(texts)
    same = 0
    while same < min(len(first), len(last)) and first[same] == last[same]:
        same += 1
    if same == len(first) == len(last):
        return first
    begin = first[:same]
    cut = max(begin.rfind(mark) for mark in " -_/.")
    return begin[:cut] if cut >= 3 else ""


def _pattern(text: str) -> str:
    """What begins so and does not go on with a letter or digit: `OAK-1` is no `OAK-10`."""
    begin = re.sub(r"([.^$*+?{}\[\]\\|()])", r"\\\1", text[:_LONGEST])
    goes_on = text[:_LONGEST][-1:].isalnum() and len(text) <= _LONGEST
    return f"^{begin}([^0-9A-Za-z]|$)" if goes_on else f"^{begin}"


def _same_line(dialect: ExportDialect, contents: Sequence[bytes]) -> str:
    """The first line without a digit, of some words, that stands in every export's head."""
    if dialect.format == "sheet":
        return ""
    heads = []
    for content in contents:
        try:
            text, _ = decode(content[: 64 * 1024], dialect.encoding, final=len(content) <= 65536)
        except VaultError:
            return ""
        lines = [line.strip() for line in text.splitlines()[:HEAD_LINES]]
        if dialect.format == "keyed":  # what stands before a value is as good as a title
            lines = [line.partition(dialect.assign)[0].rstrip() for line in lines]
        heads.append(lines)
    shared = [line for line in heads[0] if all(line in head for head in heads)]
    shared = [line for line in shared if len(line) > 5 and any(map(str.isalpha, line))]
    if dialect.format == "keyed":  # a heading of INI text stands in files of anybody
        shared = [line for line in shared if not line.startswith("[")]
    # Headings of columns stand in tables of anybody.
    if dialect.format == "delimited":
        shared = [line for line in shared if dialect.delimiter not in line]
    if dialect.format == "fixed" and dialect.header:
        shared = [line for line in shared if " ".join(line.split()) != dialect.header]
    titles = (line for line in shared if not any(map(str.isdigit, line)))
    return next(titles, next(iter(shared), "") if dialect.format == "keyed" else "")


def _fits(dialect: ExportDialect, contents: Sequence[bytes], pattern: dict[str, str]) -> bool:
    tried = dialect.model_copy(update={"recognise": pattern})
    form = format_named(dialect.format)
    return isinstance(form, RecognisesFamilies) and all(
        form.matches(content, tried) for content in contents
    )


def other_families(content: bytes, others: Iterable[FamilyFile]) -> tuple[str, ...]:
    """Names of the vault's families as whose export a file goes already."""
    found: list[str] = []
    for one in others:
        with told_apart(lambda _: None, f"dictionary {one.name}"):
            own = one.family.export
            form = format_named(own.format)
            if isinstance(form, RecognisesFamilies) and form.matches(content, own):
                found.append(one.name)
    return tuple(found)
