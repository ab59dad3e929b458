"""What dictionaries and the standard name: parameters with their roles' trade words, and faults."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING

from vault.jobs.families.glossary import glossaries
from vault.model import roles
from vault.model.errors import VaultError
from vault.model.fault_table import STANDARD_FAULTS, name_of, standard_code
from vault.model.remembered import Remembered
from vault.store.files import layout
from vault.store.index.texts import plain, rank

if TYPE_CHECKING:
    from vault.model.families import Family
    from vault.store.vault import Vault

_BY_WORDS = 5
"""What is found by its code or name goes before what is found by a word of the trade."""


@dataclass(frozen=True, slots=True)
class NamedParameter:
    """A parameter of a dictionary, and code and name as they are compared."""

    code: str
    name: str
    role: str | None
    family: str
    plain_code: str
    plain_name: str

    def rank(self, wanted: str) -> tuple[int, str] | None:
        """How well it fits a plain text, and why; None where it does not."""
        ranks = [(rank(wanted, self.plain_code), "code"), (rank(wanted, self.plain_name), "name")]
        best = min(((r, why) for r, why in ranks if r is not None), default=None)
        if best is not None:
            return best
        words = _words(self.role)
        if wanted not in words.plain:
            return None
        word = next(word for word in words.all if wanted in plain(word))
        return _BY_WORDS, f"its role goes by {word!r}"


@dataclass(frozen=True, slots=True)
class Names:
    """What a dictionary names: the family, its parameters, its faults by code with their names."""

    family: str
    title: str
    parameters: tuple[NamedParameter, ...]
    faults: dict[str, str]


_KEPT = Remembered[str, Names](64)


def names_in(vault: Vault) -> Iterator[Names]:
    """What each dictionary of a vault names; one that cannot be read names nothing."""
    for entry in vault.repository.list(vault.tip, layout.FAMILIES):
        name = entry.path.split("/")[1].removesuffix(".yaml")
        try:
            yield _KEPT.of(entry.id, partial(_names_of, vault, name))
        except VaultError:
            continue


def _names_of(vault: Vault, name: str) -> Names:
    return _names(vault.family_file(name).family)


def _names(family: Family) -> Names:
    parameters = (
        NamedParameter(code, one.name, one.role, family.name, plain(code), plain(one.name))
        for code, one in family.parameters.items()
    )
    faults = {code: one.name for code, one in family.faults.items()}
    return Names(family.name, family.title, tuple(parameters), faults)


@dataclass(frozen=True, slots=True)
class Words:
    """What a role goes by, and all of it as it is compared."""

    all: tuple[str, ...] = ()
    plain: str = ""


@cache
def _words(name: str | None) -> Words:
    """Its own name, its title, its object, and the trade's words in every language."""
    role = roles.find(name) if name else None
    if name is None or role is None:
        return Words()
    own = (name.replace("_", " "), role.title, role.object or "")
    others = (word for each in glossaries() for word in each.roles.get(name.partition(".")[0], ()))
    words = tuple(dict.fromkeys(word for word in (*own, *others) if word))
    return Words(words, "\n".join(map(plain, words)))


def fault_name(code: str, names: list[Names]) -> str | None:
    """What a fault code that somebody noted stands for, by the first dictionary that has it."""
    for each in names:
        for own, name in each.faults.items():
            if own.casefold() == code.casefold():
                return name
    standard = standard_code(code)
    return None if standard is None else name_of(standard)


def standard_faults() -> Iterator[tuple[str, str]]:
    """Codes of the standard and their names."""
    for code, name in STANDARD_FAULTS.items():
        yield f"{code:04X}h", name
