"""Machine against machine: axes pair, and each pair is told in a line, the worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from itertools import combinations
from typing import TYPE_CHECKING
from urllib.parse import quote

from vault.jobs.state.compare import Compared, compare_by_one_dictionary
from vault.jobs.state.selectors import resolve
from vault.meaning.consequences import CONSEQUENCES, rank
from vault.meaning.judging import SENTENCE
from vault.meaning.own_of_each import Apart, own_plates, set_apart
from vault.model.cached_property import cached_property
from vault.model.errors import VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.model.names import Address, checked_name

if TYPE_CHECKING:
    from vault.store.vault import Vault

NOTHING = "nothing differs"
NOTHING_ELSE = "nothing differs but what must ({expected})"
_RENAMED = "Paired by a former name: {left} and {right} were both called {name}."
_SENTENCES = 2  # of the worst difference of a pair


@dataclass(frozen=True, slots=True)
class Pairing:
    """Axes of two machines that stand beside each other, and those that stand alone.

    `retired` are, of those alone, the ones whose partner is merely out of use, each with that.
    """

    pairs: tuple[tuple[Address, Address], ...]
    only_left: tuple[Address, ...]
    only_right: tuple[Address, ...]
    retired: Mapping[Address, Address] = field(default_factory=dict)


@dataclass(frozen=True)
class AxisPair:
    """Two axes and what differs between them, less what must differ.

    `remarks` say of which side the set is not whole, or may not be.
    """

    compared: Compared
    left: Address
    right: Address
    remarks: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """The name that both have, else both names."""
        both = dict.fromkeys((self.left.axis, self.right.axis))
        return " and ".join(both)

    @property
    def address(self) -> str:
        """The page of their difference."""
        left, right = (quote(str(side), safe="/") for side in (self.left, self.right))
        return f"/compare?left={left}&right={right}"

    @cached_property
    def apart(self) -> Apart:
        """What differs, apart from it what must."""
        comparison = self.compared.comparison
        plates = own_plates(self.compared.left.nameplate, self.compared.right.nameplate)
        return set_apart(comparison.news, comparison.surroundings, plates)

    @cached_property
    def differences(self) -> tuple[tuple[str, str], ...]:
        """Class and sentences of everything that need not differ, worst first.

        What a cause shifts is told by the cause.
        """
        found = []
        shifted = {cause.name: cause for cause in self.compared.comparison.causes if cause.shifts}
        for name, cause in shifted.items():
            classes = [c.consequence for c in self.apart.changes if c.cause == name]
            found.append((min(classes, key=rank, default="travel"), cause.explanation))
        found += [
            (change.consequence, change.explanation)
            for change in self.apart.changes
            if change.kind != "shifted" or change.cause not in shifted
        ]
        found += [(around.consequence, around.explanation) for around in self.apart.surroundings]
        return tuple(sorted(found, key=lambda one: rank(one[0])))

    @property
    def counts(self) -> dict[str, int]:
        """How many of each class there are, parameters and what is beside them."""
        found = dict.fromkeys(CONSEQUENCES, 0)
        for change in self.apart.changes:
            found[change.consequence] += 1
        for around in self.apart.surroundings:
            found[around.consequence] += 1
        return found

    @property
    def counts_text(self) -> str:
        """These in words."""
        told = ", ".join(f"{count} {name}" for name, count in self.counts.items() if count)
        return told or (NOTHING_ELSE.format(expected=self.expected) if self.expected else NOTHING)

    @property
    def worst(self) -> str | None:
        """The worst class, None where only what must differ does."""
        return self.differences[0][0] if self.differences else None

    @property
    def sentences(self) -> list[str]:
        """The first sentences of the worst difference."""
        return SENTENCE.split(self.differences[0][1])[:_SENTENCES] if self.differences else []

    @property
    def is_alike(self) -> bool:
        """Whether nothing differs but what must, and both sets are known to be whole."""
        return not self.differences and not self.remarks

    @property
    def own(self) -> list[str]:
        """What each axis has for itself, in sentences."""
        changes = [change.explanation for change in self.apart.own_changes]
        return changes + [around.explanation for around in self.apart.own_places]

    @property
    def expected(self) -> int:
        """How much differs that must."""
        return len(self.own)


@dataclass(frozen=True, slots=True)
class MachinesCompared:
    """Two machines: their pairs, worst first, and what has no partner, no snapshot or no answer."""

    left: str
    right: str
    pairs: tuple[AxisPair, ...]
    only_left: tuple[Address, ...]
    only_right: tuple[Address, ...]
    without_snapshot: tuple[Address, ...] = ()
    failures: Mapping[tuple[Address, Address], VaultError] = field(default_factory=dict)
    retired: Mapping[Address, Address] = field(default_factory=dict)

    @property
    def differs(self) -> bool:
        """Whether anything differs that need not, or an axis has no partner."""
        alone = self.only_left or self.only_right
        return bool(alone) or any(pair.differences for pair in self.pairs)

    @property
    def alone(self) -> list[tuple[str, list[Address]]]:
        """Each machine, and its axes of which the other has no partner, not even a retired one."""
        sides = (self.left, self.only_left), (self.right, self.only_right)
        return [(name, [one for one in only if one not in self.retired]) for name, only in sides]

    @property
    def told(self) -> tuple[AxisPair, ...]:
        """Pairs of which there is something to say."""
        return tuple(pair for pair in self.pairs if not pair.is_alike)

    @property
    def alike(self) -> tuple[AxisPair, ...]:
        """Pairs that differ in nothing but what must."""
        return tuple(pair for pair in self.pairs if pair.is_alike)

    @property
    def expected(self) -> int:
        """How much differs on all pairs that must."""
        return sum(pair.expected for pair in self.pairs)


def pairing_from(texts: Iterable[str]) -> dict[str, str]:
    """Axes that pair although their names differ, from `lift=hoist` and `lift=hoist, slide=mast`.

    Raises WrongUsage for what is no pair, and for an axis that is in two.
    """
    found: dict[str, str] = {}
    for text in (part for each in texts for part in each.split(",") if part.strip()):
        left, equals, right = (part.strip() for part in text.partition("="))
        if not equals:
            raise WrongUsage(f"{text.strip()!r} is no pair", hint="LEFT=RIGHT, as in lift=hoist")
        left, right = checked_name(left, "axis"), checked_name(right, "axis")
        if left in found or right in found.values():
            raise WrongUsage(f"{text.strip()!r} pairs an axis that has a partner already")
        found[left] = right
    return found


def is_machine(selector: str) -> bool:
    """Whether a selector names a machine and no axis of one."""
    return "/" not in selector and not selector.startswith("file:")


def pairs_of(
    vault: Vault, left: str, right: str, pairing: Mapping[str, str] | None = None
) -> Pairing:
    """Pair the axes of two machines by name, or as a mapping of left names to right ones says.

    One that was renamed on one machine only pairs by the name that it had.

    Raises WrongUsage for a machine or an axis of the mapping that is not there.
    """
    if left == right:
        raise WrongUsage(f"{left!r} is one machine; it takes two")
    lefts, rights = _axes(vault, left), _axes(vault, right)
    given = pairing or {}
    for name, other in given.items():
        vault.require_axis(Address(left, name))
        vault.require_axis(Address(right, other))
    partner = {name: name for name in lefts if name not in given and name not in given.values()}
    partner = {name: other for name, other in (partner | dict(given)).items() if other in rights}
    partner |= _by_former_names(vault, lefts, rights, partner)
    only_left = tuple(address for name, address in lefts.items() if name not in partner)
    only_right = tuple(a for name, a in rights.items() if name not in partner.values())
    back = {other: name for name, other in given.items()}
    return Pairing(
        tuple((lefts[name], rights[other]) for name, other in sorted(partner.items())),
        only_left,
        only_right,
        _retired(vault, only_left, right, given) | _retired(vault, only_right, left, back),
    )


def _by_former_names(
    vault: Vault,
    lefts: Mapping[str, Address],
    rights: Mapping[str, Address],
    partner: Mapping[str, str],
) -> dict[str, str]:
    """Of axes that no other pairs with those of which one had the other's name, or both had one.

    What fits several is left alone: a person says which it is.
    """
    alone = {name: _all_names(vault, a) for name, a in lefts.items() if name not in partner}
    rest = {n: _all_names(vault, a) for n, a in rights.items() if n not in partner.values()}
    fits = [(name, other) for name in alone for other in rest if alone[name] & rest[other]]
    ours, theirs = Counter(name for name, _ in fits), Counter(other for _, other in fits)
    return {name: other for name, other in fits if ours[name] == theirs[other] == 1}


def _all_names(vault: Vault, address: Address) -> set[str]:
    """What an axis is and was called, without its machine."""
    return {name.partition("/")[2] for name in vault.names.names(address)}


def _retired(
    vault: Vault, alone: Iterable[Address], machine: str, given: Mapping[str, str]
) -> dict[Address, Address]:
    """Of axes that stand alone those whose partner on a machine is retired, each with that."""
    found = {}
    for axis in alone:
        name = axis.shown[1]
        partner = vault.names.find(Address(machine, given.get(name, name)))
        if vault.names.retired(partner) is not None:
            found[axis] = partner
    return found


def compare_machines(
    vault: Vault, left: str, right: str, pairing: Mapping[str, str] | None = None
) -> MachinesCompared:
    """Compare the latest states of two machines, axis by axis.

    A pair that cannot be compared holds up no other one. Raises WrongUsage as `pairs_of` does.
    """
    paired = pairs_of(vault, left, right, pairing)
    pairs: list[AxisPair] = []
    without: list[Address] = []
    failures: dict[tuple[Address, Address], VaultError] = {}
    for both in paired.pairs:
        lacking = [address for address in both if vault.latest(address) is None]
        without += lacking
        with told_apart(partial(failures.__setitem__, both), f"{both[0]} and {both[1]}"):
            pairs += [] if lacking else [_pair(vault, *both)]
    pairs.sort(key=_place)
    return MachinesCompared(
        left,
        right,
        tuple(pairs),
        paired.only_left,
        paired.only_right,
        tuple(without),
        failures,
        paired.retired,
    )


def _pair(vault: Vault, left: Address, right: Address) -> AxisPair:
    sides = resolve(vault, str(left)), resolve(vault, str(right))
    remarks = [str(one) for side in sides for one in side.coverage.told(side.name)]
    names = left.shown[1], right.shown[1]
    if names[0] != names[1] and (shared := _all_names(vault, left) & _all_names(vault, right)):
        remarks.insert(0, _RENAMED.format(left=names[0], right=names[1], name=min(shared)))
    return AxisPair(compare_by_one_dictionary(*sides), left, right, tuple(remarks))


def _place(pair: AxisPair) -> tuple[bool, list[int], str]:
    """The worse class first, of one class where there is more; then by name."""
    return pair.is_alike, [-count for count in pair.counts.values()], pair.name


def _axes(vault: Vault, machine: str) -> dict[str, Address]:
    folder = vault.names.machine(checked_name(machine, "machine"))
    axes = in_use(vault)
    found = {a.shown[1]: a for a in axes if a.machine == folder}
    if not found:
        names = ", ".join(sorted({address.shown[0] for address in axes}))
        raise WrongUsage(f"there is no machine {machine!r}", hint=f"there are: {names}")
    return found


def likely_twins(vault: Vault, machine: str) -> list[str]:
    """The other machines, those first that have most axes of the same names."""
    by_machine = _names(vault)
    own = by_machine.pop(machine, set())
    return sorted(by_machine, key=lambda name: _unlikeness(own, by_machine[name]))


def closest_machines(vault: Vault) -> tuple[str, str] | None:
    """The two machines that have most axes of the same names, None where there are no two."""
    by_machine = _names(vault)
    both = combinations(sorted(by_machine), 2)
    return min(both, key=lambda m: _unlikeness(*(by_machine[name] for name in m)), default=None)


def _names(vault: Vault) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for address in in_use(vault):
        machine, axis = address.shown
        found.setdefault(machine, set()).add(axis)
    return found


def in_use(vault: Vault) -> list[Address]:
    """Every axis but those that are retired."""
    return [address for address in vault.axes() if vault.names.retired(address) is None]


def _unlikeness(one: set[str], other: set[str]) -> tuple[int, int]:
    return -len(one & other), len(one ^ other)
