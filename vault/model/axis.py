"""The axis as built: nameplate as designed, mechanics, cabinet settings, controller link.

Pydantic schema of `machines/<machine>/<axis>/axis.yaml`, which people write by hand. Quantities are
text with a unit (`16 mm`).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    Field,
    PrivateAttr,
    StrictBool,
    StringConstraints,
    model_validator,
)

from vault.model.axis_quantities import (
    Acceleration,
    Capacitance,
    Counterbalance,
    Current,
    Efficiency,
    Energy,
    Force,
    Frequency,
    Inertia,
    Interval,
    Length,
    Load,
    Mass,
    MotorSpeed,
    OtherAxis,
    Place,
    Power,
    Resistance,
    Setting,
    Slope,
    Step,
    Time,
    Torque,
    Travel,
    Voltage,
    VoltageConstant,
    not_of_kind,
)
from vault.model.bounds import OutOfBounds, Unstated, reckonable
from vault.model.controller_rule import ControllerRule
from vault.model.export import SkippedLine
from vault.model.quantities import Measure
from vault.model.strict import Strict

_MOST_TURNS = 10**9
_MOST_MOVES = 1000
_MOST_SHARED = 100
_MOST_COUNTS = 10**12


class Gearbox(Strict):
    """Gear ratio as turns: the motor makes `motor` turns while the output makes `output`."""

    motor: int = Field(gt=0, le=_MOST_TURNS, description="turns of the motor")
    output: int = Field(gt=0, le=_MOST_TURNS, description="turns of the output meanwhile")


class Mechanics(Strict):
    """The real transmission and load. `down` is the end of the positions that lies lower."""

    kind: Literal["ball_screw", "belt", "rack", "rotary_table", "rotary", "linear_motor"]
    lead: Length | None = None
    pulley_circumference: Length | None = None
    pinion_circumference: Length | None = None
    pole_pitch: Length | None = None
    gearbox: Gearbox | None = None
    orientation: Literal["horizontal", "vertical", "inclined"] | None = None
    inclination: Slope | None = None
    down: Literal["low", "high"] | None = None
    counterbalance: Counterbalance | None = None
    moving_mass: Mass | None = None
    load_inertia: Inertia | None = None
    efficiency: Efficiency | None = None
    stroke: Travel | None = None
    hard_stop_low: Place | None = None
    hard_stop_high: Place | None = None
    reference_move: Travel | None = None
    resonance: Frequency | None = None
    max_speed: MotorSpeed | None = None

    @model_validator(mode="after")
    def _stops_in_order(self) -> Mechanics:
        low, high = (
            stop.physical() if stop is not None else None
            for stop in (self.hard_stop_low, self.hard_stop_high)
        )
        if low is None or high is None:
            return self
        if low.kind != high.kind:
            raise OutOfBounds("one hard stop is a length, the other an angle", "hard_stop_high")
        if high.number() <= low.number():
            reason = f"'{self.hard_stop_high}' is not above the lower one, '{self.hard_stop_low}'"
            raise OutOfBounds(reason, "hard_stop_high")
        return self


class Encoder(Strict):
    """The motor's encoder."""

    single_turn_bits: int | None = Field(default=None, ge=0, le=64)
    multi_turn_bits: int | None = Field(default=None, ge=0, le=64)


class LoadEncoder(Strict):
    """A second encoder, at the load: the way of a count, or the counts in a turn of the axis.

    `closes_position` is whether the drive positions by it, and does not only watch it.
    """

    step: Step | None = None
    counts: int | None = Field(default=None, gt=0, le=_MOST_COUNTS)
    closes_position: StrictBool | None = None


class Motor(Strict):
    """Ratings from the motor's nameplate and its curve.

    Up to `corner_speed` it gives its full torque on the supply as built; `voltage_constant` is
    r.m.s. between two lines.
    """

    code: str | None = None
    rated_torque: Torque | None = None
    max_torque: Torque | None = None
    rated_current: Current | None = None
    max_current: Current | None = None
    rated_speed: MotorSpeed | None = None
    max_speed: MotorSpeed | None = None
    corner_speed: MotorSpeed | None = None
    voltage_constant: VoltageConstant | None = None
    inertia: Inertia | None = None


class Brake(Strict):
    """The holding brake."""

    fitted: bool = True
    holding_torque: Torque | None = None
    release_time: Time | None = None
    apply_time: Time | None = None


class Supply(Strict):
    """What feeds the drive and takes its braking energy.

    `drive_current` is what the drive gives all the time on it; `shared_with` are the axes on the
    same DC link.
    """

    phases: Literal[1, 3] | None = None
    voltage: Voltage | None = None
    drive_current: Current | None = None
    shared_with: Annotated[tuple[OtherAxis, ...], Field(max_length=_MOST_SHARED)] = ()
    dc_link_capacitance: Capacitance | None = None
    dc_link_trip: Voltage | None = None
    resistor: Resistance | None = None
    resistor_power: Power | None = None
    resistor_energy: Energy | None = None


class Move(Strict):
    """One move of the duty: how far and how fast, with which load, and the wait after it."""

    distance: Place = Field(description="how far, with its sign")
    speed: MotorSpeed | None = Field(None, description="how fast; else as the set says")
    acceleration: Acceleration | None = Field(None, description="its ramp up; else as the set says")
    deceleration: Acceleration | None = Field(None, description="its ramp down; else likewise")
    load: Load | None = Field(None, description="the mass that is carried besides")
    wait: Time | None = Field(None, description="how long the axis stands afterwards")


class Duty(Strict):
    """What the axis does over and over: its moves in order, or what was measured of them."""

    cycle: Interval | None = Field(
        None, description="the time from one begin to the next; moves need it"
    )
    moves: Annotated[tuple[Move, ...], Field(max_length=_MOST_MOVES)] = Field(
        (), description="what it does in a cycle, as a list in order"
    )
    rms_force: Force | None = Field(
        None,
        description="the r.m.s. over the cycle as it was measured: torque at the motor, or force "
        "at an axis that moves in a line",
    )

    @model_validator(mode="after")
    def _says_something(self) -> Duty:
        if not self.moves and self.rms_force is None:
            raise ValueError("list its moves, or say the rms_force that was measured")
        if self.moves and self.cycle is None:
            raise Unstated("moves need the cycle: the time from one begin to the next", "cycle")
        return self


TURNING = ("rotary_table", "rotary")
"""Kinds of mechanics whose axis turns; any other moves in a line."""
_MOVED = {
    "distance": ("length", "angle"),
    "speed": ("velocity", "angular_velocity"),
    "acceleration": ("acceleration", "angular_acceleration"),
    "deceleration": ("acceleration", "angular_acceleration"),
}
"""Quantities of a move: their kind on an axis that moves in a line, and on one that turns."""


def _must_be(kind: str, stated: Measure | None, *path: str | int) -> None:
    """Raise OutOfBounds for a quantity that an axis of its mechanics does not have."""
    size = stated.physical() if stated is not None else None
    if size is not None and size.kind != kind:
        raise OutOfBounds(not_of_kind(stated, size.kind, kind), *path)


MarginName = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,63}$")]
Floor = Annotated[Decimal, AfterValidator(reckonable), Field(gt=0)]


class AxisRecord(Strict):
    """Everything about an axis that no export holds.

    `follows` names the axis whose golden baseline holds for this one too; `export_every` tells how
    often an export is due. `pair` is the axis that moves with it, or one of another machine
    that it is held against, `margins` what each of its margins must at least be, `force_protects`
    whether torque or force is limited for people's or the machine's sake, `loop_dead_time` all
    delay of the velocity loop beside its filters.
    """

    schema_: Literal["axisvault/axis/1"] = Field(alias="schema")
    title: str = ""
    note: str | None = None
    nameplate: dict[str, Setting] = Field(default_factory=dict)
    mechanics: Mechanics | None = None
    motor: Motor | None = None
    encoder: Encoder | None = None
    load_encoder: LoadEncoder | None = None
    brake: Brake | None = None
    supply: Supply | None = None
    position_gain_unit: Literal["1/s", "(m/min)/mm"] | None = None
    follows: OtherAxis | None = None
    export_every: Interval | None = None
    cabinet: dict[str, Setting] = Field(default_factory=dict)
    controller_link: dict[str, Setting] = Field(default_factory=dict)
    duty: Duty | None = None
    pair: OtherAxis | None = None
    margins: dict[MarginName, Floor] = Field(default_factory=dict)
    force_protects: StrictBool | None = None
    loop_dead_time: Time | None = None
    controller: ControllerRule | None = None
    _unknown: tuple[SkippedLine, ...] = PrivateAttr(default=())

    @model_validator(mode="after")
    def _motor_moves_as_its_axis(self) -> AxisRecord:
        """A linear motor has speeds in m/s, any other in r/min."""
        if self.mechanics is None or self.motor is None:
            return self
        wanted = "velocity" if self.mechanics.kind == "linear_motor" else "angular_velocity"
        for name in ("rated_speed", "max_speed", "corner_speed"):
            stated: Measure | None = getattr(self.motor, name)
            size = stated.physical() if stated is not None else None
            if size is not None and size.kind != wanted:
                unit = "m/s" if wanted == "velocity" else "r/min"
                raise OutOfBounds(f"'{stated}': this motor's speed is in {unit}", "motor", name)
        return self

    @model_validator(mode="after")
    def _duty_is_of_its_axis(self) -> AxisRecord:
        """Moves are lengths on an axis that moves in a line, angles on one that turns."""
        if self.mechanics is None or self.duty is None:
            return self
        kind = self.mechanics.kind
        turns = kind in TURNING
        path: tuple[str | int, ...]
        for number, move in enumerate(self.duty.moves):
            path = "duty", "moves", number
            for name, kinds in _MOVED.items():
                _must_be(kinds[turns], getattr(move, name), *path, name)
            if turns and move.load is not None:
                reason = f"'{move.load}' says nothing of an axis that turns: its inertia is needed"
                raise OutOfBounds(reason, *path, "load")
        if turns or kind == "linear_motor":
            wanted = "torque" if turns else "force"
            _must_be(wanted, self.duty.rms_force, "duty", "rms_force")
        return self

    @property
    def unknown(self) -> tuple[SkippedLine, ...]:
        """What it says that cannot be, and that it is read without: line, key and reason."""
        return self._unknown

    def without(self, unknown: tuple[SkippedLine, ...]) -> AxisRecord:
        """The record, which was read without what cannot be."""
        self._unknown = unknown
        return self

    @property
    def vault_format(self) -> int:
        """The format that a vault must state which has this record."""
        inner = any(
            keys & section.model_fields_set
            for name, keys in _INNER_SINCE_2.items()
            if isinstance(section := getattr(self, name), BaseModel)
        )
        return 2 if inner or self.model_fields_set & _SINCE_2 else 1


_SINCE_2 = frozenset(
    {
        "duty", "pair", "margins", "force_protects", "controller", "loop_dead_time", "load_encoder",
    }
)  # fmt: skip
_INNER_SINCE_2 = {
    "mechanics": frozenset({"down", "resonance"}),
    "motor": frozenset({"corner_speed", "voltage_constant"}),
    "supply": frozenset({"drive_current", "shared_with"}),
}
