"""What happened to the controllers of the two glaze lines since 2019. Invented throughout."""

from __future__ import annotations

from dataclasses import dataclass

from example_machines.controller_project import Release
from example_machines.visits import COMMISSIONER, ENGINEER, MAINTENANCE, Visit

AXES = ("lift", "spray-carriage", "belt-feed", "turntable", "slurry-pump")
"""All axes that a line's project moves, as the vault calls them."""
_YEARLY = "yearly export of the controller's project"


@dataclass(frozen=True, slots=True)
class ControllerStory:
    """A line's controller: its visits, and the project as each of them found or left it."""

    machine: str
    visits: tuple[tuple[Visit, Release], ...]


# The carriage jogs at 250 mm/s from the controller since it is cleaned by hand, and at 20 mm/s by
# its drive's own set. Since the lift's drive was replaced its block asks for homing on the switch
# (19), and the drive still takes the place where it stands for home (37).
_LINE_1_NOW = {"lift home": "19", "carriage jog": "250.0"}
LINE_1 = ControllerStory(
    "glaze-line-1",
    (
        (
            Visit("2019-05-17T09:00:00+02:00", "commissioning", COMMISSIONER,
                  "project as it was accepted", "WO-19-0388"),
            Release("glaze-line-1", "2019-05-16T17:40:00", {}),
        ),
        (
            Visit("2022-03-09T14:00:00+01:00", "as-left", ENGINEER,
                  "faster hand moves of the carriage for cleaning", "WO-22-0093"),
            Release("glaze-line-1", "2022-03-09T13:45:00", {"carriage jog": "250.0"}),
        ),
        (
            Visit("2025-11-18T12:30:00+01:00", "as-left", ENGINEER,
                  "lift homes on its switch after the drive was replaced", "WO-25-0671"),
            Release("glaze-line-1", "2025-11-18T12:05:00", _LINE_1_NOW),
        ),
    ),
)  # fmt: skip

# The motion task was slowed down to 4 ms when the controller ran full; the drives of lift, carriage
# and belt take 1 ms still. The turntable is in another task, and the pump is no matter of it.
_ZERO_2 = {"lift zero": "121.05"}
_LINE_2_NOW = {**_ZERO_2, "interval": "T#4ms"}
LINE_2 = ControllerStory(
    "glaze-line-2",
    (
        (
            Visit("2020-09-10T09:00:00+02:00", "commissioning", COMMISSIONER,
                  "project as it was accepted", "WO-20-0610"),
            Release("glaze-line-2", "2020-09-09T18:10:00", _ZERO_2),
        ),
        (
            Visit("2024-05-22T15:30:00+02:00", "as-left", ENGINEER,
                  "motion task slowed down: the controller ran full", "WO-24-0310"),
            Release("glaze-line-2", "2024-05-22T15:10:00", _LINE_2_NOW),
        ),
        (
            Visit("2026-03-12T10:20:00+01:00", "routine", MAINTENANCE, _YEARLY),
            Release("glaze-line-2", "2024-05-22T15:10:00", _LINE_2_NOW),
        ),
    ),
)  # fmt: skip
CONTROLLERS = (LINE_1, LINE_2)
