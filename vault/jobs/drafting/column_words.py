"""What headings and labels mean, by the glossaries: which column, which field of the nameplate."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache

from rapidfuzz import fuzz, process

from vault.jobs.families.glossary import glossaries

_LEAST = 84  # of 100: how alike a misspelt word must be (our own choice)
_BEHIND = re.compile(r"\s*[\[(].*?[\])]\s*|[:=*]+\s*$")
_CAMEL = re.compile(r"(?<=[a-zäöüß])(?=[A-ZÄÖÜ])")
_NUMBERED = re.compile(r"([^\d\[\]]*?)(\d{1,3})(\D*)")
# What the glossaries have no file for yet: French.
_FURTHER_TRUTHS = (("non", "oui"),)


def plain_words(text: str) -> str:
    """A heading in comparable form: no case, no dots, nothing in brackets behind it."""
    bare = _BEHIND.sub(" ", text) or text
    return " ".join(re.split(r"[\s._-]+", bare.casefold())).strip()


@cache
def _columns() -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for glossary in glossaries():
        for column, words in glossary.columns.items():
            for word in words:
                found.setdefault(plain_words(word), set()).add(column)
    return found


@cache
def _labels() -> dict[str, str]:
    found: dict[str, str] = {}
    for glossary in glossaries():
        for name, words in glossary.nameplate.items():
            for word in words:
                found.setdefault(plain_words(word), name)
    return found


@cache
def truths() -> tuple[tuple[str, str], ...]:
    """Pairs of words for no and yes, in small letters."""
    pairs = [pair for glossary in glossaries() for pair in glossary.truths]
    return tuple((no.casefold(), yes.casefold()) for no, yes in (*pairs, *_FURTHER_TRUTHS))


@cache
def _of_comma() -> frozenset[str]:
    """Headings and words for no and yes that stand only in languages with a decimal comma."""
    said: dict[str, set[str]] = {
        ".": set(),
        ",": {word for pair in _FURTHER_TRUTHS for word in pair},
    }
    for glossary in glossaries():
        words = [word for column in glossary.columns.values() for word in column]
        words += [word for pair in glossary.truths for word in pair]
        said[glossary.decimal].update(map(plain_words, words))
    return frozenset(said[","] - said["."])


def writes_comma(headings: Iterable[str], values: Iterable[str]) -> bool:
    """Whether a file is likely to have a decimal comma, by the language of its words."""
    words = list(headings)
    if any(not heading.isascii() for heading in words):
        return True
    return not _of_comma().isdisjoint(map(plain_words, (*words, *values)))


@lru_cache(maxsize=4096)
def columns_meant(heading: str) -> dict[str, float]:
    """Our columns that a heading may be, with how sure that is (0..1)."""
    words = plain_words(heading)
    if not words or len(words) > 60:
        return {}
    known = _columns()
    if words in known:
        return dict.fromkeys(known[words], 1.0)
    near = process.extractOne(words, list(known), scorer=fuzz.ratio, score_cutoff=_LEAST)
    if near is not None and len(words) > 3:
        return dict.fromkeys(known[near[0]], 0.8)
    found: dict[str, float] = {}
    for part in words.split():
        for column in known.get(part, ()):
            found[column] = 0.55
    return found


def numbered_axis(text: str) -> tuple[str, int, str] | None:
    """The number of an axis in a text such as `Axis 2`, with what stands around it."""
    apart = _NUMBERED.fullmatch(text)
    if apart and "channel" in columns_meant(apart[1].strip(" -_:=*#") or "axis"):
        return apart[1], int(apart[2]), apart[3]
    return None


@lru_cache(maxsize=4096)
def field_meant(label: str) -> str | None:
    """The field of the nameplate that a label stands for; None where nobody knows it."""
    label = _CAMEL.sub(" ", label)
    parts, known = re.split(r"[/@\[\]]+", label), _labels()
    words = plain_words(" ".join(parts))
    for said in (words, plain_words(parts[-1])):
        if said in known:
            return known[said]
    if len(words) < 5 or len(words) > 60:
        return None
    near = process.extractOne(words, list(known), scorer=fuzz.ratio, score_cutoff=90)
    return known[near[0]] if near is not None else None
