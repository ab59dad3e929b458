"""Quantities of the axis record: text with a unit, read within bounds, written as it was read."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, PlainSerializer, StrictStr

from vault.model.bounds import OutOfBounds, reckonable, reckonable_whole, short_enough
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.quantities import Measure, Physical, unit_named
from vault.model.wording import with_article

_MOST_SETTING = 2000  # characters; our own choice


def _settable(value: str | int | Decimal | bool) -> str | int | Decimal | bool:
    if isinstance(value, str):
        return short_enough(value, _MOST_SETTING)
    return reckonable(value) if isinstance(value, Decimal) else reckonable_whole(value)


Setting = Annotated[StrictStr | int | Decimal | bool, AfterValidator(_settable)]


_LIKE = {"length": "mm", "angle": "deg", "mass": "kg", "time": "ms", "torque": "N*m"}


def not_of_kind(value: Any, kind: str, *needed: str) -> str:
    """What is said of a quantity of another kind than is needed."""
    words = f"'{value}' is {with_article(kind)}; needed here: {' or '.join(needed)}"
    said = words.replace("_", " ")
    example = next((_LIKE[one] for one in needed if one in _LIKE), None)
    return f"{said}: write {value} {example}" if kind == "number" and example else said


def _of(
    *kinds: str, above: int | None = None, least: int | None = None, most: int | None = None
) -> BeforeValidator:
    """Reads a quantity of one of these kinds, within bounds that are in SI."""

    def read(value: Any) -> Any:
        measure = value if isinstance(value, Measure) else Measure.parse(str(value))
        kind = unit_named(measure.unit).kind if measure.unit else "number"
        if kind not in kinds:
            raise ValueError(not_of_kind(value, kind, *kinds))
        size = measure.physical()
        number = Fraction(measure.value) if size is None else size.number()
        if above is not None and number <= above:
            raise OutOfBounds(f"'{measure}' is not more than {above or 'zero'}")
        if least is not None and number < least:
            raise OutOfBounds(f"'{measure}' is less than {least or 'zero'}")
        if most is not None and number > most:
            unit = f" {size.unit}" if size is not None and size.kind != "ratio" else ""
            raise OutOfBounds(f"'{measure}' is more than {most}{unit}")
        return measure

    return BeforeValidator(read)


def _slanted(slope: Measure) -> Measure:
    size = slope.physical()
    if size is not None and abs(size.number()) > _UPRIGHT.number():
        raise OutOfBounds(f"'{slope}' is steeper than upright, 90 deg")
    return slope


_UPRIGHT = Physical(Fraction(1, 2), 1, "angle", "rad")
_AS_TEXT = PlainSerializer(str)


# The upper bounds are our own choice, far above any drive: what exceeds one is a slip or an attack.
Length = Annotated[Measure, _of("length", above=0, most=10**5), _AS_TEXT]
Step = Annotated[Measure, _of("length", "angle", above=0, most=1), _AS_TEXT]
Place = Annotated[Measure, _of("length", "angle"), _AS_TEXT]
Travel = Annotated[Measure, _of("length", "angle", above=0), _AS_TEXT]
Way = Annotated[Measure, _of("length", "angle", least=0), _AS_TEXT]
Mass = Annotated[Measure, _of("mass", above=0, most=10**7), _AS_TEXT]
Load = Annotated[Measure, _of("mass", least=0, most=10**7), _AS_TEXT]
Inertia = Annotated[Measure, _of("inertia", above=0, most=10**8), _AS_TEXT]
Torque = Annotated[Measure, _of("torque", above=0, most=10**8), _AS_TEXT]
VoltageConstant = Annotated[Measure, _of("voltage_constant", above=0, most=10**6), _AS_TEXT]
Current = Annotated[Measure, _of("current", above=0, most=10**6), _AS_TEXT]
Voltage = Annotated[Measure, _of("voltage", above=0, most=10**6), _AS_TEXT]
Capacitance = Annotated[Measure, _of("capacitance", above=0, most=10**3), _AS_TEXT]
Resistance = Annotated[Measure, _of("resistance", above=0, most=10**9), _AS_TEXT]
Power = Annotated[Measure, _of("power", above=0, most=10**9), _AS_TEXT]
Energy = Annotated[Measure, _of("energy", above=0, most=10**12), _AS_TEXT]
Frequency = Annotated[Measure, _of("frequency", above=0, most=10**6), _AS_TEXT]
Time = Annotated[Measure, _of("time", least=0), _AS_TEXT]
MotorSpeed = Annotated[Measure, _of("angular_velocity", "velocity", above=0), _AS_TEXT]
Acceleration = Annotated[Measure, _of("acceleration", "angular_acceleration", above=0), _AS_TEXT]
Effort = Annotated[Measure, _of("torque", "force", "ratio", above=0, most=10**9), _AS_TEXT]
Force = Annotated[Measure, _of("torque", "force", least=0, most=10**9), _AS_TEXT]
Slope = Annotated[Measure, _of("angle"), AfterValidator(_slanted), _AS_TEXT]
Efficiency = Annotated[Measure, _of("ratio", "number", above=0, most=1), _AS_TEXT]
Counterbalance = Annotated[Measure, _of("ratio", "number", least=0, most=2), _AS_TEXT]


def _address(text: str) -> str:
    try:
        return str(Address.parse(text))
    except WrongUsage as error:
        raise ValueError(str(error)) from error


OtherAxis = Annotated[StrictStr, AfterValidator(_address)]


_LONGEST_INTERVAL = 100 * 366 * 86400  # seconds


def _lasts(interval: Measure) -> Measure:
    if interval.value <= 0:
        raise OutOfBounds("an interval must be more than zero")
    size = interval.physical()
    if size is not None and size.number() > _LONGEST_INTERVAL:
        raise OutOfBounds("an interval must be a hundred years at most")
    return interval


Interval = Annotated[Measure, _of("time"), AfterValidator(_lasts), _AS_TEXT]
