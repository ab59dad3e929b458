"""Exports of the invented family alder: a DCF after CiA 306, as a foreign tool would write it.

Key names, section order and the spelling `DeviceComissioning` are from memory. The writer knows
nothing of our own formats, so that it can test them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from example_machines import alder_catalogue
from example_machines.visits import Setting, Settings, State

_TYPES = {
    "BOOL": 0x01, "I8": 0x02, "I16": 0x03, "I32": 0x04, "U8": 0x05, "U16": 0x06, "U32": 0x07,
    "TEXT": 0x09,
}  # fmt: skip
# Objects that the tool writes in hex: bit fields and codes.
_HEX = frozenset(
    (
        "1000:00", "1003:01", "1016:01", "1018:03", "2480:07", "603F:00", "6040:00", "6041:00",
        "60A8:00", "60A9:00", "60AA:00", "60AB:00", "60FD:00", "60FE:01", "60FE:02", "6502:00",
    )
)  # fmt: skip
_MANDATORY = (0x1000, 0x1001, 0x1018)
_RECORDS = {
    0x1003: "Error history", 0x1016: "Heartbeats watched", 0x1018: "Identity",
    0x2010: "Encoder", 0x2020: "Nameplate", 0x2030: "Motor data", 0x2050: "Holding brake",
    0x2080: "Supply", 0x20A0: "Braking resistor", 0x2200: "Control loops", 0x2220: "Filters",
    0x2300: "Input functions", 0x2301: "Inputs inverted", 0x2310: "Output functions",
    0x2311: "Outputs inverted", 0x2340: "Travel monitoring", 0x2360: "Set-up moves",
    0x2380: "Homing monitoring", 0x2400: "Controller link", 0x2480: "Safety functions",
    0x2500: "Device", 0x2600: "Operation record", 0x607B: "Position range",
    0x607D: "Software position limits", 0x608F: "Position encoder resolution",
    0x6091: "Gear ratio", 0x6092: "Feed constant", 0x6099: "Homing speeds",
    0x60A4: "Profile jerk", 0x60C2: "Interpolation time", 0x60FE: "Digital outputs",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Object:
    """One entry of the object dictionary; `code` is index and sub-index in hex, `6091:01`."""

    code: str
    type: str
    access: str
    low: str
    high: str
    default: Setting
    name: str

    @property
    def index(self) -> int:
        """Index of the object."""
        return int(self.code[:4], 16)

    @property
    def sub(self) -> int:
        """Sub-index of the entry."""
        return int(self.code[5:], 16)


def objects(firmware: str) -> list[Object]:
    """Entries of a firmware version, by index and sub-index."""
    rows = alder_catalogue.ROWS
    if int(firmware.split(".")[0]) >= 3:
        rows += alder_catalogue.FROM_3_0
    found: dict[str, Object] = {}
    for row in rows.splitlines():
        code, kind, access, low, high, default, name = row.split(";")
        usual: Setting = default if kind == "TEXT" else int(default)
        found[code] = Object(code, kind, access, low, high, usual, name)
    return sorted(found.values(), key=lambda entry: (entry.index, entry.sub))


def live_values(state: State, settings: Settings) -> Settings:
    """Live values of one visit; the axis stands still somewhere within its limits."""
    low, high = int(settings["607D:01"]), int(settings["607D:02"])
    position = state.wobble("position", low, high)
    lag = state.wobble("lag", -4, 4)
    increments = position * int(settings["608F:01"]) * int(settings["6091:01"])
    increments //= int(settings["6092:01"])
    held = int(settings.get("60B2:00", 0))
    return {
        "6061:00": settings.get("6060:00", 8),
        "6041:00": (0x1637, 0x1650, 0x1633)[state.wobble("status", 0, 2)],
        "6040:00": 0x000F,
        "6062:00": position + lag,
        "6063:00": increments,
        "6064:00": position,
        "606C:00": state.wobble("velocity", -3, 3),
        "6074:00": held + state.wobble("demand", -9, 9),
        "6077:00": held + state.wobble("torque", -9, 9),
        "6078:00": abs(held) + state.wobble("current", 0, 12),
        "6079:00": state.wobble("dc link", 548_000, 572_000),
        "607A:00": position + lag,
        "60F4:00": lag,
        "60FD:00": state.wobble("inputs", 0, 3) << 16,
        "2600:01": state.hours * 10 + state.wobble("hours", 0, 9),
        "2600:02": state.power_cycles,
        "2600:03": state.wobble("heatsink", 31, 46),
        "2600:04": state.wobble("motor", 38, 71),
        "2600:05": state.wobble("load", 22, 61),
        "2600:06": state.wobble("encoder", 34, 58),
    }


def text(state: State) -> bytes:
    """The DCF of an axis at one visit."""
    entries = objects(str(state.settings["100A:00"]))
    settings = {entry.code: entry.default for entry in entries} | state.settings
    settings = settings | live_values(state, settings) | dict(state.visit.live)
    unknown = settings.keys() - {entry.code for entry in entries}
    if unknown:
        raise ValueError(f"no such objects: {sorted(unknown)}")
    lines = [*_head(state, settings), *_lists(entries)]
    by_index: dict[int, list[Object]] = {}
    for entry in entries:
        by_index.setdefault(entry.index, []).append(entry)
    for index, members in by_index.items():
        lines += _sections(index, members, settings)
    return ("\r\n".join(lines) + "\r\n").encode("ascii")


def _head(state: State, settings: Settings) -> Iterator[str]:
    taken = datetime.fromisoformat(state.visit.taken_at)
    author = state.visit.by.partition(" <")[0]
    serial = str(settings["2020:01"])
    yield from (
        "[FileInfo]",
        f"FileName={state.story.axis}.dcf",
        "FileVersion=1",
        f"FileRevision={state.number + 1}",
        "EDSVersion=4.0",
        f"Description=Parameters of {state.story.machine}/{state.story.axis}",
        f"CreationTime={taken:%I:%M%p}",
        f"CreationDate={taken:%m-%d-%Y}",
        f"CreatedBy={author}",
        f"ModificationTime={taken:%I:%M%p}",
        f"ModificationDate={taken:%m-%d-%Y}",
        f"ModifiedBy={author}",
        "LastEDS=alder.eds",
        "",
        "[DeviceInfo]",
        "VendorName=Alder example drives (invented)",
        "VendorNumber=0x0000EEEE",
        f"ProductName={settings.get('1008:00', 'ALD servo drive')}",
        "ProductNumber=4610",
        "RevisionNumber=0x00020029",
        f"OrderCode={settings['6503:00']}",
        *(f"BaudRate_{rate}={int(rate >= 125)}" for rate in (10, 20, 50, 125, 250, 500, 800, 1000)),
        "SimpleBootUpMaster=0",
        "SimpleBootUpSlave=1",
        "Granularity=8",
        "DynamicChannelsSupported=0",
        "GroupMessaging=0",
        "NrOfRXPDO=4",
        "NrOfTXPDO=4",
        "LSS_Supported=1",
        "",
        "[DeviceComissioning]",
        f"NodeID={state.fitted['NodeID']}",
        f"NodeName={state.story.machine} {state.story.axis}",
        "Baudrate=1000",
        "NetNumber=1",
        f"NetworkName={state.story.machine}",
        "CANopenManager=0",
        f"LSS_SerialNumber={int(serial.rpartition('-')[2])}",
        "",
        "[Comments]",
        "Lines=1",
        "Line1=Invented example, not a real drive",
        "",
    )


def _lists(entries: list[Object]) -> Iterator[str]:
    every = sorted({entry.index for entry in entries})
    makers = [index for index in every if 0x2000 <= index < 0x6000]
    rest = [index for index in every if index not in makers and index not in _MANDATORY]
    for title, members in (
        ("MandatoryObjects", list(_MANDATORY)),
        ("OptionalObjects", rest),
        ("ManufacturerObjects", makers),
    ):
        yield f"[{title}]"
        yield f"SupportedObjects={len(members)}"
        yield from (f"{number}=0x{index:04X}" for number, index in enumerate(members, 1))
        yield ""


def _sections(index: int, members: list[Object], settings: Settings) -> Iterator[str]:
    if index not in _RECORDS:
        yield from _entry(f"{index:04X}", members[0], settings)
        return
    yield f"[{index:04X}]"
    yield f"ParameterName={_RECORDS[index]}"
    yield "ObjectType=0x9"
    yield f"SubNumber={len(members) + 1}"
    yield ""
    yield f"[{index:04X}sub0]"
    yield "ParameterName=Highest sub-index"
    yield "ObjectType=0x7"
    yield "DataType=0x0005"
    yield "AccessType=const"
    yield f"DefaultValue={members[-1].sub}"
    yield "PDOMapping=0"
    yield ""
    for member in members:
        yield from _entry(f"{index:04X}sub{member.sub:X}", member, settings)


def _entry(section: str, entry: Object, settings: Settings) -> Iterator[str]:
    value = settings.get(entry.code, entry.default)
    yield f"[{section}]"
    yield f"ParameterName={entry.name}"
    yield "ObjectType=0x7"
    yield f"DataType=0x{_TYPES[entry.type]:04X}"
    if entry.low:
        yield f"LowLimit={entry.low}"
    if entry.high:
        yield f"HighLimit={entry.high}"
    yield f"AccessType={entry.access}"
    yield f"DefaultValue={_written(entry, entry.default)}"
    yield f"PDOMapping={int(entry.access == 'ro' and entry.index >= 0x6000)}"
    yield f"ParameterValue={_written(entry, value)}"
    yield ""


def _written(entry: Object, value: Setting) -> str:
    if entry.code in _HEX and isinstance(value, int):
        return f"0x{value:08X}" if entry.type == "U32" else f"0x{value:04X}"
    return str(value)
