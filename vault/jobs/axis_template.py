"""A form for axis.yaml: what is known is filled in, the rest stands there to be filled in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from vault.jobs.selectors import State
from vault.model.quantities import plain
from vault.store import yaml_text

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

# section, its remark, and lines of key, example, remark
_FORM: tuple[tuple[str, str, tuple[tuple[str, str, str], ...]], ...] = (
    ("", "", (
        ("title", "Lift of line 1", "what people call it"),
        ("note", "Hangs on the screw.", "what a reader should know"),
        ("position_gain_unit", "1/s", "or (m/min)/mm: of a gain without a unit"),
        ("follows", "line-2/lift", "another axis whose golden baseline holds for this one"),
        ("export_every", "12 months", "how often an export is due"),
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
        ("gearbox", "{motor: 4, output: 1}", "turns of the motor per turns of the output"),
        ("orientation", "vertical", "horizontal, vertical, inclined"),
        ("inclination", "30 deg", "against the horizontal"),
        ("counterbalance", '"0.4"', "share of the weight that is balanced"),
        ("moving_mass", "60 kg", ""),
        ("load_inertia", "1.8 kg*m^2", "of a turned load, at its own shaft"),
        ("efficiency", '"0.9"', ""),
        ("stroke", "650 mm", "way between the hard stops"),
        ("hard_stop_low", "-25 mm", "in the coordinates of the drive"),
        ("hard_stop_high", "625 mm", ""),
        ("reference_move", "300 mm", "a typical move, to compute move times with"),
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
        ("inertia", "1.6 kg*cm^2", "of the rotor"),
    )),
    ("encoder", "", (
        ("single_turn_bits", "20", ""),
        ("multi_turn_bits", "12", ""),
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
)


def axis_template(vault: Vault, address: Address) -> bytes:
    """Write the form for an axis, which may be a new one. It loads as it is."""
    record = vault.axis_record(address)
    known = _recorded(record)
    exported = {} if record is not None else _exported(vault, address)
    lines = [_HEAD.format(address=address)]
    if record is not None:
        lines.append(
            f"# Comments of the present record stay there: axisvault axis show {address}\n"
        )
    for section, remark, form in _FORM:
        lines += _section(section, remark, form, known, exported)
    return "".join(lines).encode()


def _recorded(record: AxisRecord | None) -> dict[str, Any]:
    if record is None:
        return {}
    return record.model_dump(exclude={"schema_"}, exclude_unset=True)


def _exported(vault: Vault, address: Address) -> dict[str, dict[str, Any]]:
    """What the latest export tells for certain."""
    latest = vault.latest(address)
    if latest is None:
        return {}
    state = State(str(address), vault, address, latest, is_latest=True)
    found: dict[str, dict[str, Any]] = {}
    for name, section, key in _EXPORTED:
        if text := state.nameplate.get(name, "").strip():
            value: Any = int(text) if text.isdecimal() and section != "nameplate" else text
            found.setdefault(section, {})[key] = value
    parameters = {p.role: p for p in state.parameters.values() if p.role is not None}
    for role, key in _RATINGS:
        parameter = parameters.get(role)
        if parameter is not None and parameter.unit and not isinstance(parameter.value, str):
            found.setdefault("motor", {})[key] = f"{plain(parameter.value)} {parameter.unit}"
    return found


def _section(
    name: str,
    remark: str,
    form: tuple[tuple[str, str, str], ...],
    known: dict[str, Any],
    exported: dict[str, dict[str, Any]],
) -> Iterator[str]:
    mine = known if not name else known.get(name) or {}
    told = exported.get(name, {})
    indent = "  " if name else ""
    if name:
        yield "\n" + (f"# {remark}\n" if remark else "")
        yield f"{'' if mine or told else '# '}{name}:\n"
    keys = [key for key, _, _ in form]
    sections = {section for section, _, _ in _FORM}
    for key, example, said in form:
        note = f"  # {said}" if said else ""
        if key in mine:
            yield from _entry(indent, key, mine[key])
        elif key in told:
            yield from _entry(indent, key, told[key], "  # as exported")
        else:
            yield f"# {indent}{key}: {example}{note}\n"
    for key, value in mine.items():
        if key not in keys and key not in sections:
            yield from _entry(indent, key, value)


def _entry(indent: str, key: str, value: Any, note: str = "") -> Iterator[str]:
    """A line of YAML, several for a text of several lines."""
    text = yaml_text.mapping_text({key: value}).decode().rstrip("\n")
    first, *rest = text.split("\n")
    yield f"{indent}{first}{note if not rest else ''}\n"
    for line in rest:
        yield f"{indent}{line}\n"
