"""What drift is news: one alert for every change of state of an axis, and not for every look.

An alert is raised where drift is new or worse than what was last told about the axis, or an export
has become overdue. What gets better is noted without one.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.drift import drift
from vault.jobs.state.document_parts import exact_text
from vault.meaning.consequences import rank
from vault.meaning.drift import is_worse
from vault.meaning.floors import counted
from vault.model.alerts import Alert
from vault.model.errors import Unavailable, VaultError
from vault.model.internal_errors import internal_error, told_apart
from vault.model.quantities import plain
from vault.model.wording import plural
from vault.model.written_form import day_text, minute_text
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.yaml_text import may_mention
from vault.store.local.lock import WAIT_SECONDS, holding
from vault.store.local.outbox import Outbox

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from vault.meaning.drift import Deviation
    from vault.meaning.floors import UnkeptFloor
    from vault.model.names import Address
    from vault.model.site import SiteRecord
    from vault.store.vault import Vault

_MOST = 10
_UNTOLD = "untold"
_SMALL = 0.01
"""A ratio that fell by no more than this share since it was told is no news; our own choice."""
_NOTHING: dict[str, Any] = {"changes": {}, "overdue": False, "number": 0}


def alert(vault: Vault, addresses: Collection[Address] | None = None) -> list[str]:
    """Raise alerts and have them sent, by a process that nobody waits for.

    For what has recorded something already: returns what went wrong as remarks, instead of errors.
    """
    try:
        if raise_alerts(vault, addresses):
            # slow to load, and seldom needed
            from vault.jobs.alerts.confirm import unconfirmed_channels
            from vault.jobs.alerts.deliver import start_delivery

            start_delivery(vault.repository.path)
            return [
                f"messages wait for channel {name}, which nobody on this computer confirmed: "
                f"axisvault alerts confirm {name}"
                for name in unconfirmed_channels(vault)
            ]
    except Exception as error:
        told = error if isinstance(error, VaultError) else internal_error(error, "alerts")
        return [f"an alert about drift may be missing: {told}"]
    return []


def raise_alerts(
    vault: Vault, addresses: Collection[Address] | None = None, moment: datetime | None = None
) -> list[Alert]:
    """Queue an alert for each axis whose drift is news, of some axes or of all.

    Nothing is looked at where the site has no channel. An axis whose drift cannot be told is left
    to `drift`, which says so. Raises Unreadable for a broken vault.yaml, Unavailable where the
    outbox cannot be written.
    """
    if addresses is not None and not addresses:
        return []
    # Else it need not be parsed.
    if not may_mention(vault.read_required(layout.VAULT, vault.tip), b"alerts"):
        return []
    with holding(  # so that none tells of a state that is past already
        vault.state / "alerts.raising", WAIT_SECONDS, "raising alerts",
        failure="alerts cannot be raised", hint="later: axisvault drift --alert",
    ):  # fmt: skip
        vault.refresh()  # whoever went before us may have told of a later state
        site, moment = vault.site_record, moment or now()
        if not site.alerts:
            return []
        raised: list[Alert] = []
        with Outbox(vault.state) as outbox:
            problems: list[VaultError] = []
            for axis in _looked_at(vault, addresses, moment):
                with told_apart(problems.append, f"alert about {axis.axis}"):
                    raised += _announce(outbox, axis, site, moment)
        if problems:  # the others are told of all the same
            raise problems[0]
    return raised


def unsent(state: Path) -> int:
    """How many messages were tried in vain and wait still, as far as that can be read."""
    if not Outbox.exists(state):
        return 0
    try:
        with Outbox(state) as outbox:
            return sum(m.sent is None and m.attempts > 0 for m in outbox.waiting())
    except Unavailable:  # of no concern to who only reads; `alerts list` says it
        return 0


def _looked_at(
    vault: Vault, addresses: Collection[Address] | None, moment: datetime
) -> list[AxisDrift]:
    places = None if addresses is None else {address.place for address in addresses}
    place = next(iter(places)) if places is not None and len(places) == 1 else None
    axes = drift(vault, place, moment, failed=lambda address, error: None)
    return [axis for axis in axes if not axis.retired and (places is None or axis.place in places)]


def _announce(outbox: Outbox, axis: AxisDrift, site: SiteRecord, moment: datetime) -> list[Alert]:
    before = _Announced.read(outbox.last_announced(axis.place), axis.axis)
    state = before.next(axis)
    if state == before:
        return []
    news = _News(
        [deviation for deviation in axis.changes if before.lacks(deviation)],
        [one for one in axis.floors if before.lacks_floor(one)],
    )
    is_overdue = state.overdue and not before.overdue
    alerts = []
    if news or is_overdue:
        alerts.append(_alert(axis, news, state, site.axis_link(axis.axis), moment))
    outbox.announce(axis.place, state.text, alerts, site.alerts)
    return alerts


@dataclass(frozen=True, slots=True)
class _News:
    """What nobody was told of yet: what drifted, and floors that are not shown to be kept."""

    changes: list[Deviation]
    floors: list[UnkeptFloor]

    def __bool__(self) -> bool:
        return bool(self.changes or self.floors)

    @property
    def status(self) -> str:
        """The status of an alert about it."""
        return "drifted" if self.changes else "floor" if self.floors else "overdue"

    @property
    def worst(self) -> str | None:
        """The worst consequence of it."""
        found = [deviation.change.consequence for deviation in self.changes]
        found += [one.consequence for one in self.floors]
        return min(found, key=rank, default=None)


@dataclass(frozen=True, slots=True)
class _Announced:
    """What was announced about an axis: what drifted, by code, and whether an export was overdue.

    `floors` are those that were not kept, each with the ratio that was told.

    `number` counts the states there were, so that an axis that drifts, is in line and drifts again
    is told of again.
    """

    changes: dict[str, tuple[str, str]]
    overdue: bool
    number: int
    floors: dict[str, str]

    @classmethod
    def read(cls, text: str | None, axis: str) -> _Announced:
        try:
            kept = json.loads(text) if text is not None else _NOTHING
            changes = {code: (str(of[0]), str(of[1])) for code, of in kept["changes"].items()}
            floors = {str(name): str(ratio) for name, ratio in kept.get("floors", {}).items()}
            return cls(changes, bool(kept["overdue"]), int(kept["number"]), floors)
        except (ValueError, LookupError, TypeError, AttributeError) as error:
            reason = f"the outbox of alerts holds something else about {axis}: {error!r}"
            raise Unavailable(reason, hint="a newer axisvault may have written it") from error

    def next(self, axis: AxisDrift) -> _Announced:
        """The state of a later look; the same one where nothing is different."""
        changes = {
            deviation.change.shown.code: (deviation.change.consequence, _content(deviation))
            for deviation in axis.changes
        }
        floors = {one.name: _told_ratio(one) for one in axis.floors}
        if (changes, axis.overdue, floors) == (self.changes, self.overdue, self.floors):
            return self
        return _Announced(changes, axis.overdue, self.number + 1, floors)

    def lacks_floor(self, one: UnkeptFloor) -> bool:
        """Whether a floor that is not kept is news: it was not announced, or is kept less now."""
        announced = self.floors.get(one.name)
        if announced is None:
            return True
        return one.ratio is not None and (
            announced == _UNTOLD or one.ratio < float(announced) * (1 - _SMALL)
        )

    def lacks(self, deviation: Deviation) -> bool:
        """Whether a change is news: it was not announced, drifted elsewhere, or got worse."""
        announced = self.changes.get(deviation.change.shown.code)
        if announced is None:
            return True
        return announced[1] != _content(deviation) or is_worse(
            deviation.change.consequence, announced[0]
        )

    @property
    def text(self) -> str:
        announced: dict[str, Any] = {
            "changes": self.changes, "overdue": self.overdue, "number": self.number,
        }  # fmt: skip
        if self.floors:
            announced["floors"] = self.floors
        return json.dumps(announced, sort_keys=True)


def _told_ratio(one: UnkeptFloor) -> str:
    return _UNTOLD if one.ratio is None else f"{one.ratio:.9g}"


def _content(deviation: Deviation) -> str:
    """What a parameter drifted to, in number and in size, and the waiver that ended for it."""
    change, waiver = deviation.change, deviation.waiver
    side, size = change.right, change.right_physical
    return " ".join(
        (
            f"{exact_text(side.value)} {side.unit or ''}" if side else "gone",
            f"= {plain(size.decimal())} {size.unit}" if side and size else "",
            f"waived until {waiver.last_day}" if waiver else "",
        )
    ).strip()


def _alert(
    axis: AxisDrift, news: _News, state: _Announced, link: str | None, moment: datetime
) -> Alert:
    status = news.status
    key = json.dumps([axis.axis, axis.golden, axis.latest, status, state.text])
    return Alert(
        id=sha256(key.encode()).hexdigest()[:32],
        axis=axis.axis,
        status=status,
        time=moment,
        worst=news.worst,
        subject=_subject(axis, news),
        sentences=tuple(_sentences(axis, news)),
        links=(link,) if link is not None else (),
        snapshot=axis.latest,
        golden=axis.golden,
    )


def _subject(axis: AxisDrift, news: _News) -> str:
    if not news:
        return f"{axis.axis}: an export is overdue"
    if not news.changes:
        return f"{axis.axis}: {counted(axis.floors)}, worst {news.worst}"
    count = plural(axis.count, "parameter")
    return f"{axis.axis}: {count} drifted from the golden baseline, worst {axis.worst}"


def _sentences(axis: AxisDrift, news: _News) -> Iterator[str]:
    """Causes and what is new first, then how much there is beside it."""
    if news.changes:
        yield from axis.causes
    for deviation in news.changes[:_MOST]:
        change, waiver = deviation.change, deviation.waiver
        since = f" Its waiver ended on {waiver.last_day}." if waiver else ""
        yield f"[{change.consequence}] {change.explanation}{since}"
    if len(news.changes) > _MOST:
        yield f"{plural(len(news.changes) - _MOST, 'more parameter')} drifted as well."
    for one in news.floors:
        yield f"[{one.consequence}] {one.sentence}"
    if earlier := axis.count - len(news.changes):
        yield f"Beside that, {plural(earlier, 'parameter')} drifted as before."
    if earlier := len(axis.floors) - len(news.floors):
        yield f"Beside that, {plural(earlier, 'floor')} not kept as before."
    if axis.overdue:
        yield (
            f"An export was due on {day_text(axis.due)}."
            if axis.due is not None
            else "The axis was never exported."
        )
    if axis.since is not None:
        yield f"It has drifted since {minute_text(axis.since)}."
    for sentence in axis.hardware:
        yield f"Other hardware: {sentence}"
