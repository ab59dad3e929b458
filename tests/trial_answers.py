"""Templates of trials, filled in as a person does it."""

from __future__ import annotations

import re

_TICK = re.compile(
    r"^  (emergency_stop|over_travel_low|over_travel_high|home|positive|negative|stops|holds|"
    r"reacts):.*$",
    re.MULTILINE,
)
_MOVE = re.compile(r"\{commanded: (\S+ \S+), measured: \}")
_STOP = re.compile(r"(- \{from: \S+ \S+, way: )(, by: \S+\})")


def filled(template: str, *, tick: str = "ok", way: str = "0 mm", drop: str = "0 mm") -> str:
    """Every question answered: ticks alike, moves as they were commanded, stops of a way."""
    text = _TICK.sub(rf"  \1: {tick}", template)
    text = _MOVE.sub(r"{commanded: \1, measured: \1}", text)
    text = _STOP.sub(rf"\g<1>{way}\g<2>", text)
    text = re.sub(r"readings: \[\]", f"readings: [{way}, {way}]", text)
    return re.sub(r"^drop:", f"drop: {drop}", text, flags=re.MULTILINE)
