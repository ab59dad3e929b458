"""Exports of the invented family rowan: semicolons, decimal comma, Windows-1252.

Values are scaled and choices are in words. The writer knows nothing of our own formats, so that it
can test them.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from example_machines import rowan_catalogue
from example_machines.visits import Setting, Settings, State

HEADINGS = ("Code", "Name", "Value", "Unit", "Min", "Max", "Default")
NAMEPLATE = (
    "Drive order code", "Drive serial number", "Firmware", "Hardware state", "Motor order code",
    "Motor serial number", "Encoder", "Encoder bits per turn", "Encoder bits for turns",
)  # fmt: skip


def live_values(state: State, settings: Settings) -> Settings:
    """Live values of one visit; the axis stands still."""
    low = Decimal(settings.get("pos/limit-low", "0"))
    high = Decimal(settings.get("pos/limit-high", "0"))
    position = Decimal(state.wobble("position", int(low * 1000), int(high * 1000))) / 1000
    return {
        "id/set-revision": state.number + 1,
        "now/position": str(position),
        "now/torque": str(Decimal(state.wobble("torque", -12, 25)) / 10),
        "now/current": str(Decimal(state.wobble("current", 0, 40)) / 10),
        "now/dc-link": str(Decimal(state.wobble("dc link", 5480, 5720)) / 10),
        "now/lag": str(Decimal(state.wobble("lag", -3, 3)) / 1000),
        "now/heatsink": state.wobble("heatsink", 29, 44),
        "now/motor-temperature": state.wobble("motor", 35, 68),
        "now/motor-load": state.wobble("load", 18, 66),
        "now/hours": state.hours,
        "now/power-ups": state.power_cycles,
    }


def text(state: State) -> bytes:
    """The export of an axis at one visit."""
    settings = live_values(state, state.settings) | state.settings | dict(state.visit.live)
    version = tuple(int(part) for part in state.fitted["Firmware"].split("."))
    rows = rowan_catalogue.ROWS + (rowan_catalogue.FROM_2_4 if version >= (2, 4) else "")
    lines = ["Parameters of a Rowan drive (invented example)"]
    lines += [f"{label};{state.fitted[label]}" for label in NAMEPLATE if label in state.fitted]
    lines += [
        f"Axis;{state.story.machine} {state.story.axis}",
        f"Bus address;{settings['bus/address']}",
        f"Exported;{state.visit.taken_at}",
        "",
        ";".join(HEADINGS),
    ]
    known = {row.partition(";")[0]: row for row in rows.splitlines()}
    for row in known.values():
        code, places, unit, low, high, default, name = row.split(";")
        cells = [_cell(cell, int(places)) for cell in (settings.get(code, default), low, high)]
        value, least, most = cells
        lines.append(";".join((code, name, value, unit, least, most, _cell(default, int(places)))))
    if unknown := settings.keys() - known.keys():
        raise ValueError(f"no such parameters: {sorted(unknown)}")
    return ("\r\n".join(lines) + "\r\n").encode("windows-1252")


def _cell(content: Setting, places: int) -> str:
    """A number with the places of its parameter and a decimal comma; words as they are."""
    try:
        number = Decimal(content)
    except InvalidOperation:
        return str(content)
    if number != round(number, places):
        raise ValueError(f"{content} has more than {places} places")
    return f"{number:.{places}f}".replace(".", ",")
