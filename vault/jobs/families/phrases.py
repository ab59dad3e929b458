"""The names that roles go by, taken apart, and how alike a name is to each of them."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from math import log

from vault.jobs.families.glossary import glossaries
from vault.jobs.families.lexicon import Lexicon, Part, Reading, lexicon
from vault.model import roles
from vault.model.names import Side
from vault.model.roles import Role

OPPOSITES = tuple(
    (frozenset(pair.split("/")[0].split()), frozenset(pair.split("/")[1].split()))
    for pair in (
        "max upper / min lower",
        "positive right / negative left",
        "upper / lower",
        "right / left",
        "input / output",
        "acceleration / deceleration",
        "under_voltage / over_voltage",
        "numerator / divisor",
        "release / apply",
        "producer / consumer",
        "fast / slow",
        "rated / max",
        "digital / analogue",
        "single_turn / multi_turn",
    )
)
"""Role words that cannot stand for each other."""
_UNKNOWN_WEIGHT = 0.7  # of a word that no glossary has; our own choice, as the others here
_LEAST_WEIGHT = 0.25
_OF_NOTHING, _ENOUGH = 0.4, 1.0  # a name of one common word says little, whatever it is alike
_OTHER = "other"
_OTHER_WEIGHT = 2.0


@dataclass(frozen=True, slots=True)
class Phrase:
    """A name of a role: the words it is made of with their weight, and a number that it names."""

    role: str
    text: str
    language: str
    means: frozenset[str]
    number: int | None
    weight: float


@dataclass(frozen=True, slots=True)
class Likeness:
    """How alike a name is to a phrase, 0..1, and the parts that they share."""

    score: float
    phrase: Phrase
    shared: tuple[Part, ...]


class PhraseIndex:
    """All phrases of the roles of one side by the words that they are made of."""

    def __init__(self, words: Lexicon, side: Side = "drive") -> None:
        read = [*_read_phrases(words, side)]
        roles_of: dict[str, set[str]] = defaultdict(set)
        for role, _, _, means, _ in read:
            for one in means:
                roles_of[one].add(role)
        count = sum(_is_of(role, side) for role in roles.all_roles())
        self.weights = {
            one: max(_LEAST_WEIGHT, log((count + 1) / (len(having) + 0.5)) / log(count + 1))
            for one, having in roles_of.items()
        }
        self.phrases = tuple(
            Phrase(*row, sum(self.weights[one] for one in sorted(row[3]))) for row in read
        )
        self._having: dict[str, list[int]] = defaultdict(list)
        for place, phrase in enumerate(self.phrases):
            for one in phrase.means:
                self._having[one].append(place)

    def near(self, name: Reading, most: int) -> list[Phrase]:
        """The phrases that share most with a name."""
        found: Counter[int] = Counter()
        shared: dict[int, float] = {}
        for one in sorted(name.meanings()):
            weight = self.weights.get(one, 0.0)
            for place in self._having.get(one, ()):
                shared[place] = shared.get(place, 0.0) + weight
        phrases = self.phrases
        for place, weight in shared.items():
            found[place] = int(1000 * weight / (phrases[place].weight + 0.5))
        return [phrases[place] for place, _ in found.most_common(most)]

    def likeness(
        self, name: Reading, phrase: Phrase, context: dict[str, float], home: frozenset[str]
    ) -> Likeness | None:
        """How alike they are; None where one says the opposite of the other.

        `context` is what stands around the name and how much it counts; `home` are words that say
        nothing new beside the role.
        """
        if _contradict(name, phrase.means):
            return None
        left, matched, more, shared = set(phrase.means), 0.0, 0.0, []
        for part in sorted(name.parts, key=lambda part: len(part.means)):
            hits = part.means & left
            if hits:
                best = max(hits, key=lambda one: (self.weights[one], one))
                left.discard(best)
                matched += self.weights[best]
                shared.append(part)
            elif not part.means & phrase.means:
                more += self._weight_beside(part, home)
        for one in sorted(left):
            matched += self.weights[one] * context.get(one, 0.0)
            left_weight = self.weights[one] * (1.0 - context.get(one, 0.0))
            more += left_weight * 1.25
        if phrase.number is not None and phrase.number not in name.numbers:
            return None
        if not shared:
            return None
        told = min(1.0, _OF_NOTHING + (1.0 - _OF_NOTHING) * matched / _ENOUGH)
        return Likeness(told * matched / (matched + 0.8 * more), phrase, tuple(shared))

    def _weight_beside(self, part: Part, home: frozenset[str]) -> float:
        """How much a word counts against a role that has none such."""
        if not part.means:
            return _UNKNOWN_WEIGHT
        if _OTHER in part.means:
            return _OTHER_WEIGHT
        if part.means & home:
            return 0.1
        return min(self.weights.get(one, _UNKNOWN_WEIGHT) for one in part.means)


def _contradict(name: Reading, means: frozenset[str]) -> bool:
    """Whether the name says the opposite of a phrase."""
    for mine, yours in _opposed(means):
        says = [part.means for part in name.parts if part.means & mine]
        if any(not part & means for part in says) and not any(
            part.means & yours for part in name.parts
        ):
            return True
    return False


@cache
def _opposed(means: frozenset[str]) -> list[tuple[frozenset[str], frozenset[str]]]:
    """What says the opposite of words that a phrase has, and these."""
    pairs = [pair for one, other in OPPOSITES for pair in ((one, other), (other, one))]
    return [(mine, yours) for mine, yours in pairs if means & yours and not means & mine]


def _is_of(role: Role | None, side: Side) -> bool:
    """Whether a role is one that the export of this side holds."""
    return role is not None and (role.group == roles.CONTROLLER) == (side == "controller")


def _read_phrases(
    words: Lexicon, side: Side
) -> Iterator[tuple[str, str, str, frozenset[str], int | None]]:
    for glossary in glossaries():
        for role, texts in glossary.roles.items():
            if not _is_of(roles.find(role), side):
                continue
            own = frozenset(role.split("_"))
            for text in texts:
                reading = words.read(text)
                means = frozenset(_meant(part, own, role) for part in reading.parts)
                number = reading.numbers[-1] if reading.numbers else None
                yield role, text, glossary.language, means, number


def _meant(part: Part, own: frozenset[str], role: str) -> str:
    """What a part of a phrase stands for: what the role is named with, where it may be several."""
    if not part.means:
        return part.written
    return min(part.means, key=lambda one: (one not in own, one not in role, one))


@cache
def phrase_index(side: Side = "drive") -> PhraseIndex:
    """The phrases of the glossaries that come with the program, of the roles of one side.

    They are apart because the same words stand on both: a jog speed is the drive's in the export
    of a drive, and the controller's in that of a controller.
    """
    return PhraseIndex(lexicon(), side)
