"""The roles that a dictionary may name, with what they mean and the names that they go by."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from vault.jobs.families.glossary import glossaries
from vault.jobs.families.hazard_roles import needs_confirmation
from vault.jobs.families.lexicon import lexicon, words_of
from vault.jobs.families.phrases import phrase_index
from vault.model import roles
from vault.model.errors import WrongUsage
from vault.model.names import SIDES
from vault.model.near_names import did_you_mean
from vault.model.roles import Role

_NEAR = 40  # names that are looked at closely; our own choice, as the likeness
_LEAST_LIKENESS = 0.5


@dataclass(frozen=True, slots=True)
class RoleEntry:
    """A role, the names it goes by in each language, and whether a person must confirm it."""

    role: Role
    names: dict[str, tuple[str, ...]]
    needs_confirmation: bool


def list_roles(word: str | None = None) -> tuple[RoleEntry, ...]:
    """Every role in the order of their groups, or those that a word fits, best first.

    The word may be a role, part of its name, title or object, or a name on the shop floor.
    Raises WrongUsage where none fits, with what may have been meant.
    """
    if word is None:
        order = [name for name, _ in roles.GROUPS]
        every = sorted(roles.all_roles(), key=lambda role: order.index(role.group))
        return tuple(map(_entry, every))
    exact = roles.find(word.strip().casefold())
    if exact is not None:
        return (_entry(exact),)
    found = _holding(word) or _alike(word)
    if not found:
        known = [role.name for role in roles.all_roles()]
        phrases = [phrase.text for side in SIDES for phrase in phrase_index(side).phrases]
        near = did_you_mean(word, known) or did_you_mean(word, phrases)
        raise WrongUsage(f"no role goes by {word!r}{near}", hint="axisvault family roles")
    return tuple(map(_entry, found))


def _entry(role: Role) -> RoleEntry:
    names = {glossary.language: glossary.roles.get(role.name, ()) for glossary in glossaries()}
    return RoleEntry(role, names, needs_confirmation(role.name))


def _holding(word: str) -> list[Role]:
    """Roles of which some text holds the word as it stands, at the begin of a word."""
    wanted = _plain(word)
    if not wanted.strip():
        return []
    return [role for role in roles.all_roles() if any(wanted in text for text in _texts(role))]


def _texts(role: Role) -> Iterable[str]:
    yield from map(_plain, (role.name, role.title, role.object or ""))
    for glossary in glossaries():
        yield from map(_plain, glossary.roles.get(role.name, ()))


def _plain(text: str) -> str:
    """As it is compared, whatever is written large or with umlauts; a blank before each word."""
    return f" {' '.join(words_of(text))}"


def _alike(word: str) -> list[Role]:
    """Roles with a name that is alike, nearest first."""
    name = lexicon().read(word)
    best: dict[str, float] = {}
    likely = (
        (phrase, index.likeness(name, phrase, {}, frozenset()))
        for index in map(phrase_index, SIDES)
        for phrase in index.near(name, _NEAR)
    )
    for phrase, like in likely:
        if like is not None and like.score >= _LEAST_LIKENESS:
            best[phrase.role] = max(like.score, best.get(phrase.role, 0.0))
    found = sorted(best, key=lambda role: -best[role])
    return [role for name in found if (role := roles.find(name)) is not None]
