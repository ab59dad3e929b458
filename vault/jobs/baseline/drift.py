"""Drift of axes: the latest snapshot against the golden baseline, at the scale of a site.

The index keeps the assessment of an axis for as long as every file it rests on is the same, so the
work grows with the axes that changed since. It is kept in the drive's own units: for a reader of
others, what drifted is assessed anew. A process that is asked again about the same tip answers from
memory (`answers`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, nullcontext, suppress
from datetime import datetime
from functools import partial

from vault import __version__
from vault.jobs.baseline.answers import ANSWERS, Answer, Known, holds_until
from vault.jobs.baseline.assess import Assessment, assess
from vault.jobs.baseline.assessment_text import assessment_text, read_assessment
from vault.jobs.baseline.axis_drift import STATUSES, AxisDrift, axis_drift, calling
from vault.jobs.baseline.tip_files import TipFiles
from vault.meaning.reader import reading_in, system
from vault.model.errors import VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault

_KEPT_UNITS = "drive"
Told = tuple[str, Assessment]
"""All that an assessment rests on, as ids in one text, and the assessment."""
Progress = Callable[[int, int], None]
Failed = Callable[[Address, VaultError], None]


def drift(
    vault: Vault,
    place: str | None = None,
    moment: datetime | None = None,
    progress: Progress = lambda done, total: None,
    failed: Failed | None = None,
) -> list[AxisDrift]:
    """Drift of everything, of a machine, or of one axis, those that need somebody first.

    An axis has a row of its own for the controller's set, where one was ever taken in. One whose
    drift cannot be told goes to `failed` with the reason; without that it is raised.
    Raises WrongUsage if nothing has that name.
    """
    moment = moment or now()
    if place is not None:
        names = vault.names
        is_axis = "/" in place
        place = str(vault.address(place)) if is_axis else names.machine_name(names.machine(place))
    with ANSWERS.one_at_a_time if place is None else nullcontext():
        if (known := ANSWERS.at_tip(vault, moment)) is not None:
            found = [one for one in known if _is_of(one, place)]
            if found:
                return found
        return _drift(vault, place, moment, progress, failed)


def _is_of(one: AxisDrift, place: str | None) -> bool:
    """Whether a row is of everything, of a machine, or of an axis: of that both its sides."""
    of_axis = one.axis.partition(":")[0]
    return place in (None, one.axis, of_axis, of_axis.partition("/")[0])


def drift_of(vault: Vault, address: Address) -> AxisDrift:
    """Drift of one set of an axis, the drive's or the controller's."""
    name = str(vault.names.find(address))
    return next(one for one in drift(vault, name) if one.axis == name)


def drift_if_any(vault: Vault, address: Address) -> AxisDrift | None:
    """Drift of one axis, None where nothing is approved that it could drift from."""
    if vault.golden(vault.follows(address) or address).approval is None:
        return None
    return drift_of(vault, address)


def wrongly_kept(vault: Vault, moment: datetime | None = None) -> list[Address]:
    """Axes of which the index keeps another assessment than there is."""
    moment = moment or now()
    kept, _ = vault.index.assessments()
    every = (*vault.axes(), *vault.controller_sets())
    addresses = [address for address in every if address in kept]
    files = TipFiles(vault, addresses)
    wrong = []
    for address in addresses:
        with suppress(VaultError):  # which `drift` tells
            if _kept(kept[address], files, address, moment) is not None:
                with reading_in(_KEPT_UNITS):
                    text = assessment_text(assess(vault, files, address, moment))
                if kept[address][1] != text:
                    wrong.append(address)
    return wrong


def _drift(
    vault: Vault,
    place: str | None,
    moment: datetime,
    progress: Progress,
    failed: Failed | None,
) -> list[AxisDrift]:
    is_all, before = place is None, ANSWERS.before(moment)
    kept, whole = vault.index.assessments() if is_all and not before else ({}, None)
    told: dict[Address, Told] = {}
    if whole == _rests_on(vault, len(kept)):  # nothing at all has changed
        told = _in_the_readers_units(vault, _still(kept, moment), moment, failed)
        is_all = len(told) == len(kept)
    if not told or not is_all:
        addresses = _wanted(vault, place)
        files = TipFiles(vault, addresses)
        told = _as_told(before, files, addresses)
        others = [address for address in addresses if address not in told]
        kept = kept or vault.index.assessments({address.machine for address in others})[0]
        found = _assessed(vault, files, others, kept, moment, progress, failed)
        is_all = place is None and len(told) + len(found) == len(addresses)
        if place is None:
            gone = (kept.keys() | before.keys()) - set(addresses)
            at = _rests_on(vault, len(addresses)) if is_all else None
            vault.index.keep_assessments({}, gone=gone, all_at=at)
        told |= _in_the_readers_units(vault, found, moment, failed)
        is_all &= len(told) == len(addresses)
    by_axis = _by_axis(vault, told, before, moment, failed)
    ordered = [known.drift for known in by_axis.values()]
    ordered.sort(
        key=lambda axis: (axis.retired, not axis.needs_attention, STATUSES.index(axis.status))
    )
    if is_all and len(by_axis) == len(told):
        until = holds_until((one.assessment for one in by_axis.values()), ordered, moment)
        ANSWERS.keep(vault, Answer(tuple(ordered), by_axis, system(), moment, until))
    return ordered


def _as_told(
    before: Mapping[Address, Known], files: TipFiles, addresses: list[Address]
) -> dict[Address, Told]:
    """Of the axes that stand as they did when this process was asked last, what it told then."""
    known = ((address, before[address]) for address in addresses if address in before)
    return {
        address: (one.rests_on, one.assessment)
        for address, one in known
        if one.rests_on == files.fingerprint(address, one.assessment.follows)
    }


def _still(kept: Mapping[Address, tuple[str, str]], moment: datetime) -> dict[Address, Told]:
    """Of the assessments that the index keeps, those that hold at a moment, at the same state."""
    found = {address: _kept(kept[address], None, address, moment) for address in kept}
    return {a: (kept[a][0], one) for a, one in found.items() if one is not None}


def _by_axis(
    vault: Vault,
    told: Mapping[Address, Told],
    before: Mapping[Address, Known],
    moment: datetime,
    failed: Failed | None,
) -> dict[Address, Known]:
    """The drift that assessments tell; what was told before of the same one is told again."""
    by_axis: dict[Address, Known] = {}
    names = vault.names
    for address in sorted(told):
        rests_on, assessment = told[address]
        known, called = before.get(address), calling(names, address, assessment)
        if known is None or known.assessment is not assessment or known.drift.calling != called:
            known = None
            with _telling(failed, address):
                known = Known(rests_on, assessment, axis_drift(called, assessment, moment))
        if known is not None:
            by_axis[address] = known
    return by_axis


def _in_the_readers_units(
    vault: Vault, told: Mapping[Address, Told], moment: datetime, failed: Failed | None
) -> dict[Address, Told]:
    """The same assessments; for a reader of other units than kept, what has words is made anew."""
    worded = [] if system() == _KEPT_UNITS else [a for a in told if told[a][1].has_words]
    anew = dict(told)
    if worded:
        files = TipFiles(vault, worded)
        for address in worded:
            rests_on, _ = anew.pop(address)
            with _telling(failed, address):
                anew[address] = rests_on, assess(vault, files, address, moment)
    return anew


@contextmanager
def _telling(failed: Failed | None, address: Address) -> Iterator[None]:
    """Give an error to whoever wants to go on without that axis."""
    if failed is None:
        yield
        return
    with told_apart(partial(failed, address), str(address)):
        yield


def _assessed(
    vault: Vault,
    files: TipFiles,
    addresses: list[Address],
    kept: Mapping[Address, tuple[str, str]],
    moment: datetime,
    progress: Progress,
    failed: Failed | None,
) -> dict[Address, Told]:
    """Assessments of some axes: those that the index keeps where they hold, else new ones."""
    told: dict[Address, Told] = {}
    fresh: dict[Address, tuple[str, str]] = {}
    old = {address: _kept(kept.get(address), files, address, moment) for address in addresses}
    files.read_ahead([address for address, found in old.items() if found is None])
    for number, (address, found) in enumerate(old.items(), 1):
        with _telling(failed, address):
            if found is None:
                with reading_in(_KEPT_UNITS):
                    found = assess(vault, files, address, moment)
                rests_on = files.fingerprint(address, found.follows)
                fresh[address] = rests_on, assessment_text(found)
            told[address] = files.fingerprint(address, found.follows), found
        progress(number, len(addresses))
    if fresh:
        vault.index.keep_assessments(fresh)
    return told


def _rests_on(vault: Vault, axes: int) -> str:
    """What the assessments of all axes rest on."""
    return f"{__version__} {vault.tip} {axes}"


def _wanted(vault: Vault, place: str | None) -> list[Address]:
    if place is not None and "/" in place:
        address = vault.require_axis(vault.address(place))
        other = address.controller
        return [address, other] if address != other and vault.index.count(other) else [address]
    machine = None if place is None else vault.names.machine(place)
    found = [*vault.axes(machine), *vault.controller_sets(machine)]
    if place is not None and not found:
        raise WrongUsage(f"there is no machine {place!r}", hint="axisvault axis list")
    return found


def _kept(
    kept: tuple[str, str] | None, files: TipFiles | None, address: Address, moment: datetime
) -> Assessment | None:
    """The assessment that the index keeps, if it still holds; without `files` all are the same."""
    if kept is None:
        return None
    fingerprint, text = kept
    found = read_assessment(text)
    if found is None or not found.holds_at(moment):
        return None
    if files is not None and fingerprint != files.fingerprint(address, found.follows):
        return None
    return found
