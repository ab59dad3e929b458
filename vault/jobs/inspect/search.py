"""One box for everything: axes, machines, serial numbers, work orders, parameters, people, faults.

The index is asked, and no parameter set is read: an answer comes while somebody types.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from functools import partial
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING, TypeVar

from vault.jobs.inspect.axis_texts import (
    ACTS,
    AXIS,
    BY_RECORD,
    FAULT,
    FAULT_NOTE,
    FORMER,
    MACHINE,
    PLAN,
    TITLE,
    text_sources,
    texts_of,
)
from vault.jobs.inspect.search_names import (
    Names,
    fault_name,
    names_in,
    standard_faults,
)
from vault.model.fault_table import standard_code
from vault.model.names import Address
from vault.model.wording import plural
from vault.store.index import texts
from vault.store.index.rows import Snapshot, snapshots
from vault.store.index.texts import TextHit, plain, rank

if TYPE_CHECKING:
    import sqlite3

    from vault.store.vault import Vault

MOST = 8
"""Of each kind, unless somebody wants more."""
_NAMED = 4
"""Axes that are named with a person or a fault."""
_LEAST_LIKENESS = 70.0  # of 100, of what may have been meant; our own choice
_COMMIT = re.compile(r"[0-9a-f]{7,40}")
_KINDS = {
    AXIS: "its name",
    TITLE: "its title",
    "serial": "serial number",
    "drive": "drive",
    "motor": "motor",
}
_OTHER_THAN_AXES = (*ACTS, *MACHINE, FAULT)
_MORE = 4  # times as many are asked for: those that are retired come last
Hit = TypeVar("Hit")
Fit = TypeVar("Fit", bound=tuple[int | str, ...])


@dataclass(frozen=True, slots=True)
class AxisHit:
    """An axis, what people call it, and why it was found: a sentence without its full stop."""

    axis: str
    title: str
    why: str
    retired: bool = False


@dataclass(frozen=True, slots=True)
class MachineHit:
    """A machine, and how many axes it has."""

    machine: str
    axes: int
    why: str
    retired: bool = False


@dataclass(frozen=True, slots=True)
class ParameterHit:
    """A parameter by one of its names; of no family where no dictionary has it."""

    code: str
    name: str
    role: str | None
    family: str | None
    why: str


@dataclass(frozen=True, slots=True)
class FaultHit:
    """A fault: some of the axes that it was noted on, and on how many it was."""

    code: str
    name: str | None
    axes: tuple[str, ...]
    count: int
    why: str


@dataclass(frozen=True, slots=True)
class PersonHit:
    """A person: some of the axes that they had to do with; `why` says what and with how many."""

    person: str
    axes: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class FamilyHit:
    """A drive family."""

    family: str
    title: str
    why: str


@dataclass(frozen=True, slots=True)
class Hits:
    """Everything that fits, best first; `meant` is what may have been meant where nothing does."""

    text: str
    axes: tuple[AxisHit, ...] = ()
    machines: tuple[MachineHit, ...] = ()
    parameters: tuple[ParameterHit, ...] = ()
    faults: tuple[FaultHit, ...] = ()
    people: tuple[PersonHit, ...] = ()
    families: tuple[FamilyHit, ...] = ()
    snapshots: tuple[Snapshot, ...] = ()
    meant: tuple[str, ...] = field(default=(), compare=False)

    @property
    def count(self) -> int:
        """How many there are of all kinds."""
        named = (self.axes, self.machines, self.parameters, self.faults, self.people)
        return sum(map(len, (*named, self.families, self.snapshots)))


def search(vault: Vault, text: str, most: int = MOST) -> Hits:
    """What a text may mean, at most so many of each kind, best first.

    Ranked: all of it, its begin, the begin of a word, within, the words apart. A parameter whose
    name no dictionary has is known by the export that had it first.
    """
    wanted = plain(text)
    if not wanted:
        return Hits(text)
    return vault.index.ask(partial(_hits, vault, text, wanted, most))


def _hits(vault: Vault, text: str, wanted: str, most: int, database: sqlite3.Connection) -> Hits:
    read = partial(texts_of, vault)
    texts.follow_files(database, vault.tip, partial(text_sources, vault), read)
    names, asked = list(names_in(vault)), _Asked(vault, database, wanted, most)
    hits = Hits(
        text,
        axes=tuple(asked.axes()),
        machines=tuple(asked.machines()),
        parameters=tuple(asked.parameters(names)),
        faults=tuple(asked.faults(names)),
        people=tuple(asked.people()),
        families=tuple(asked.families(names)),
        snapshots=tuple(asked.snapshots(text.strip().casefold())),
    )
    if hits.count:
        return hits
    return Hits(text, meant=tuple(_meant(wanted, texts.all_texts(database), names)))


@dataclass(frozen=True, slots=True)
class _Asked:
    """A plain text that is asked for, and where."""

    vault: Vault
    database: sqlite3.Connection
    wanted: str
    most: int

    def axes(self) -> list[AxisHit]:
        """Axes by all that is said of them, each with its best two reasons."""
        whys: dict[Address, list[TextHit]] = {}
        most = self.most * _MORE
        for hit in self._matching(_OTHER_THAN_AXES, most, others=True):
            for address in texts.axes_with(self.database, hit.number, most):
                if address in whys or len(whys) < most:
                    whys.setdefault(address, []).append(hit)
        retired = {each for each in whys if self.vault.names.retired(each) is not None}
        return [
            AxisHit(
                self._name(address),
                texts.text_of(self.database, address, TITLE),
                self._whys(whys[address], address),
                address in retired,
            )
            for address in sorted(whys, key=retired.__contains__)[: self.most]
        ]

    def machines(self) -> list[MachineHit]:
        """Machines by their names, and by title and tags of their records."""
        names, whys = self.vault.names, dict[str, str]()
        most = self.most * _MORE
        for hit in self._matching(tuple(MACHINE), most):
            why = MACHINE[hit.kind]
            for address in texts.axes_with(self.database, hit.number, most):
                whys.setdefault(
                    address.machine, why if hit.kind == "machine" else f"{why} {hit.text}"
                )
        found = [
            MachineHit(
                names.machine_name(folder),
                texts.count_of_machine(self.database, folder),
                why,
                names.machine_retired(folder) is not None,
            )
            for folder, why in whys.items()
        ]
        return sorted(found, key=attrgetter("retired"))[: self.most]

    def parameters(self, names: list[Names]) -> list[ParameterHit]:
        """Those of the dictionaries, then those that only exports name."""
        ranked = [
            ((*fit, len(one.name)), one)
            for each in names
            for one in each.parameters
            if (fit := one.rank(self.wanted)) is not None
        ]
        best = _best(ranked, self.most)
        found = [ParameterHit(p.code, p.name, p.role, p.family, fit[1]) for fit, p in best]
        if len(found) < self.most:
            known = {one.code for each in names for one in each.parameters}
            for code, name in texts.codes_with(self.database, self.wanted, self.most):
                if code not in known:
                    found.append(ParameterHit(code, name, None, None, "code or name"))
        return found[: self.most]

    def faults(self, names: list[Names]) -> list[FaultHit]:
        """Those that somebody noted, then those that a dictionary or the standard has."""
        noted = {hit.text: hit for hit in texts.of_kind(self.database, FAULT)}
        known = {code: name for each in names for code, name in each.faults.items()}
        known |= {code: fault_name(code, names) or "" for code in noted}
        theirs = set(map(standard_code, known))
        known |= {c: name for c, name in standard_faults() if standard_code(c) not in theirs}
        number = standard_code(self.wanted)
        ranked = []
        for code, name in known.items():
            fits = [
                (rank(self.wanted, plain(code)), "code"),
                (rank(self.wanted, plain(name)), "name"),
            ]
            if number is not None and standard_code(code) == number:
                fits.append((0, "code"))
            best = min(((r, why) for r, why in fits if r is not None), default=None)
            if best is not None:
                ranked.append(((code not in noted, *best, code), (code, name)))
        return [
            self._fault(code, name, fit[2], noted.get(code))
            for fit, (code, name) in _best(ranked, self.most)
        ]

    def _fault(self, code: str, name: str, why: str, noted: TextHit | None) -> FaultHit:
        if noted is None:
            return FaultHit(code, name or None, (), 0, f"{why}, noted on no axis")
        count = texts.count_with(self.database, noted.number)
        axes = tuple(map(self._name, texts.axes_with(self.database, noted.number, _NAMED)))
        return FaultHit(
            code, name or None, axes, count, f"{why}, noted on {plural(count, 'axis', 'axes')}"
        )

    def people(self) -> list[PersonHit]:
        """Who took exports, approved, waived or noted."""
        acts: dict[str, list[TextHit]] = {}
        for hit in self._matching(tuple(ACTS), most=self.most * len(ACTS)):
            acts.setdefault(hit.text, []).append(hit)
        return [self._person(name, did) for name, did in list(acts.items())[: self.most]]

    def _person(self, name: str, did: list[TextHit]) -> PersonHit:
        axes: dict[str, None] = {}
        for hit in did:
            found = texts.axes_with(self.database, hit.number, _NAMED)
            axes |= dict.fromkeys(map(self._name, found))
        counts = {hit.kind: texts.count_with(self.database, hit.number) for hit in did}
        said = [f"{ACTS[k]} {plural(counts[k], 'axis', 'axes')}" for k in ACTS if k in counts]
        return PersonHit(name, tuple(axes)[:_NAMED], ", ".join(said))

    def families(self, names: list[Names]) -> list[FamilyHit]:
        """Drive families by name and title."""
        ranked = []
        for each in names:
            fits = (rank(self.wanted, plain(text)) for text in (each.family, each.title))
            best = min((fit for fit in fits if fit is not None), default=None)
            if best is not None:
                ranked.append(((best, each.family), each))
        return [
            FamilyHit(each.family, each.title, "its name or title")
            for _, each in _best(ranked, self.most)
        ]

    def snapshots(self, text: str) -> list[Snapshot]:
        """Snapshots whose id starts with seven or more digits that were typed."""
        if not _COMMIT.fullmatch(text):
            return []
        rest = "WHERE id >= ? AND id < ? ORDER BY id, machine, axis LIMIT ?"
        found = snapshots(self.database, rest, text, f"{text}g", self.most)
        return [replace(one, address=self.vault.names.named(one.address)) for one in found]

    def _matching(
        self, kinds: tuple[str, ...], most: int | None = None, *, others: bool = False
    ) -> list[TextHit]:
        return texts.matching(self.database, self.wanted, kinds, most or self.most, others=others)

    def _name(self, address: Address) -> str:
        return str(self.vault.names.named(address))

    def _whys(self, hits: list[TextHit], address: Address) -> str:
        """The best two reasons; a former name is one where the present one does not fit."""
        has_name = any(hit.kind == AXIS for hit in hits)
        told = [hit for hit in hits if not (has_name and hit.kind == FORMER)]
        return "; ".join(self._why(hit, address) for hit in sorted(told, key=_worth)[:2])

    def _why(self, hit: TextHit, address: Address) -> str:
        kind = hit.kind.removesuffix(BY_RECORD)
        words = _KINDS.get(kind, kind.replace("_", " "))
        if hit.kind in (AXIS, TITLE):
            return words
        if hit.kind != kind:
            return f"{words} {hit.text}{BY_RECORD}"
        if hit.kind not in _LASTING and self._is_former(hit, address):
            return f"former {words} {hit.text}: its latest snapshot has another"
        return f"{words} {hit.text}"

    def _is_former(self, hit: TextHit, address: Address) -> bool:
        """Whether the latest snapshot of an axis says something else there."""
        latest = next(
            snapshots(
                self.database,
                "WHERE machine = ? AND axis = ? ORDER BY taken DESC, seq DESC LIMIT 1",
                *address.key,
            ),
            None,
        )
        if latest is None or hit.text.encode() in latest.nameplate_part:
            return False
        return latest.record.nameplate.get(hit.kind) != hit.text


_LASTING = ("work order", FORMER, FAULT_NOTE, PLAN)
"""Kinds that are no part of a nameplate: they were not replaced."""


def _worth(hit: TextHit) -> int:
    """Name and title tell most."""
    kinds = (AXIS, FORMER, TITLE, "serial")
    return kinds.index(hit.kind) if hit.kind in kinds else len(kinds)


def _best(ranked: Iterable[tuple[Fit, Hit]], most: int) -> list[tuple[Fit, Hit]]:
    """The best by what stands first in each pair."""
    return sorted(ranked, key=itemgetter(0))[:most]


def _meant(wanted: str, said: dict[str, str], names: list[Names]) -> list[str]:
    """Texts, or words of them, that are near to one that nothing has.

    `said` are texts as they are compared, and as they were written.
    """
    from rapidfuzz import fuzz, process

    known = dict(said)
    for each in names:
        known |= {plain(text): text for text in (each.family, *each.faults.values())}
        for one in each.parameters:
            known[one.plain_code], known[one.plain_name] = one.code, one.name
    if " " not in wanted[1:]:
        words = {f" {word}" for text in known for word in text.split() if len(word) > 3}
        known |= {word: word[1:] for word in words - known.keys()}
    near = process.extract(
        wanted, list(known), scorer=fuzz.ratio, score_cutoff=_LEAST_LIKENESS, limit=3
    )
    return list(dict.fromkeys(known[text] for text, _, _ in near))
