"""Drift of axes: the latest snapshot against the golden baseline, at the scale of a site.

What a look at an axis has found is kept in the index for as long as every file it rests on is the
same, so the work grows with the axes that changed since the last look. Equal blobs are not loaded.
It is kept in the drive's own units: to a reader of others, what drifted is told anew. A process
that is asked again about the same tip answers from memory, until a waiver ends or an export is due.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import RLock
from typing import NamedTuple

from vault import __version__
from vault.jobs.baseline.drift_of_axis import Look, Sight, look
from vault.jobs.state.documents import Json
from vault.meaning.reader import reading_in, system
from vault.model.errors import VaultError, WrongUsage
from vault.model.names import Address
from vault.store.clock import moment_of, now, parse_time
from vault.store.vault import Vault

STATUSES = ("drifted", "overdue", "no_golden", "in_line")
_UNITS = "drive"  # those that looks are kept in
Progress = Callable[[int, int], None]
Failed = Callable[[Address, VaultError], None]


@dataclass(frozen=True, slots=True)
class AxisDrift:
    """How an axis stands to its golden baseline.

    `changes` and `waived` are changes as a comparison has them in JSON, worst first; with a
    `waiver` where one covers, or covered, them. `causes` and `hardware` are sentences: why values
    mean something else, and what names other hardware than in the baseline.
    """

    axis: str
    status: str
    changes: tuple[Json, ...] = ()
    waived: tuple[Json, ...] = ()
    causes: tuple[str, ...] = ()
    hardware: tuple[str, ...] = ()
    since: datetime | None = None
    golden: str | None = None
    latest: str | None = None
    taken_at: datetime | None = None
    due: datetime | None = None
    overdue: bool = False
    follows: str | None = None

    @property
    def count(self) -> int:
        """How many parameters drifted."""
        return len(self.changes)

    @property
    def worst(self) -> str | None:
        """The worst consequence of what drifted."""
        return self.changes[0]["consequence"] if self.changes else None

    @property
    def needs_attention(self) -> bool:
        """Whether somebody has to do something."""
        return self.status in ("drifted", "overdue")


Said = dict[Address, tuple[Look, AxisDrift]]
"""Looks, and what they say."""


def drift(
    vault: Vault,
    place: str | None = None,
    moment: datetime | None = None,
    progress: Progress = lambda done, total: None,
    failed: Failed | None = None,
) -> list[AxisDrift]:
    """Drift of everything, of a machine, or of one axis, those that need somebody first.

    An axis whose drift cannot be told goes to `failed` with the reason; without that it is raised.
    Raises WrongUsage if nothing has that name.
    """
    moment = moment or now()
    with _ANSWERS.one_at_a_time if place is None else nullcontext():
        if (known := _ANSWERS.about(vault, moment)) is not None:
            found = [one for one in known if place in (None, one.axis, one.axis.split("/")[0])]
            if found:
                return found
        return _drift(vault, place, moment, progress, failed)


def _drift(
    vault: Vault,
    place: str | None,
    moment: datetime,
    progress: Progress,
    failed: Failed | None,
) -> list[AxisDrift]:
    kept, whole = vault.index.assessments()
    looks: dict[Address, Look] = {}
    if place is None and whole == _mark(vault, len(kept)):  # nothing at all has changed
        old = {address: _kept(kept[address], None, address, moment) for address in kept}
        looks = {address: found for address, found in old.items() if found is not None}
    is_all = place is None
    if not looks or len(looks) < len(kept):
        addresses = _wanted(vault, place)
        looks = _looks(vault, addresses, kept, moment, progress, failed, whole=is_all)
        is_all &= len(looks) == len(addresses)
    if system() != _UNITS:
        anew = _read_anew(vault, looks, moment, failed)
        is_all &= len(anew) == len(looks)
        looks = anew
    before = _ANSWERS.said(moment)
    said: Said = {}
    for address in sorted(looks):
        known, found = before.get(address), looks[address]
        if known is None or known[0] is not found:
            known = found, _told(address, found, moment)
        said[address] = known
    told = [axis for _, axis in said.values()]
    told.sort(key=lambda axis: STATUSES.index(axis.status))
    if is_all:
        until = _holds_until(looks.values(), told, moment)
        _ANSWERS.keep(vault, _Answer(tuple(told), said, moment, until))
    return told


class _Answers:
    """Drift of everything at some tips: all that it rests on is at the tip, but for the moment."""

    _MOST = 4

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[str, str], _Answer] = OrderedDict()
        self._newest: _Answer | None = None
        self.one_at_a_time = RLock()  # to look at everything: who asked meanwhile has the answer

    def about(self, vault: Vault, moment: datetime) -> list[AxisDrift] | None:
        """What was found at this tip in the reader's units, if it holds at a moment."""
        kept = self._kept.get((vault.tip, system()))
        return list(kept.found) if kept is not None and kept.holds_at(moment) else None

    def said(self, moment: datetime) -> Said:
        """What the last answer was made of, if it holds at a moment: most of it is so at the next
        tip too."""
        newest = self._newest
        return newest.said if newest is not None and newest.holds_at(moment) else {}

    def keep(self, vault: Vault, answer: _Answer) -> None:
        """Keep what was found."""
        self._newest = answer
        self._kept.pop((vault.tip, system()), None)
        self._kept[vault.tip, system()] = answer
        if len(self._kept) > self._MOST:
            self._kept.popitem(last=False)


class _Answer(NamedTuple):
    """What was found, and the looks that say so; it holds from a moment to another, or for ever."""

    found: tuple[AxisDrift, ...]
    said: Said
    since: datetime
    until: datetime | None

    def holds_at(self, moment: datetime) -> bool:
        return self.since <= moment and (self.until is None or moment <= self.until)


_ANSWERS = _Answers()


def _holds_until(
    looks: Iterable[Look], found: Iterable[AxisDrift], moment: datetime
) -> datetime | None:
    """The next moment after which a waiver has ended or an export is due."""
    ends = [axis.due for axis in found if axis.due is not None]
    for kept in looks:
        waivers = (setting["waiver"] for setting in kept["settings"])
        texts = (kept["holds_until"], *(waiver["until"] for waiver in waivers if waiver))
        ends += [parse_time(text) for text in texts if text]
    return min((end for end in ends if end >= moment), default=None)


def _read_anew(
    vault: Vault, looks: Mapping[Address, Look], moment: datetime, failed: Failed | None
) -> dict[Address, Look]:
    """The same looks, in the units of the reader."""
    seen = Sight(vault, list(looks))
    anew: dict[Address, Look] = {}
    for address, found in looks.items():
        with _telling(failed, address):
            has_words = any(map(found.get, ("settings", "causes", "hardware")))
            anew[address] = look(vault, seen, address, moment) if has_words else found
    return anew


@contextmanager
def _telling(failed: Failed | None, address: Address) -> Iterator[None]:
    """Give an error to whoever wants to go on without that axis."""
    try:
        yield
    except VaultError as error:
        if failed is None:
            raise
        failed(address, error)


def _looks(
    vault: Vault,
    addresses: list[Address],
    kept: Mapping[Address, tuple[str, Look]],
    moment: datetime,
    progress: Progress,
    failed: Failed | None,
    *,
    whole: bool,
) -> dict[Address, Look]:
    """Look at axes that are not as they were when they were looked at last."""
    seen, fresh = Sight(vault, addresses), {}
    looks: dict[Address, Look] = {}
    old = {address: _kept(kept.get(address), seen, address, moment) for address in addresses}
    seen.read_ahead([address for address, found in old.items() if found is None])
    for number, (address, found) in enumerate(old.items(), 1):
        with _telling(failed, address):
            if found is None:
                with reading_in(_UNITS):
                    found = look(vault, seen, address, moment)
                fresh[address] = (seen.of(address, found["follows"]), found)
            looks[address] = found
        progress(number, len(addresses))
    if fresh or whole:
        gone = kept.keys() - looks.keys() if whole else ()
        is_all = whole and len(looks) == len(addresses)
        vault.index.keep_assessments(
            fresh, gone=gone, all_at=_mark(vault, len(looks)) if is_all else None
        )
    return looks


def _mark(vault: Vault, axes: int) -> str:
    """What a look at all axes rests on."""
    return f"{__version__} {vault.tip} {axes}"


def drift_of(vault: Vault, address: Address) -> AxisDrift:
    """Drift of one axis."""
    return drift(vault, str(address))[0]


def drift_if_any(vault: Vault, address: Address) -> AxisDrift | None:
    """Drift of one axis, None where nothing is approved that it could drift from."""
    if vault.golden(vault.follows(address) or address).approval is None:
        return None
    return drift_of(vault, address)


def kept_wrongly(vault: Vault, moment: datetime | None = None) -> list[Address]:
    """Axes of which the index keeps something else than a look finds."""
    moment = moment or now()
    kept, _ = vault.index.assessments()
    addresses = [address for address in vault.axes() if address in kept]
    seen = Sight(vault, addresses)
    wrong = []
    for address in addresses:
        found = _kept(kept[address], seen, address, moment)
        with suppress(VaultError):  # which `drift` tells
            if found is not None:
                with reading_in(_UNITS):
                    fresh = json.dumps(look(vault, seen, address, moment))
                if found != json.loads(fresh):
                    wrong.append(address)
    return wrong


def _wanted(vault: Vault, place: str | None) -> list[Address]:
    if place is not None and "/" in place:
        return [vault.needed_axis(Address.parse(place))]
    found = [a for a in vault.axes() if place in (None, a.machine)]
    if place is not None and not found:
        raise WrongUsage(f"there is no machine {place!r}", hint="axisvault axis list")
    return found


def _kept(
    kept: tuple[str, Look] | None, seen: Sight | None, address: Address, moment: datetime
) -> Look | None:
    """What was found last time, if it still holds; without `seen` everything looks the same."""
    if kept is None:
        return None
    found = kept[1]
    if seen is not None and kept[0] != seen.of(address, found["follows"]):
        return None
    until = found["holds_until"]
    return found if until is None or moment <= parse_time(until) else None


def _told(address: Address, look: Look, moment: datetime) -> AxisDrift:
    """What a look says at a moment: waivers end, and exports become due."""
    changes: list[Json] = []
    waived: list[Json] = []
    for setting in look["settings"]:
        waiver = setting["waiver"]
        holds = waiver is not None and moment <= parse_time(waiver["until"])
        (waived if holds else changes).append(setting)
    commit, taken = look["latest"], look["taken"]
    taken_at = None if taken is None else moment_of(taken)
    due, overdue = None, False
    if look["every"] is not None:
        due = None if taken_at is None else taken_at + timedelta(seconds=look["every"])
        overdue = due is None or moment > due
    status = "in_line" if look["golden"] and commit else "no_golden"
    status = "drifted" if changes else "overdue" if overdue else status
    return AxisDrift(
        axis=str(address),
        status=status,
        changes=tuple(changes),
        waived=tuple(waived),
        causes=tuple(look["causes"]),
        hardware=tuple(look["hardware"]),
        since=parse_time(look["since"]) if look["since"] else None,
        golden=look["golden"],
        latest=commit,
        taken_at=taken_at,
        due=due,
        overdue=overdue,
        follows=look["follows"],
    )
