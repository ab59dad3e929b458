"""Bulk exports of drives of the family hazel: invented, like everything on them.

From one export of an axis to the next a few settings change and every live value does; most
settings of an axis are as delivered. Equal arguments give equal bytes.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import product
from pathlib import Path
from random import Random

FAMILY = "hazel"
HEADINGS = ("Code", "Name", "Value", "Unit", "Min", "Max", "As delivered")
_SEPARATOR = ";"
AXES_PER_MACHINE = 20
_FIRST_VISIT = date(2016, 2, 1)
_OWN_SHARE = 0.3  # of the settings that commissioning changes
_MOST_CHANGES = 4  # settings changed between two exports

# Name, role, unit, decimals, lowest, highest, live.
_KNOWN = (
    ("Actual position", "position_actual_value", "mm", 3, -5_000_000, 5_000_000, True),
    ("Actual velocity", "velocity_actual_value", "mm/s", 1, -20_000, 20_000, True),
    ("Actual torque", "torque_actual_value", "percent_rated_torque", 1, -3000, 3000, True),
    ("DC-link voltage", "dc_link_voltage", "V", 1, 0, 9000, True),
    ("Motor temperature", "motor_temperature", "degC", 1, -400, 1800, True),
    ("Heatsink temperature", "heatsink_temperature", "degC", 1, -400, 1200, True),
    ("Operating hours", "operating_hours", "h", 1, 0, 2_000_000, True),
    ("Power cycles", "power_cycles", "", 0, 0, 100_000, True),
    ("Following error window", "following_error_window", "mm", 3, 0, 100_000, False),
    ("Following error time-out", "following_error_time_out", "ms", 0, 0, 10_000, False),
    ("Position window", "position_window", "mm", 3, 0, 100_000, False),
    ("Lower position limit", "min_software_position_limit", "mm", 3, -5_000_000, 0, False),
    ("Upper position limit", "max_software_position_limit", "mm", 3, 0, 5_000_000, False),
    ("Highest motor speed", "max_motor_speed", "r/min", 0, 0, 6000, False),
    ("Operating mode", "modes_of_operation", "", 0, 1, 10, False),
)
_PLACES = (
    "Speed loop", "Position loop", "Torque loop", "Input", "Output", "Brake", "Resistor",
    "Encoder", "Supply", "Homing", "Stop ramp", "Jog", "Monitor", "Notch filter", "Bus",
)  # fmt: skip
_QUANTITIES = (
    ("delay", "ms", 1, 0, 20_000),
    ("threshold", "percent", 2, 0, 20_000),
    ("filter time", "ms", 3, 0, 500_000),
    ("gain", "", 3, 0, 100_000),
    ("speed", "r/min", 0, 0, 6000),
    ("assignment", "", 0, 0, 64),
    ("ramp", "s", 3, 0, 60_000),
    ("voltage", "V", 1, 0, 9000),
    ("torque share", "percent_rated_torque", 1, 0, 3000),
    ("distance", "mm", 3, -1_000_000, 1_000_000),
)


@dataclass(frozen=True, slots=True)
class Row:
    """One parameter of the family; limits and default are in steps of the last decimal."""

    code: str
    name: str
    role: str | None
    unit: str
    decimals: int
    low: int
    high: int
    default: int
    live: bool

    def written(self, steps: int) -> str:
        """The number as the export spells it."""
        if not self.decimals:
            return str(steps)
        whole, part = divmod(abs(steps), 10**self.decimals)
        return f"{'-' * (steps < 0)}{whole},{part:0{self.decimals}d}"


@dataclass(frozen=True, slots=True)
class Export:
    """One export of the bulk set: its bytes and what the manifest says about it."""

    machine: str
    axis: str
    day: date
    content: bytes

    @property
    def path(self) -> Path:
        """Where it lies below the folder of the set."""
        return Path(self.machine, self.axis, f"{self.day}-routine.csv")


def parameters(number: int) -> list[Row]:
    """The family's parameters, in a dictionary of that length."""
    chance = Random("hazel")
    rows: list[Row] = []
    composed = (
        (f"{place} {count}, {name}", None, unit, decimals, low, high, False)
        for count, place, (name, unit, decimals, low, high) in product(
            range(1, 100), _PLACES, _QUANTITIES
        )
    )
    for at, known in zip(range(number), (*_KNOWN, *composed), strict=False):
        name, role, unit, decimals, low, high, live = known
        default = chance.randint(low, high) // 10 * 10 if high > 1000 else low
        code = f"{'live' if live else 'set'}/{at:04d}"
        rows.append(Row(code, name, role, unit, decimals, low, high, max(low, default), live))
    return rows


def family_text(rows: list[Row]) -> str:
    """families/hazel.yaml."""
    columns = dict(
        zip(("code", "name", "value", "unit", "low", "high", "default"), HEADINGS, strict=True)
    )
    lines = [
        "# Drive family hazel: invented for measuring; no drive of this kind exists.",
        "schema: axisvault/family/1",
        f"name: {FAMILY}",
        "title: Hazel drives (invented)",
        "export:",
        "  format: delimited",
        f"  delimiter: '{_SEPARATOR}'",
        "  decimal: ','",
        "  holds: value",
        "  columns: {" + ", ".join(f"{ours}: {theirs}" for ours, theirs in columns.items()) + "}",
        "  nameplate: {Drive: drive, Serial number: serial, Firmware: firmware}",
        "  recognise: {drive: ^HZL-}",
        "parameters:",
    ]
    for row in rows:
        keys = [f"name: {row.name!r}", f"scale: {10**-row.decimals:.{row.decimals}f}"]
        keys += [f"role: {row.role}"] if row.role else []
        keys += [f"unit: {row.unit}"] if row.unit else []
        keys += ["volatile: true"] if row.live else []
        lines.append(f"  {row.code}: {{{', '.join(keys)}}}")
    return "\n".join(lines) + "\n"


def exports(rows: list[Row], axes: int, visits: int) -> Iterator[Export]:
    """Exports of so many axes, axis by axis, each visited so many times."""
    for number in range(axes):
        yield from exports_of(rows, number, visits)


def write_tree(folder: Path, rows: list[Row], axes: int, visits: int) -> int:
    """Write the set and its manifest.csv; returns the number of bytes of all exports."""
    size = 0
    folder.mkdir()
    with (folder / "manifest.csv").open("w", newline="") as manifest:
        writer = csv.writer(manifest)
        writer.writerow(("file", "machine", "axis", "family", "taken_at", "occasion"))
        for export in exports(rows, axes, visits):
            path = folder / export.path
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(export.content)
            size += len(export.content)
            writer.writerow(
                (export.path, export.machine, export.axis, FAMILY, export.day, "routine")
            )
    return size


def exports_of(rows: list[Row], number: int, visits: int) -> Iterator[Export]:
    """Exports of one axis of the set, by its number."""
    machine, axis = _names(number)
    chance = Random(f"{machine}/{axis}")
    serial = f"HZ{number:05}{chance.randint(100, 999)}"  # of no other axis, whatever chance gives
    settings = [at for at, row in enumerate(rows) if not row.live]
    lines = [_line(row, row.default) for row in rows]
    for at in chance.sample(settings, int(len(settings) * _OWN_SHARE)):
        lines[at] = _line(rows[at], chance.randint(rows[at].low, rows[at].high))
    day = _FIRST_VISIT + timedelta(days=chance.randint(0, 60))
    for visit in range(visits):
        changed = chance.sample(settings, chance.randint(0, _MOST_CHANGES) if visit else 0)
        live = (at for at, row in enumerate(rows) if row.live)
        for at in (*live, *changed):
            lines[at] = _line(rows[at], chance.randint(rows[at].low, rows[at].high))
        yield Export(machine, axis, day, _content(serial, lines))
        day += timedelta(days=chance.randint(150, 400) * 10 // max(10, visits))


def as_delivered(rows: list[Row], number: int, day: date) -> Export:
    """The export of a drive that came from its maker and was put in for another one."""
    lines = [_line(row, row.default) for row in rows]
    return Export(*_names(number), day, _content(f"HZ-NEW-{number}", lines))


def _names(number: int) -> tuple[str, str]:
    machine, axis = divmod(number, AXES_PER_MACHINE)
    return f"machine-{machine + 1:03d}", f"axis-{axis + 1:02d}"


def _content(serial: str, lines: list[str]) -> bytes:
    head = f"Drive;HZL-4\r\nSerial number;{serial}\r\nFirmware;1.4.2\r\n\r\n"
    return "\r\n".join((head + _SEPARATOR.join(HEADINGS), *lines, "")).encode()


def _line(row: Row, steps: int) -> str:
    written = (row.written(number) for number in (steps, row.low, row.high, row.default))
    value, low, high, default = written
    return _SEPARATOR.join((row.code, row.name, value, row.unit or "-", low, high, default))
