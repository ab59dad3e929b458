"""What the words of a name mean: every glossary at once, since makers mix languages.

A name is cut into words, German compounds into theirs, and each is looked up: as it stands, without
its ending, as a compound, as the beginning of longer words, and by its nearest spelling.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache

from rapidfuzz import fuzz, process

from vault.jobs.families.glossary import glossaries
from vault.model.glossary import Glossary

_SPELLED_OUT = str.maketrans(
    {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "µ": "u"}
)
_SIGNS = (
    (re.compile(r"\+"), " plus "),
    (re.compile(r"(?:(?<=\s)|(?<=\())[-\u2212](?=\s*\)?\s*$)"), " minus "),
)
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z]{2})")
_WORD = re.compile(r"[a-z]+|[0-9]+")
_LONGEST_PHRASE = 4  # words that are looked up together
_SHORTEST_PART = 3  # letters of a part of a compound
_LONGEST_WORD = 100
_SHORTEST_ABBREVIATION = 3
_SHORTEST_MISSPELT = 5
_LEAST_LIKENESS = 86.0  # of 100; our own choice
_MOST_MEANINGS = 3  # more than that say nothing


def words_of(text: str) -> list[str]:
    """A text as plain lower-case words and numbers: `DI3-Prüfzeit +` is di 3 pruefzeit plus."""
    for pattern, word in _SIGNS:
        text = pattern.sub(word, text)
    text = unicodedata.normalize("NFKD", text.translate(_SPELLED_OUT))
    text = "".join(letter for letter in text if not unicodedata.combining(letter))
    return _WORD.findall(_CAMEL.sub(" ", text).lower())


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a name: how it is written there, and which role words it may stand for, if any."""

    written: str
    means: frozenset[str]
    spelling: str = ""
    language: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """A name as its parts; numbers apart, fillers left out."""

    parts: tuple[Part, ...]
    numbers: tuple[int, ...] = ()

    def meanings(self) -> frozenset[str]:
        """All that any part may stand for."""
        return frozenset().union(*(part.means for part in self.parts))


@dataclass(slots=True)
class _Entry:
    """A word of the glossaries: what it may mean, in as many parts as it has; a filler has none."""

    spelling: str
    language: str
    parts: list[frozenset[str]] = field(default_factory=list)


class Lexicon:
    """The words of all glossaries."""

    def __init__(self, languages: Iterable[Glossary]) -> None:
        self._entries: dict[str, _Entry] = {}
        self._ordinals: dict[str, int] = {}
        self._endings: list[str] = []
        self._joints: list[str] = [""]
        for glossary in languages:
            self._take_in(glossary)
        self._endings.sort(key=len, reverse=True)
        self._long = [key for key in self._entries if len(key) >= _SHORTEST_MISSPELT]
        self._known: dict[str, tuple[Part, ...]] = {}

    def _take_in(self, glossary: Glossary) -> None:
        for meaning, spellings in glossary.words.items():
            meanings = meaning.split()
            for spelling in spellings:
                key = "".join(words_of(spelling))
                entry = self._entries.setdefault(key, _Entry(spelling, glossary.language))
                if len(meanings) > 1 or not entry.parts:
                    entry.parts = [frozenset([one]) for one in meanings]
                else:
                    entry.parts[0] |= {meaning}
        for filler in glossary.fillers:
            key = "".join(words_of(filler))
            self._entries.setdefault(key, _Entry(filler, glossary.language))
        self._ordinals |= {"".join(words_of(w)): n for w, n in glossary.ordinals.items()}
        self._endings += (e for e in glossary.endings if e not in self._endings)
        self._joints += (j for j in glossary.joints if j not in self._joints)

    def read(self, text: str) -> Reading:
        """Cut a name into its parts."""
        words, parts, numbers, place = words_of(text), [], [], 0
        while place < len(words):
            for end in range(min(len(words), place + _LONGEST_PHRASE), place, -1):
                found = self._entries.get("".join(words[place:end]))
                if found is not None:
                    parts += _parts_of(" ".join(words[place:end]), found)
                    place = end
                    break
            else:
                word = words[place]
                place += 1
                if word.isdigit():
                    numbers.append(int(word[:4]))
                elif word in self._ordinals:
                    numbers.append(self._ordinals[word])
                else:
                    parts += self._parts_of_word(word)
        return Reading(tuple(dict.fromkeys(parts)), tuple(numbers))

    def _parts_of_word(self, word: str) -> tuple[Part, ...]:
        if word not in self._known:
            self._known[word] = tuple(self._look_up(word))
        return self._known[word]

    def _look_up(self, word: str) -> Iterator[Part]:
        if len(word) > _LONGEST_WORD:  # all ways to part it would take minutes
            yield Part(word, frozenset())
            return
        for ending in self._endings:
            stem = word.removesuffix(ending)
            if stem != word and len(stem) >= _SHORTEST_PART and stem in self._entries:
                yield from _parts_of(word, self._entries[stem])
                return
        if compound := self._compound(word):
            for written, key in compound:
                yield from _parts_of(written, self._entries[key])
        elif longer := self._begun_by(word):
            yield longer
        elif near := self._near(word):
            yield from _parts_of(word, self._entries[near])
        else:
            yield Part(word, frozenset())

    def _compound(self, word: str) -> list[tuple[str, str]] | None:
        """The fewest words that a compound is made of, as written and as known."""
        best: list[list[tuple[str, str]] | None] = [None] * (len(word) + 1)
        best[len(word)] = []
        for start in range(len(word) - _SHORTEST_PART, -1, -1):
            for end in range(len(word), start + _SHORTEST_PART - 1, -1):
                if (key := word[start:end]) not in self._entries:
                    continue
                for joint in self._joints:
                    rest = end + len(joint)
                    if (
                        rest > len(word)
                        or not word.startswith(joint, end)
                        or (following := best[rest]) is None
                    ):
                        continue
                    if (known := best[start]) is None or len(known) > len(following) + 1:
                        best[start] = [(key, key), *following]
        return best[0]

    def _begun_by(self, word: str) -> Part | None:
        """The words that an abbreviation may be of, if they agree well enough."""
        if len(word) < _SHORTEST_ABBREVIATION:
            return None
        longer = [
            (key, e)
            for key, e in self._entries.items()
            if key.startswith(word) and len(e.parts) == 1 and " " not in e.spelling
        ]
        means = frozenset().union(*(entry.parts[0] for _, entry in longer))
        if not longer or len(means) > _MOST_MEANINGS:
            return None
        entry = min(longer, key=lambda pair: len(pair[0]))[1]
        return Part(word, means, entry.spelling, entry.language)

    def _near(self, word: str) -> str | None:
        if len(word) < _SHORTEST_MISSPELT:
            return None
        found = process.extractOne(
            word, self._long, scorer=fuzz.ratio, score_cutoff=_LEAST_LIKENESS
        )
        return found[0] if found else None


def _parts_of(written: str, entry: _Entry) -> list[Part]:
    return [Part(written, means, entry.spelling, entry.language) for means in entry.parts]


@cache
def lexicon() -> Lexicon:
    """The words of the glossaries that come with the program."""
    return Lexicon(glossaries())
