"""Roles: what a parameter means, whatever family it comes from.

A role is named after its CiA 402 object where the standard has one. The rows stand in
`role_table` (standard objects), `role_table_drive` (what the standard has no object for) and
`role_table_controller` (what a controller holds of the axis).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import lru_cache

from vault.model import role_table, role_table_controller, role_table_drive

GROUPS: tuple[tuple[str, str], ...] = (
    ("identity", "Identity"),
    ("units", "Units and scaling"),
    ("limits", "Limits"),
    ("motion", "Motion"),
    ("stop", "Stopping"),
    ("homing", "Homing"),
    ("control", "Control loops"),
    ("torque", "Torque and current"),
    ("motor", "Motor"),
    ("encoder", "Encoder"),
    ("brake", "Holding brake"),
    ("supply", "Supply and braking resistor"),
    ("io", "Inputs and outputs"),
    ("link", "Controller link"),
    ("safety", "Safety functions"),
    ("status", "Status"),
    ("device", "Device"),
    ("controller", "Controller's side"),
)
"""Groups a parameter is shown in, in this order: name and title."""

CONTROLLER = "controller"
"""The group of what a controller holds: a drive's export has none of it."""

KINDS = frozenset(
    [
        "length",
        "angle",
        "position",
        "velocity",
        "acceleration",
        "jerk",
        "increments",
        "ratio",
        "count",
        "time",
        "frequency",
        "torque",
        "rated_torque",
        "current",
        "rated_current",
        "voltage",
        "power",
        "energy",
        "resistance",
        "inductance",
        "capacitance",
        "inertia",
        "mass",
        "temperature",
        "torque_constant",
        "gain",
        "gain_plain",
        "motor_speed",
        "percent",
        "choice",
        "bits",
        "flag",
        "text",
        "identity",
        "address",
        "data_size",
        "interval",
        "version",
    ]
)
"""Kinds of quantity. `position`, `velocity`, `acceleration` and `jerk` are in user units,
`rated_torque` and `rated_current` in permille of the rating, `gain` in 1/s."""

_TYPES = {
    "BOOL": "BOOLEAN", "I8": "INTEGER8", "I16": "INTEGER16", "I32": "INTEGER32",
    "U8": "UNSIGNED8", "U16": "UNSIGNED16", "U32": "UNSIGNED32", "TEXT": "VISIBLE_STRING",
}  # fmt: skip
_NUMBERED = re.compile(r"([a-z][a-z0-9_]*)\.([1-9][0-9]{0,2})")
_OBJECT = re.compile(r"(0x[0-9A-F]{4}):([0-9A-F]{2})")
_LAST_ENTRY = 0xFE  # CiA 301: sub-index FFh does not hold an entry; from memory


@dataclass(frozen=True, slots=True)
class Role:
    """The meaning of a parameter.

    `object` is the address of the standard object (`0x6065:00`), `unit` the unit it is in when
    nothing else says, `choices` a table in `vault.model.choices`. `volatile` roles hold live
    values. A `numbered` role may be used as `name.3`; where it has an object, that is the first
    entry of an array and `name.N` is sub-index N (the first one keeps the bare name).
    """

    name: str
    title: str
    object: str | None
    kind: str
    unit: str | None
    data_type: str
    group: str
    choices: str | None = None
    volatile: bool = False
    access: str = "rw"
    safety: bool = False
    numbered: bool = False


def find(name: str) -> Role | None:
    """Return the role of this name; `name.3` finds the role `name` if it may be numbered."""
    role = _BY_NAME.get(name)
    if role is not None:
        return role
    parts = _NUMBERED.fullmatch(name)
    base = _BY_NAME.get(parts[1]) if parts else None
    return base if base is not None and base.numbered else None


@lru_cache(maxsize=1024)
def for_object(code: str) -> Role | None:
    """Return the role of a standard object in canonical spelling (`0x6065:00`).

    An array entry gives its numbered role: `0x1016:03` gives `consumer_heartbeat_time.3`.
    """
    parts = _OBJECT.fullmatch(code)
    if parts is None or code in _BY_OBJECT:
        return _BY_OBJECT.get(code)
    entry = int(parts[2], 16)
    array = _ARRAYS.get(parts[1])
    if array is None or not 2 <= entry <= _LAST_ENTRY:
        return None
    title = f"{array.title} {entry}"
    return replace(array, name=f"{array.name}.{entry}", title=title, object=code)


def all_roles() -> tuple[Role, ...]:
    """Return every role, standard objects first."""
    return _ROLES


def _address(written: str) -> str | None:
    """Spell out an address of the table: `6065` is `0x6065:00`, `607D:1` is `0x607D:01`."""
    if written == "-":
        return None
    index, _, entry = written.partition(":")
    return f"0x{int(index, 16):04X}:{int(entry or '0', 16):02X}"


def _role(group: str, row: str) -> Role:
    """Read one table row: name, object, kind, unit, type, options; after `|` the title.

    Options: `live` (volatile), `ro`, `wo` or `const` (access), `safety`, `numbered`, `=NAME`
    (choice table).
    """
    columns, _, title = row.partition("|")
    name, address, kind, unit, data_type, *options = columns.split()
    return Role(
        name=name,
        title=title.strip() or name.replace("_", " ").capitalize(),
        object=_address(address),
        kind=kind,
        unit=None if unit == "-" else unit,
        data_type=_TYPES[data_type],
        group=group,
        choices=next((o[1:] for o in options if o.startswith("=")), None),
        volatile="live" in options,
        access=next((o for o in options if o in ("ro", "wo", "const")), "rw"),
        safety="safety" in options,
        numbered="numbered" in options,
    )


def _read(table: dict[str, str]) -> tuple[Role, ...]:
    return tuple(
        _role(group, row)
        for group, rows in table.items()
        for row in rows.splitlines()
        if row.strip()
    )


_ROLES = _read(role_table.ROWS) + _read(role_table_drive.ROWS) + _read(role_table_controller.ROWS)
_BY_NAME = {role.name: role for role in _ROLES}
_BY_OBJECT = {role.object: role for role in _ROLES if role.object}
_ARRAYS = {role.object[:6]: role for role in _ROLES if role.object and role.numbered}
