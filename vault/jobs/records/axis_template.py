"""A form for axis.yaml: what is known is filled in, the rest stands there to be filled in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from vault.jobs.state.selectors import State
from vault.model.errors import WrongUsage
from vault.model.names import CASE_HINT
from vault.model.quantities import plain
from vault.store.files import yaml_text

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord
    from vault.model.names import Address
    from vault.store.vault import Vault

_HEAD = """\
# The axis {address} as built: everything that no export holds.
# To fill in a line, take the # away, and that of the section above it; numbers carry their unit.
# Then: axisvault axis set {address} FILE
schema: axisvault/axis/1
"""

FORM: tuple[tuple[str, str, tuple[tuple[str, str, str], ...]], ...] = (
    ("", "", (
        ("title", "Lift of line 1", "what people call it"),
        ("note", "Hangs on the screw.", "what a reader should know"),
        ("position_gain_unit", "1/s", "or (m/min)/mm: of a gain without a unit"),
        ("follows", "line-2/lift", "another axis whose golden baseline holds for this one"),
        ("export_every", "12 months", "how often an export is due"),
        ("duty", "{cycle: 4 s, moves: [{distance: 300 mm, wait: 1 s}, {distance: -300 mm}]}",
         "what it does over and over; a move may say speed, acceleration, deceleration, load too"),
        ("pair", "line-1/lift-2", "the axis that moves with it, or its like on another machine"),
        ("margins", "{stop_room: 1.2}", "what margins must at least be: axisvault margins M/A"),
        ("force_protects", "true", "where force is limited for people's or the machine's sake"),
        ("controller", "{task: Motion, match: [LiftAxis], scale: {counts: 1048576, per: 16 mm}}",
         "what of the controller's project is this axis, and how it counts there"),
        ("loop_dead_time", "250 us", "of the velocity loop beside its filters, by the manual"),
    )),
    ("nameplate", "Plates as designed; free names", (
        ("drive", "ALD-5A", "order code"),
        ("motor", "AMO-32-30B", "order code"),
        ("encoder", "multi-turn 20 + 12 bit", ""),
    )),
    ("mechanics", "The real transmission and load; check computes from it", (
        ("kind", "ball_screw", "ball_screw, belt, rack, rotary_table, rotary, linear_motor"),
        ("lead", "20 mm", "ball_screw: way per turn of the screw"),
        ("pulley_circumference", "320 mm", "belt: way per turn of the pulley"),
        ("pinion_circumference", "200 mm", "rack: way per turn of the pinion"),
        ("pole_pitch", "30 mm", "linear_motor: pole pair to pole pair"),
        ("gearbox", "{motor: 4, output: 1}", "turns of motor and output; 1 and 1 for none"),
        ("orientation", "vertical", "horizontal, vertical, inclined: whether the load hangs"),
        ("inclination", "30 deg", "against the horizontal"),
        ("down", "low", "the end of the positions that lies lower: low, high"),
        ("counterbalance", '"0.4"', "share of the weight that is balanced"),
        ("moving_mass", "60 kg", ""),
        ("load_inertia", "1.8 kg*m^2", "of a turned load, at its own shaft"),
        ("efficiency", '"0.9"', ""),
        ("stroke", "650 mm", "way between the hard stops"),
        ("hard_stop_low", "-25 mm", "in the coordinates of the drive"),
        ("hard_stop_high", "625 mm", ""),
        ("reference_move", "300 mm", "a typical move, to compute move times with"),
        ("resonance", "180 Hz", "as measured: what a notch filter is for"),
        ("max_speed", "400 mm/s", "what the machine allows"),
    )),
    ("motor", "From the motor's plate", (
        ("code", "AMO-32-30B", ""),
        ("rated_torque", "3.2 N*m", ""),
        ("max_torque", "9.6 N*m", ""),
        ("rated_current", "3.1 A", ""),
        ("max_current", "9.3 A", ""),
        ("rated_speed", "3000 r/min", ""),
        ("max_speed", "4500 r/min", ""),
        ("corner_speed", "3600 r/min", "up to which it gives full torque on this supply"),
        ("voltage_constant", "75 mV/(r/min)", "r.m.s. between two lines"),
        ("inertia", "1.6 kg*cm^2", "of the rotor"),
    )),
    ("encoder", "", (
        ("single_turn_bits", "20", ""),
        ("multi_turn_bits", "12", ""),
    )),
    ("load_encoder", "A second encoder, at the load", (
        ("step", "1 um", "way of a count, of an axis that moves in a line"),
        ("counts", "3600000", "in a turn, of an axis that turns"),
        ("closes_position", "true", "false where the drive only watches it"),
    )),
    ("brake", "The holding brake", (
        ("fitted", "true", "false where there is none"),
        ("holding_torque", "4.5 N*m", ""),
        ("release_time", "90 ms", ""),
        ("apply_time", "50 ms", ""),
    )),
    ("supply", "What feeds the drive and takes its braking energy", (
        ("phases", "3", "1 or 3"),
        ("voltage", "400 V", ""),
        ("drive_current", "5 A", "what the drive gives all the time on it"),
        ("shared_with", "[line-1/feed]", "axes on the same DC link"),
        ("dc_link_capacitance", "470 uF", ""),
        ("dc_link_trip", "820 V", "where the drive switches off"),
        ("resistor", "100 ohm", ""),
        ("resistor_power", "100 W", ""),
        ("resistor_energy", "1000 J", "of one pulse"),
    )),
    ("cabinet", "Set by hand in the cabinet; free names. A restore copies them", (
        ("address_switches", '"23"', "as they stand, with leading zeros"),
        ("supply_fuse", "10 A, three-phase", ""),
        ("safe_torque_off", "two channels from the door switch relay", "how it is wired"),
        ("brake_supply", "24 V from its own fuse", ""),
        ("jumpers", "X5 closed", ""),
        ("bus_termination", "on, last drive of the line", ""),
    )),
    ("controller_link", "What the controller's side has; free names", (
        ("node_address", "23", ""),
        ("station_alias", "1023", ""),
        ("update_interval", "1 ms", ""),
        ("task_period", "1 ms", ""),
        ("process_data_in", "24 byte", "drive to controller"),
        ("process_data_out", "22 byte", "controller to drive"),
    )),
)  # fmt: skip
"""Section, its remark, and lines of key, example, remark."""

# Nameplate of an export: section and key of the form that it fills in.
_EXPORTED = (
    ("drive", "nameplate", "drive"),
    ("motor", "nameplate", "motor"),
    ("encoder", "nameplate", "encoder"),
    ("encoder_single_turn_bits", "encoder", "single_turn_bits"),
    ("encoder_multi_turn_bits", "encoder", "multi_turn_bits"),
    ("node_id", "controller_link", "node_address"),
)
_RATINGS = (
    ("motor_rated_torque", "rated_torque"),
    ("motor_rated_current", "rated_current"),
    ("motor_rated_speed", "rated_speed"),
    ("motor_max_speed", "max_speed"),
    ("motor_max_current", "max_current"),
    ("motor_inertia", "inertia"),
)

Sections = dict[str, dict[str, Any]]


def axis_template(vault: Vault, address: Address) -> bytes:
    """Write the form for an axis, which may be a new one. It loads as it is.

    What a record says stands as it says it. What the latest export tells stands filled in where
    there is no record yet, else behind a #: the form is the same record until somebody takes that
    away. Raises WrongUsage for a name that the vault has in other letters.
    """
    if clash := vault.case_clash(address):
        raise WrongUsage(clash, hint=CASE_HINT)
    record = vault.axis_record(address)
    known = _recorded(record)
    lines = [_HEAD.format(address=address)]
    if record is not None:
        lines.append(
            f"# Comments of the present record stay there: axisvault axis show {address}\n"
        )
    exported = _exported(vault, address)
    for section, remark, form in FORM:
        from_export = exported.get(section, {})
        if section:
            mine = known.get(section)
            lines.append("\n" + (f"# {remark}\n" if remark else ""))
            lines.append(_heading(section, mine, filled=record is None and bool(from_export)))
        else:
            mine = {key: value for key, value in known.items() if key not in _SECTIONS}
        lines += _lines(section, form, mine or {}, from_export, fills=record is None)
    return "".join(lines).encode()


def examples() -> dict[str, Any]:
    """The values of the form by key, such as `mechanics.lead`."""
    return {
        f"{section}.{key}" if section else key: yaml_text.load(value.encode(), "the form")
        for section, _, lines in FORM
        for key, value, _ in lines
    }


_SECTIONS = frozenset(section for section, _, _ in FORM if section)


def _recorded(record: AxisRecord | None) -> dict[str, Any]:
    """A record as it was written; what is set without saying so is written out where need be."""
    if record is None:
        return {}
    recorded = record.model_dump(exclude={"schema_"}, exclude_unset=True, exclude_none=True)
    if record.brake is not None and recorded.get("brake") == {}:
        recorded["brake"] = {"fitted": record.brake.fitted}
    return recorded


def _heading(section: str, mine: dict[str, Any] | None, *, filled: bool) -> str:
    """The line of a section: with no lines below it stands empty, or behind a #."""
    if mine == {}:
        return f"{section}: {{}}  # take the {{}} away to fill in lines\n"
    return f"{section}:\n" if mine or filled else f"# {section}:\n"


def _exported(vault: Vault, address: Address) -> Sections:
    """What the latest export tells for certain: what would be a valid record."""
    latest = vault.latest(address)
    if latest is None:
        return {}
    state = State(str(address), vault, address, latest, is_latest=True)
    sections: Sections = {}
    for name, section, key in _EXPORTED:
        if text := state.nameplate.get(name, "").strip():
            value: Any = int(text) if text.isdecimal() and section != "nameplate" else text
            sections.setdefault(section, {})[key] = value
    parameters = {p.role: p for p in state.parameters.values() if p.role is not None}
    for role, key in _RATINGS:
        parameter = parameters.get(role)
        if parameter is not None and parameter.unit and not isinstance(parameter.value, str):
            sections.setdefault("motor", {})[key] = f"{plain(parameter.value)} {parameter.unit}"
    return {
        section: certain
        for section, keys in sections.items()
        if (certain := {key: value for key, value in keys.items() if _fits(section, key, value)})
    }


def _fits(section: str, key: str, value: Any) -> bool:
    """Whether a record takes the value: a rating in per cent of another one is none."""
    from pydantic import ValidationError

    from vault.model.axis import AxisRecord

    try:
        AxisRecord.model_validate({"schema": "axisvault/axis/1", section: {key: value}})
    except ValidationError:
        return False
    return True


def _lines(
    section: str,
    form: tuple[tuple[str, str, str], ...],
    mine: dict[str, Any],
    exported: dict[str, Any],
    *,
    fills: bool,
) -> Iterator[str]:
    """The lines of a section; `fills` puts in what was exported, else it stands behind a #."""
    indent = "  " if section else ""
    keys = {key for key, _, _ in form}
    for key, example, remark in form:
        if key in mine:
            yield from _entry(indent, key, mine[key])
        elif key in exported and fills:
            yield from _entry(indent, key, exported[key], "  # as exported")
        elif key in exported:
            entry = "".join(_entry(indent, key, exported[key], "  # so in the latest export"))
            yield "".join(f"# {line}" for line in entry.splitlines(keepends=True))
        else:
            yield f"# {indent}{key}: {example}" + (f"  # {remark}\n" if remark else "\n")
    for key, value in mine.items():
        if key not in keys:
            yield from _entry(indent, key, value)


def _entry(indent: str, key: str, value: Any, note: str = "") -> Iterator[str]:
    """A line of YAML, several for a text of several lines."""
    text = yaml_text.mapping_text({key: value}).decode().rstrip("\n")
    first, *rest = text.split("\n")
    yield f"{indent}{first}{note if not rest else ''}\n"
    for line in rest:
        yield f"{indent}{line}\n"
