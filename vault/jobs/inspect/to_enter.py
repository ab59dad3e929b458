"""What must be entered before the margins of an axis can be told: by what is missing, and what
will be asked for after that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from vault.behaviour.behave import margins_of
from vault.jobs.records.axis_template import examples
from vault.jobs.state.selectors import view_of
from vault.meaning.missing_words import ToEnter, to_enter
from vault.model.axis import AxisRecord

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.jobs.inspect.margins import AxisMargin, AxisMargins
    from vault.jobs.state.selectors import State

_MOST_LAYERS = 8
_NEAR = 0.8
"""How alike two names are, as difflib counts; our own choice."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Things that are missing together, and the margins that wait for them.

    Where nothing is missing and still nobody can tell, `reason` says why.
    """

    enter: tuple[ToEnter, ...]
    rows: tuple[AxisMargin, ...]
    reason: str = ""

    @property
    def in_record(self) -> bool:
        """Whether it is entered in the axis record."""
        return bool(self.enter) and self.enter[0].in_record


def wanted(found: AxisMargins) -> tuple[Wanted, ...]:
    """What is missing, with what waits for it: most first, parameters last."""
    waiting: dict[tuple[tuple[str, ...], str], list[AxisMargin]] = {}
    for row in found.unknown:
        reason = "" if row.margin.missing else row.margin.hedge
        waiting.setdefault((row.margin.missing, reason), []).append(row)
    groups = [
        Wanted(tuple(to_enter(name) for name in names), tuple(rows), reason)
        for (names, reason), rows in waiting.items()
    ]
    return tuple(sorted(groups, key=lambda group: (not group.in_record, -len(group.rows))))


def asked_later(found: AxisMargins) -> tuple[str, ...]:
    """Keys of the axis record that will be asked for once those are entered that are now.

    Found by supposing the values of the form, a screw that hangs, until nothing more is asked for.
    """
    view = view_of(found.state)
    record = _written(view.axis)
    names = dict.fromkeys(found.missing)
    asked: Iterable[str] = found.missing
    values = examples()
    for _ in range(_MOST_LAYERS):
        new = [name for name in asked if name in values and _enter(record, name, values[name])]
        if not new:
            break
        try:
            supposed = view.with_record(AxisRecord.model_validate(record))
        except ValidationError:
            break
        if "mechanics.kind" in new and "gearbox" not in record["mechanics"]:
            names["mechanics.gearbox"] = None  # taken as 1:1 without, and not asked for
        asked = _missing(margins_of(supposed.state))
        names.update(dict.fromkeys(asked))
    return tuple(name for name in names if name not in found.missing and to_enter(name).in_record)


def _written(record: AxisRecord | None) -> dict[str, Any]:
    if record is None:
        return {"schema": "axisvault/axis/1"}
    return record.model_dump(by_alias=True, exclude_unset=True, exclude_none=True)


def _enter(record: dict[str, Any], name: str, value: Any) -> bool:
    """Put a value under a key such as `mechanics.lead`; whether it was not there yet."""
    section, _, key = name.partition(".")
    place, key = (record.setdefault(section, {}), key) if key else (record, section)
    if key in place:
        return False
    place[key] = value
    return True


def _missing(margins: Mapping[str, Margin]) -> list[str]:
    return [*dict.fromkeys(name for margin in margins.values() for name in margin.missing)]


def supposing(found: AxisMargins) -> str:
    """What is taken for granted where it is said what will be asked for later, in words."""
    if "mechanics.kind" in found.missing:
        return ", for a screw that hangs"
    return ", if the load hangs" if "mechanics.orientation" in found.missing else ""


def dictionary_steps(found: AxisMargins) -> tuple[str, ...]:
    """What to do about parameters that no entry of the set is known to be; nothing without one."""
    names = [name for name in found.missing if not to_enter(name).in_record]
    if not names:
        return ()
    state = found.state
    begin = (
        f"axisvault family show {state.family_name} > FILE, put the role in"
        if state.family_name
        else "write the dictionary FILE"
    )
    return (
        "Which entry of the set a parameter is, its dictionary says by the role: "
        f"{', '.join(_role(state, name) for name in names)}.",
        f"Next: {begin}, axisvault family add FILE, then ingest the export anew",
    )


def _role(state: State, role: str) -> str:
    """A role, with the entry without one whose name is near to its title."""
    title = to_enter(role).words.partition(" (")[0]
    free = {p.name.casefold(): p for p in state.parameters.values() if p.role is None}
    near = get_close_matches(title.casefold(), free, n=1, cutoff=_NEAR)
    return f"{role} ({free[near[0]].code} {free[near[0]].name} may be it)" if near else role
