"""What to enter so that something can be told: keys of the axis record, and parameters by role."""

from __future__ import annotations

from dataclasses import dataclass

from vault.model import roles

_SECTIONS = frozenset(
    {
        "mechanics",
        "motor",
        "encoder",
        "load_encoder",
        "brake",
        "supply",
        "duty",
        "force_protects",
        "loop_dead_time",
    }
)
"""Parts of the axis record that behaviour asks for."""

_WORDS = {
    "mechanics": "the transmission as built",
    "mechanics.kind": "screw, belt, rack, table or linear motor",
    "mechanics.lead": "way per turn of the screw",
    "mechanics.pulley_circumference": "way per turn of the pulley",
    "mechanics.pinion_circumference": "way per turn of the pinion",
    "mechanics.pole_pitch": "way from pole pair to pole pair",
    "mechanics.down": "which end of the positions lies lower, low or high",
    "mechanics.gearbox": "turns of motor and output; 1 and 1 for none",
    "mechanics.orientation": "horizontal, vertical or inclined: whether the load hangs",
    "mechanics.inclination": "slope against the horizontal",
    "mechanics.moving_mass": "what moves along the axis, in kg",
    "mechanics.load_inertia": "inertia of the load at its own shaft",
    "mechanics.stroke": "way between the hard stops",
    "mechanics.hard_stop_low": "where the lower hard stop is",
    "mechanics.hard_stop_high": "where the upper hard stop is",
    "mechanics.resonance": "measured, in Hz",
    "loop_dead_time": "delay of the velocity loop beside its filters, from the drive's manual",
    "mechanics.max_speed": "what the machine is built for",
    "motor.inertia": "the rotor's inertia, from the motor's plate",
    "motor.rated_torque": "from the motor's plate",
    "motor.max_torque": "from the motor's plate",
    "motor.corner_speed": "up to which it gives its full torque on this supply, by its curve",
    "motor.rated_current": "from the motor's plate",
    "motor.max_speed": "from the motor's plate",
    "brake.holding_torque": "from the brake's plate",
    "brake.apply_time": "how long the brake takes to close",
    "brake.release_time": "how long the brake takes to open",
    "encoder.single_turn_bits": "from the encoder's plate",
    "load_encoder.step": "way of a count of the encoder at the load",
    "load_encoder.counts": "counts of the encoder at the load in a turn of the axis",
    "encoder.multi_turn_bits": "turns it counts without power, as bits",
    "supply.voltage": "between two phases",
    "supply.dc_link_trip": "DC link voltage at which the drive switches off",
    "supply.dc_link_capacitance": "from the drive's manual",
    "supply.drive_current": "what the drive gives all the time on this supply",
    "supply.resistor": "the braking resistor, in ohm",
    "supply.resistor_power": "what the braking resistor takes all the time",
    "supply.resistor_energy": "what the braking resistor takes in one pulse",
    "duty": "what the axis does over and over: its moves, and the cycle",
    "duty.moves": "its moves in order, with distance and speed",
    "duty.cycle": "the moves of the duty, with their waits, do not fit in their cycle",
}


@dataclass(frozen=True, slots=True)
class ToEnter:
    """Something that is missing: the `name` that asks for it, and what it is in a person's words.

    With `in_record` it is a key of the axis record, else the role of a parameter.
    """

    name: str
    words: str
    in_record: bool

    @property
    def text(self) -> str:
        """Name and words in one line."""
        if self.in_record:
            return f"{self.name} ({self.words})" if self.words else self.name
        return f"the parameter {self.words}, which no entry of the set is known to be"


def to_enter(name: str) -> ToEnter:
    """What a missing name stands for: a key such as `mechanics.lead`, else a role."""
    if is_record_key(name):
        return ToEnter(name, _WORDS.get(name, ""), in_record=True)
    role = roles.find(name)
    if role is None:
        return ToEnter(name, name.replace("_", " "), in_record=False)
    place = f", {role.object}" if role.object else ""
    return ToEnter(name, f"{role.title} ({name}{place})", in_record=False)


def is_record_key(name: str) -> bool:
    """Whether a name is a key of the axis record, and no role."""
    return name.partition(".")[0] in _SECTIONS
