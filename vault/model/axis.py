"""The axis as built: nameplate as designed, mechanics, cabinet settings, controller link.

Pydantic schema of `machines/<machine>/<axis>/axis.yaml`, which people write by hand. Quantities are
text with a unit (`16 mm`).
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    StrictBool,
    StrictStr,
    StringConstraints,
    model_validator,
)

from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.quantities import Measure, unit_named
from vault.model.wording import with_article

Setting = StrictStr | int | Decimal | bool


def _of(*kinds: str) -> BeforeValidator:
    def read(value: Any) -> Any:
        if isinstance(value, Measure):
            return value
        measure = Measure.parse(str(value))
        kind = unit_named(measure.unit).kind if measure.unit else "number"
        if kind not in kinds:
            raise ValueError(
                f"'{value}' is {with_article(kind)}; needed here: {' or '.join(kinds)}"
            )
        return measure

    return BeforeValidator(read)


_AS_TEXT = PlainSerializer(str)


Length = Annotated[Measure, _of("length"), _AS_TEXT]
Travel = Annotated[Measure, _of("length", "angle"), _AS_TEXT]
Mass = Annotated[Measure, _of("mass"), _AS_TEXT]
Inertia = Annotated[Measure, _of("inertia"), _AS_TEXT]
Torque = Annotated[Measure, _of("torque"), _AS_TEXT]
Current = Annotated[Measure, _of("current"), _AS_TEXT]
Voltage = Annotated[Measure, _of("voltage"), _AS_TEXT]
Capacitance = Annotated[Measure, _of("capacitance"), _AS_TEXT]
Resistance = Annotated[Measure, _of("resistance"), _AS_TEXT]
Power = Annotated[Measure, _of("power"), _AS_TEXT]
Energy = Annotated[Measure, _of("energy"), _AS_TEXT]
Time = Annotated[Measure, _of("time"), _AS_TEXT]
MotorSpeed = Annotated[Measure, _of("angular_velocity", "velocity"), _AS_TEXT]
Acceleration = Annotated[Measure, _of("acceleration", "angular_acceleration"), _AS_TEXT]
Force = Annotated[Measure, _of("torque", "force"), _AS_TEXT]
Angle = Annotated[Measure, _of("angle"), _AS_TEXT]
Ratio = Annotated[Measure, _of("ratio", "number"), _AS_TEXT]


def _address(text: str) -> str:
    try:
        return str(Address.parse(text))
    except WrongUsage as error:
        raise ValueError(str(error)) from error


Place = Annotated[StrictStr, AfterValidator(_address)]


def _lasts(interval: Measure) -> Measure:
    if interval.value <= 0:
        raise ValueError("an interval must be more than zero")
    return interval


Interval = Annotated[Measure, _of("time"), AfterValidator(_lasts), _AS_TEXT]


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class Gearbox(_Strict):
    """Gear ratio as turns: the motor makes `motor` turns while the output makes `output`."""

    motor: int = Field(gt=0)
    output: int = Field(gt=0)


class Mechanics(_Strict):
    """The real transmission and load."""

    kind: Literal["ball_screw", "belt", "rack", "rotary_table", "rotary", "linear_motor"]
    lead: Length | None = None
    pulley_circumference: Length | None = None
    pinion_circumference: Length | None = None
    pole_pitch: Length | None = None
    gearbox: Gearbox | None = None
    orientation: Literal["horizontal", "vertical", "inclined"] = "horizontal"
    inclination: Angle | None = None
    counterbalance: Ratio | None = None
    moving_mass: Mass | None = None
    load_inertia: Inertia | None = None
    efficiency: Ratio | None = None
    stroke: Travel | None = None
    hard_stop_low: Travel | None = None
    hard_stop_high: Travel | None = None
    reference_move: Travel | None = None
    max_speed: MotorSpeed | None = None


class Encoder(_Strict):
    """The motor's encoder."""

    single_turn_bits: int | None = Field(default=None, ge=0, le=64)
    multi_turn_bits: int | None = Field(default=None, ge=0, le=64)


class Motor(_Strict):
    """Ratings from the motor's nameplate."""

    code: str | None = None
    rated_torque: Torque | None = None
    max_torque: Torque | None = None
    rated_current: Current | None = None
    max_current: Current | None = None
    rated_speed: MotorSpeed | None = None
    max_speed: MotorSpeed | None = None
    inertia: Inertia | None = None


class Brake(_Strict):
    """The holding brake."""

    fitted: bool = True
    holding_torque: Torque | None = None
    release_time: Time | None = None
    apply_time: Time | None = None


class Supply(_Strict):
    """What feeds the drive and takes its braking energy."""

    phases: Literal[1, 3] | None = None
    voltage: Voltage | None = None
    dc_link_capacitance: Capacitance | None = None
    dc_link_trip: Voltage | None = None
    resistor: Resistance | None = None
    resistor_power: Power | None = None
    resistor_energy: Energy | None = None


class Move(_Strict):
    """One move of the duty: how far and how fast, with which load, and the wait after it."""

    distance: Travel
    speed: MotorSpeed | None = None
    acceleration: Acceleration | None = None
    deceleration: Acceleration | None = None
    load: Mass | None = None
    wait: Time | None = None


class Duty(_Strict):
    """What the axis does over and over: its moves in order, or what was measured of them.

    `cycle` is the time from one begin to the next. `rms_force` is measured: the r.m.s. torque of
    the motor over the cycle, of a linear motor its force.
    """

    cycle: Interval
    moves: tuple[Move, ...] = ()
    rms_force: Force | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Duty:
        if not self.moves and self.rms_force is None:
            raise ValueError("list its moves, or say the rms_force that was measured")
        return self


class ControllerRule(_Strict):
    """Where the controller's project has this axis: an instance, or the prefix of its tags."""

    instance: Annotated[StrictStr, StringConstraints(min_length=1)] | None = None
    tag_prefix: Annotated[StrictStr, StringConstraints(min_length=1)] | None = None

    @model_validator(mode="after")
    def _one_of(self) -> ControllerRule:
        if (self.instance is None) == (self.tag_prefix is None):
            raise ValueError("name either an instance or a tag_prefix")
        return self


MarginName = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9_]{0,63}$")]
Floor = Annotated[Decimal, Field(gt=0)]


class AxisRecord(_Strict):
    """Everything about an axis that no export holds.

    `follows` names the axis whose golden baseline holds for this one too; `export_every` tells how
    often an export is due. `pair` is the axis of another machine that it is held against where
    names alone do not tell, `margins` what each of its margins must at least be, `force_protects`
    whether torque or force is limited for people's or the machine's sake.
    """

    schema_: Literal["axisvault/axis/1"] = Field(alias="schema")
    title: str = ""
    note: str | None = None
    nameplate: dict[str, Setting] = Field(default_factory=dict)
    mechanics: Mechanics | None = None
    motor: Motor | None = None
    encoder: Encoder | None = None
    brake: Brake | None = None
    supply: Supply | None = None
    position_gain_unit: Literal["1/s", "(m/min)/mm"] | None = None
    follows: Place | None = None
    export_every: Interval | None = None
    cabinet: dict[str, Setting] = Field(default_factory=dict)
    controller_link: dict[str, Setting] = Field(default_factory=dict)
    duty: Duty | None = None
    pair: Place | None = None
    margins: dict[MarginName, Floor] = Field(default_factory=dict)
    force_protects: StrictBool | None = None
    controller: ControllerRule | None = None

    @property
    def kept_only(self) -> frozenset[str]:
        """Keys of it that nothing works with yet."""
        return _SINCE_2 & self.model_fields_set

    @property
    def vault_format(self) -> int:
        """The format that a vault must state which has this record."""
        return 2 if self.model_fields_set & _SINCE_2 else 1


_SINCE_2 = frozenset({"duty", "pair", "margins", "force_protects", "controller"})
