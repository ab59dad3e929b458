"""A trial as it was typed into the page: fields to the text that a file would have."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from vault.jobs.trials.add import add_trial
from vault.model.errors import Unreadable, WrongUsage
from vault.model.quantities import Measure, UnknownUnit
from vault.model.trial import SCHEMA, check_names
from vault.model.typed_text import text_or_none
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text

if TYPE_CHECKING:
    from vault.jobs.trials.form import TrialForm
    from vault.jobs.trials.kept import TrialResult
    from vault.store.vault import Vault

MOVES, HOMINGS, STOPS = 4, 5, 3
"""Rows of the page for what is measured several times over; a file takes more."""
_REACTION = ("from", "way", "time")


def typed_fields() -> dict[str, str]:
    """Every field of the page, with what it takes."""
    ticks = {name: "ok, failed, not_done or not_there." for name in check_names() if "." in name}
    remarks = {f"remark.{name}": f"What was seen at {name}." for name in check_names()}
    rows: dict[str, str] = {}
    for number in range(MOVES):
        rows[f"moves.{number}.commanded"] = "How far it was sent, with its sign."
        rows[f"moves.{number}.measured"] = "How far it went, with its sign."
    for number in range(HOMINGS):
        rows[f"home.{number}"] = "Where a mark stood after a homing."
    rows["home.allowed"] = "How far apart these may lie."
    for number in range(STOPS):
        rows[f"stops.{number}.from"] = "The speed that a stop began at."
        rows[f"stops.{number}.way"] = "How far it went until it stood."
        rows[f"stops.{number}.by"] = "What stopped it: quick_stop, fault or ramp."
    return {
        "taken_at": "When it was tried; else now.",
        "note": "What a reader should know.",
        **ticks,
        "brake.torque": "The torque that the motor pushed with.",
        **rows,
        "drop": "How far the load sank as the brake closed.",
        "emergency_stop.from": "The speed that an emergency stop began at.",
        "emergency_stop.way": "How far the axis went.",
        "emergency_stop.time": "How long it took.",
        **remarks,
    }


def add_typed(vault: Vault, form: TrialForm, typed: Mapping[str, str], by: str) -> TrialResult:
    """Keep a trial that was typed, by `by`; numbers without a unit have that of their field.

    Raises WrongUsage naming the field, and what `add_trial` does.
    """
    content = yaml_text.mapping_text(_content(form, typed))
    try:
        return add_trial(vault, form.address, content, "", by)
    except Unreadable as error:
        if not error.problems:
            raise WrongUsage("nothing is answered yet", hint="tick or measure something") from error
        said = "; ".join(f"{_as_on_the_page(one.text)}: {one.reason}" for one in error.problems)
        raise WrongUsage(said) from error


def _content(form: TrialForm, typed: Mapping[str, str]) -> dict[str, Any]:
    fields = _Fields(form, typed)
    content: dict[str, Any] = {"schema": SCHEMA}
    if (at := fields.text("taken_at")) is not None:
        content["taken_at"] = time_text(parse_time(at, begins=True))
    content["note"] = fields.text("note")
    for name in check_names():
        section, _, key = name.partition(".")
        if key and (tick := fields.text(name)) is not None:
            content.setdefault(section, {})[key] = tick
    if (torque := fields.measure("brake.torque", None)) is not None:
        content.setdefault("brake", {})["torque"] = torque
    content["moves"] = list(fields.moves())
    content["home"] = fields.home()
    content["stops"] = list(fields.stops())
    content["drop"] = fields.measure("drop", form.way_unit)
    units = {"from": form.speed_unit, "way": form.way_unit, "time": "ms"}
    for key in _REACTION:
        if (said := fields.measure(f"emergency_stop.{key}", units[key])) is not None:
            content.setdefault("emergency_stop", {})[key] = said
    content["remarks"] = {
        name: said for name in check_names() if (said := fields.text(f"remark.{name}")) is not None
    }
    return {key: said for key, said in content.items() if said not in (None, [], {})}


def _as_on_the_page(name: str) -> str:
    """A field as the page calls it: `stops.0.way` is there `Stop 1, way`."""
    section, _, rest = name.partition(".")
    number, _, key = rest.partition(".")
    if not number.isdecimal():
        return name.replace(".", " ")
    called = {"moves": "Move", "stops": "Stop", "home": "After homing"}.get(section, section)
    return f"{called} {int(number) + 1}{f', {key}' if key else ''}"


class _Fields:
    """What was typed, field by field."""

    def __init__(self, form: TrialForm, typed: Mapping[str, str]) -> None:
        self._form, self._typed = form, typed

    def text(self, name: str) -> str | None:
        return text_or_none(self._typed.get(name))

    def measure(self, name: str, unit: str | None) -> str | None:
        """A quantity as it is kept. Raises WrongUsage naming the field."""
        said = self.text(name)
        if said is None:
            return None
        try:
            read = Measure.typed(said)
        except (ValueError, UnknownUnit) as error:
            raise WrongUsage(f"{_as_on_the_page(name)}: {error}") from error
        return str(Measure(read.value, read.unit or unit))

    def moves(self) -> Iterator[dict[str, str]]:
        """Moves of which it was measured how far they went."""
        for number in range(MOVES):
            row = f"moves.{number}"
            measured = self.measure(f"{row}.measured", self._form.way_unit)
            commanded = self.measure(f"{row}.commanded", self._form.way_unit)
            if measured is not None:
                if commanded is None:
                    raise WrongUsage(f"Move {number + 1}: what was commanded?")
                yield {"commanded": commanded, "measured": measured}

    def home(self) -> dict[str, Any]:
        """Readings after homings, with what is allowed."""
        unit = self._form.way_unit
        readings = [
            said for n in range(HOMINGS) if (said := self.measure(f"home.{n}", unit)) is not None
        ]
        allowed = self.measure("home.allowed", unit)
        if not readings:
            return {}
        return {"readings": readings, **({"allowed": allowed} if allowed is not None else {})}

    def stops(self) -> Iterator[dict[str, str]]:
        """Stops of which the way was measured."""
        for number in range(STOPS):
            row = f"stops.{number}"
            way = self.measure(f"{row}.way", self._form.way_unit)
            speed = self.measure(f"{row}.from", self._form.speed_unit)
            if way is not None:
                if speed is None:
                    raise WrongUsage(f"Stop {number + 1}: from which speed?")
                yield {"from": speed, "way": way, "by": self.text(f"{row}.by") or "quick_stop"}
