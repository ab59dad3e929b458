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
from vault.jobs.baseline.answers import ANSWERS, Answer, holds_until
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

    An axis whose drift cannot be told goes to `failed` with the reason; without that it is raised.
    Raises WrongUsage if nothing has that name.
    """
    moment = moment or now()
    if place is not None:
        names = vault.names
        is_axis = "/" in place
        place = str(vault.address(place)) if is_axis else names.machine_name(names.machine(place))
    with ANSWERS.one_at_a_time if place is None else nullcontext():
        if (known := ANSWERS.at_tip(vault, moment)) is not None:
            found = [one for one in known if place in (None, one.axis, one.axis.split("/")[0])]
            if found:
                return found
        return _drift(vault, place, moment, progress, failed)


def drift_of(vault: Vault, address: Address) -> AxisDrift:
    """Drift of one axis."""
    return drift(vault, str(vault.names.find(address)))[0]


def drift_if_any(vault: Vault, address: Address) -> AxisDrift | None:
    """Drift of one axis, None where nothing is approved that it could drift from."""
    if vault.golden(vault.follows(address) or address).approval is None:
        return None
    return drift_of(vault, address)


def wrongly_kept(vault: Vault, moment: datetime | None = None) -> list[Address]:
    """Axes of which the index keeps another assessment than there is."""
    moment = moment or now()
    kept, _ = vault.index.assessments()
    addresses = [address for address in vault.axes() if address in kept]
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
    addresses = _wanted(vault, place) if place is not None else []
    kept, whole = vault.index.assessments(addresses[0].machine if addresses else None)
    assessments: dict[Address, Assessment] = {}
    if place is None and whole == _rests_on(vault, len(kept)):  # nothing at all has changed
        still = {address: _kept(kept[address], None, address, moment) for address in kept}
        assessments = {address: found for address, found in still.items() if found is not None}
    is_all = place is None
    if not assessments or len(assessments) < len(kept):
        addresses = addresses or _wanted(vault, place)
        assessments = _assessed(vault, addresses, kept, moment, progress, failed, whole=is_all)
        is_all &= len(assessments) == len(addresses)
    if system() != _KEPT_UNITS:
        anew = _in_the_readers_units(vault, assessments, moment, failed)
        is_all &= len(anew) == len(assessments)
        assessments = anew
    before, names = ANSWERS.before(moment), vault.names
    by_axis: dict[Address, tuple[Assessment, AxisDrift]] = {}
    for address in sorted(assessments):
        known, assessment = before.get(address), assessments[address]
        with _telling(failed, address):
            called = calling(names, address, assessment)
            if known is None or known[0] is not assessment or known[1].calling != called:
                known = assessment, axis_drift(called, assessment, moment)
            by_axis[address] = known
    is_all &= len(by_axis) == len(assessments)
    found = [axis for _, axis in by_axis.values()]
    found.sort(
        key=lambda axis: (axis.retired, not axis.needs_attention, STATUSES.index(axis.status))
    )
    if is_all:
        until = holds_until(assessments.values(), found, moment)
        ANSWERS.keep(vault, Answer(tuple(found), by_axis, moment, until))
    return found


def _in_the_readers_units(
    vault: Vault, assessments: Mapping[Address, Assessment], moment: datetime, failed: Failed | None
) -> dict[Address, Assessment]:
    """The same assessments; what is said in units is assessed anew."""
    files = TipFiles(vault, list(assessments))
    anew: dict[Address, Assessment] = {}
    for address, found in assessments.items():
        with _telling(failed, address):
            anew[address] = assess(vault, files, address, moment) if found.has_words else found
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
    addresses: list[Address],
    kept: Mapping[Address, tuple[str, str]],
    moment: datetime,
    progress: Progress,
    failed: Failed | None,
    *,
    whole: bool,
) -> dict[Address, Assessment]:
    """Assessments of some axes: those that the index keeps where they hold, else new ones."""
    files, fresh = TipFiles(vault, addresses), {}
    assessments: dict[Address, Assessment] = {}
    old = {address: _kept(kept.get(address), files, address, moment) for address in addresses}
    files.read_ahead([address for address, found in old.items() if found is None])
    for number, (address, found) in enumerate(old.items(), 1):
        with _telling(failed, address):
            if found is None:
                with reading_in(_KEPT_UNITS):
                    found = assess(vault, files, address, moment)
                fingerprint = files.fingerprint(address, found.follows)
                fresh[address] = fingerprint, assessment_text(found)
            assessments[address] = found
        progress(number, len(addresses))
    if fresh or whole:
        gone = kept.keys() - assessments.keys() if whole else ()
        is_all = whole and len(assessments) == len(addresses)
        rests_on = _rests_on(vault, len(assessments)) if is_all else None
        vault.index.keep_assessments(fresh, gone=gone, all_at=rests_on)
    return assessments


def _rests_on(vault: Vault, axes: int) -> str:
    """What the assessments of all axes rest on."""
    return f"{__version__} {vault.tip} {axes}"


def _wanted(vault: Vault, place: str | None) -> list[Address]:
    if place is not None and "/" in place:
        return [vault.require_axis(vault.address(place))]
    found = vault.axes(None if place is None else vault.names.machine(place))
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
