"""A trial: what a commissioning person tried on an axis, as a record.

Pydantic schema of `trial.yaml`, which people write by hand, at the machine. Quantities are text
with a unit (`99.97 mm`). Sections stand in the safe order. What is not answered stays open.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal, get_args

from pydantic import (
    AfterValidator,
    Field,
    StrictStr,
    StringConstraints,
    model_validator,
)

from vault.model.axis_quantities import Effort, MotorSpeed, Place, Time, Travel, Way
from vault.model.bounds import OutOfBounds, Unstated, short_enough
from vault.model.errors import WrongUsage
from vault.model.quantities import Measure, Physical
from vault.model.snapshots import checked_person
from vault.model.strict import Strict

SCHEMA = "axisvault/trial/1"
Result = Literal["ok", "failed", "not_done", "not_there"]
"""What came out of a check; `not_there`: the axis has no such thing."""
RESULTS: tuple[Result, ...] = get_args(Result)
StopBy = Literal["quick_stop", "fault", "ramp"]
_MOST = 100
_MOST_TEXT = 2000  # characters; our own choice


def _text(text: str) -> str:
    return short_enough(text, _MOST_TEXT)


def _person(text: str) -> str:
    try:
        return checked_person(text)
    except WrongUsage as error:
        raise ValueError(str(error)) from error


Words = Annotated[StrictStr, StringConstraints(min_length=1), AfterValidator(_text)]
Person = Annotated[StrictStr, AfterValidator(_person)]


class Inputs(Strict):
    """Inputs, tried by hand while nothing moves."""

    emergency_stop: Result | None = Field(None, description="pressed, it takes the drive's power")
    over_travel_low: Result | None = Field(
        None, description="the switch at the lower end, worked by hand, shows in the drive"
    )
    over_travel_high: Result | None = Field(None, description="that at the upper end likewise")
    home: Result | None = Field(None, description="the homing switch likewise")


class Direction(Strict):
    """Which way the axis goes, at the slowest jog."""

    positive: Result | None = Field(None, description="a positive jog moves it the positive way")
    negative: Result | None = Field(None, description="a negative jog moves it the negative way")


class Jog(Strict):
    """The slow jog, before anything moves by itself."""

    stops: Result | None = Field(None, description="it stops when the button is let go")
    over_travel_low: Result | None = Field(
        None, description="jogged onto the switch at the lower end it stops by itself"
    )
    over_travel_high: Result | None = Field(None, description="that at the upper end likewise")


class BrakeTrial(Strict):
    """The holding brake, with nobody beneath the load."""

    holds: Result | None = Field(
        None, description="closed, it holds against the motor, which pushes the load's way"
    )
    torque: Effort | None = Field(None, description="the torque that the motor pushed with")


class TriedMove(Strict):
    """A move: what was commanded, and what was measured at the machine, both with their sign."""

    commanded: Place | None = Field(None, description="how far, with its sign; else `to` - `from`")
    measured: Place | None = Field(
        description="how far it went at the machine, with its sign; left empty, it was not tried"
    )
    start: Place | None = Field(None, alias="from", description="the position it began at")
    to: Place | None = Field(None, description="the position it was sent to")
    accuracy: Travel | None = Field(
        None, description="how exactly it was measured; else a hundredth of the move"
    )

    @model_validator(mode="after")
    def _is_one_move(self) -> TriedMove:
        if len({size.kind for m in self._measures() if (size := m.physical())}) > 1:
            raise OutOfBounds("a move is in lengths or in angles, not in both", "measured")
        told, between = size_of(self.commanded), self._between()
        if told is None and between is None:
            raise Unstated("needs what was commanded, or both from and to", "commanded")
        if told is not None and between is not None and told.number() != between.number():
            raise OutOfBounds(f"'{self.commanded}' is not the way between from and to", "commanded")
        if self.size.ratio == 0:
            raise OutOfBounds("a commanded move of nothing tells nothing", "commanded")
        return self

    def _measures(self) -> Iterator[Measure]:
        for one in (self.commanded, self.measured, self.start, self.to, self.accuracy):
            if one is not None:
                yield one

    def _between(self) -> Physical | None:
        start, end = size_of(self.start), size_of(self.to)
        if start is None or end is None or start.kind != end.kind:
            return None
        return end - start

    @property
    def size(self) -> Physical:
        """What was commanded, in SI."""
        found = size_of(self.commanded) or self._between()
        assert found is not None, "a move without either is refused"
        return found


class Homings(Strict):
    """Homing, several times over."""

    readings: Annotated[tuple[Place, ...], Field(max_length=_MOST)] = Field(
        (), description="where a mark on the machine stood after each homing, as a list"
    )
    allowed: Travel | None = Field(None, description="how far apart these may lie")

    @model_validator(mode="after")
    def _are_of_one_kind(self) -> Homings:
        sizes = [m.physical() for m in (*self.readings, self.allowed) if m is not None]
        if len({size.kind for size in sizes if size is not None}) > 1:
            raise OutOfBounds("readings are lengths or angles, not both", "readings")
        return self


class TriedStop(Strict):
    """A stop from a speed that was held."""

    speed: MotorSpeed = Field(alias="from", description="the speed of the axis that it began at")
    way: Way | None = Field(
        description="how far the axis went until it stood; left empty, it was not tried"
    )
    by: StopBy = Field("quick_stop", description="what stopped it")


class Reaction(Strict):
    """What an emergency stop does to the axis that moves. No acceptance of a safety function."""

    reacts: Result | None = Field(None, description="pressed at slow speed, the axis stops")
    speed: MotorSpeed | None = Field(None, alias="from", description="the speed it began at")
    way: Way | None = Field(None, description="how far the axis went")
    time: Time | None = Field(None, description="how long it took")


class TrialRecord(Strict):
    """What trial.yaml holds; what stands last is written by the program."""

    schema_: Literal["axisvault/trial/1"] = Field(alias="schema", description="what this file is")
    taken_at: Words | None = Field(None, description="when it was tried; else when it is added")
    by: Person | None = Field(None, description="who tried it; else who adds it")
    note: Words | None = Field(None, description="what a reader should know")
    inputs: Inputs = Field(Inputs(), description="inputs, by hand while nothing moves")
    direction: Direction = Field(Direction(), description="which way it goes, at the slowest jog")
    jog: Jog = Field(Jog(), description="the slow jog")
    brake: BrakeTrial = Field(BrakeTrial(), description="the holding brake, nobody beneath")
    moves: Annotated[tuple[TriedMove, ...], Field(max_length=_MOST)] = Field(
        (), description="measured moves, as a list"
    )
    home: Homings = Field(Homings(), description="homing, several times over")
    stops: Annotated[tuple[TriedStop, ...], Field(max_length=_MOST)] = Field(
        (), description="measured stops, as a list"
    )
    drop: Way | None = Field(None, description="how far the load sank as the brake closed")
    emergency_stop: Reaction = Field(Reaction(), description="the emergency stop, in motion")
    remarks: dict[StrictStr, Words] = Field(
        default_factory=dict, description="what was seen, by check: `brake.holds: sank 2 mm`"
    )
    added_at: StrictStr | None = Field(None, description="when it was added; the program writes it")
    snapshot: StrictStr | None = Field(
        None, description="the snapshot that it belongs to; the program writes it"
    )
    vault_at: StrictStr | None = Field(
        None, description="the vault's state when it was added; the program writes it"
    )

    @model_validator(mode="before")
    @classmethod
    def _empty_is_open(cls, given: Any) -> Any:
        """A section of which nothing is filled in says nothing, as if it were not there."""
        if not isinstance(given, dict):
            return given
        return {key: said for key, said in given.items() if said is not None or key == "schema"}

    @model_validator(mode="after")
    def _remarks_are_on_checks(self) -> TrialRecord:
        known = check_names()
        for name in self.remarks:
            if name not in known:
                raise OutOfBounds(f"there is no check {name!r}: {', '.join(known)}", "remarks")
        return self

    def result(self, check: str) -> Result | None:
        """What is ticked of a check like `inputs.home`; None where nothing is."""
        section, _, name = check.partition(".")
        found: Any = getattr(getattr(self, section), name, None) if name else None
        return found if found in RESULTS else None

    @property
    def is_blank(self) -> bool:
        """Whether nothing is answered at all."""
        return not (
            self.ticks or self.home.readings or self.drop is not None
            or any(move.measured is not None for move in self.moves)
            or any(stop.way is not None for stop in self.stops)
        )  # fmt: skip

    @property
    def ticks(self) -> dict[str, Result]:
        """Every check that is ticked, in the safe order."""
        found = ((name, self.result(name)) for name in check_names())
        return {name: result for name, result in found if result is not None}


_MEASURED = ("moves", "home", "stops", "drop")
_ORDER = (
    "inputs", "direction", "jog", "brake", "moves", "home", "stops", "drop", "emergency_stop",
)  # fmt: skip


def check_names() -> tuple[str, ...]:
    """Names of all checks in the safe order: `section.key` where something is ticked."""
    names: list[str] = []
    for section in _ORDER:
        if section in _MEASURED:
            names.append(section)
            continue
        model: Any = TrialRecord.model_fields[section].annotation
        names += (
            f"{section}.{key}"
            for key, field in model.model_fields.items()
            if field.annotation == Result | None
        )
    return tuple(names)


def size_of(measure: Measure | None) -> Physical | None:
    """The quantity of what was written down, None where nothing was."""
    return None if measure is None else measure.physical()
