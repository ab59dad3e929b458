"""Exports of the invented family larch: tabs, UTF-16 with a mark, one or two axes in a file.

Contents are whole numbers of steps with a thousands separator. The writer knows nothing of our own
formats, so that it can test them.
"""

from __future__ import annotations

import codecs
from collections.abc import Sequence

from example_machines import larch_catalogue
from example_machines.visits import Setting, Settings, State

HEADINGS = (
    "Axis", "Key", "Meaning", "Content", "Step", "Least", "Most", "As delivered", "Access",
)  # fmt: skip
NAMEPLATE = ("Drive", "Serial number", "Firmware", "Hardware")


def live_values(state: State, settings: Settings) -> Settings:
    """Live values of one visit; the axis stands still somewhere within its limits."""
    position = state.wobble("position", int(settings["mov-121"]), int(settings["mov-122"]))
    held = int(settings.get("reg-218", 0))
    shared = State(state.story, state.visit, state.number, {}, {})
    return {
        "dia-001": position,
        "dia-002": state.wobble("velocity", -2, 2),
        "dia-003": held + state.wobble("torque", -9, 9),
        "dia-004": abs(held) + state.wobble("current", 0, 12),
        "dia-005": state.wobble("dc link", 5480, 5720),
        "dia-006": state.wobble("lag", -6, 6),
        "dia-007": state.wobble("motor", 360, 690),
        "dia-008": shared.wobble("heatsink", 310, 450),
        "dia-009": state.wobble("load", 150, 640),
        "dia-010": state.hours * 10,
        "dia-011": state.power_cycles,
        "dia-013": (0x1637, 0x1650, 0x1633)[state.wobble("status", 0, 2)],
        "dia-014": position + state.wobble("lag", -6, 6),
        "dia-015": state.wobble("inputs", 0, 3),
    }


def text(states: Sequence[State]) -> bytes:
    """The export of a drive at one visit: one state per axis, the first speaks for the drive."""
    first = states[0]
    version = int(first.fitted["Firmware"].partition(".")[0])
    station = " + ".join(state.story.axis for state in states)
    lines = ["Saved parameters of a Larch drive (invented example)"]
    lines += [f"{label}\t{first.fitted[label]}" for label in NAMEPLATE]
    lines += [
        f"Station\t{first.story.machine} {station}",
        f"Saved at\t{first.visit.taken_at}",
        "",
        "\t".join(HEADINGS),
    ]
    for number, state in enumerate(states, 1):
        settings = live_values(state, state.settings) | state.settings | dict(state.visit.live)
        rows = _rows(version)
        if unknown := settings.keys() - rows.keys():
            raise ValueError(f"no such parameters: {sorted(unknown)}")
        for code, row in rows.items():
            if row[1] == "all" and number > 1:
                continue
            lines.append(_line(row, "" if row[1] == "all" else str(number), settings.get(code)))
    return codecs.BOM_UTF16_LE + ("\r\n".join(lines) + "\r\n").encode("utf-16-le")


def _rows(version: int) -> dict[str, list[str]]:
    rows = larch_catalogue.ROWS + (larch_catalogue.FROM_5_0 if version >= 5 else "")
    return {row[0]: row for row in (line.split(";") for line in rows.splitlines())}


def _line(row: list[str], axis: str, content: Setting | None) -> str:
    code, _, step, access, low, high, default, name = row
    shown = default if content is None else content
    cells = (_number(shown), step, _number(low), _number(high), _number(default), access)
    return "\t".join((axis, code, name, *cells))


def _number(content: Setting) -> str:
    """A whole number with its thousands set apart; words as they are."""
    try:
        return f"{int(content):,}"
    except ValueError:
        return str(content)
