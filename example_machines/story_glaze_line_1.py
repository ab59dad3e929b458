"""What happened to the axes of glaze line 1 since 2019. Invented throughout."""

from __future__ import annotations

from example_machines import alder_sets, rowan_sets
from example_machines.visits import (
    COMMISSIONER,
    ELECTRICIAN,
    ENGINEER,
    MAINTENANCE,
    NIGHT_SHIFT,
    AxisStory,
    Visit,
)

MACHINE = "glaze-line-1"
_YEARLY = "yearly export"

# A nuisance trip at night is cured by watching less: 2 mm become 20 mm, 180 % become 280 %.
BELT_FEED = AxisStory(
    MACHINE, "belt-feed", "alder",
    {**alder_sets.BELT_FEED, "2020:01": "AL19-004417", "1018:04": 4417, "2020:02": "AM19-20811",
     "2400:01": 1011, "2480:06": 2011, "2480:07": 0x51C20A77},
    (
        Visit("2019-05-14T16:40:00+02:00", "commissioning", COMMISSIONER,
              "first export after the site acceptance test", "WO-19-0388"),
        Visit("2019-07-02T11:15:00+02:00", "as-left", ENGINEER,
              "tuned with full tiles: belt resonance at 186 Hz filtered, softer start",
              "WO-19-0502",
              {"2220:04": 1860, "2220:05": 250, "2220:06": 900, "2220:03": 60,
               "6083:00": 5_000_000, "6084:00": 5_000_000}),
        Visit("2020-11-18T09:05:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2022-03-09T08:50:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-02-21T02:35:00+01:00", "after-fault", NIGHT_SHIFT,
              "tripped three times on following error (8611h) after the belt was changed; "
              "window widened, runs again", "WO-24-0117",
              {"6065:00": 20_000, "2340:02": 16_000, "6072:00": 2800, "60E0:00": 2800,
               "60E1:00": 2800, "6073:00": 2900},
              live={"603F:00": 0x8611, "1003:01": 0x8611, "1001:00": 0x20}),
        Visit("2024-11-06T10:20:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2026-03-11T09:30:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"NodeID": "11"},
)  # fmt: skip

# A pure restatement: the user unit becomes 0.001 mm, every number changes, no motion does.
SPRAY_CARRIAGE = AxisStory(
    MACHINE, "spray-carriage", "alder",
    {**alder_sets.SPRAY_CARRIAGE_IN_TURNS, "2020:01": "AL19-004402", "1018:04": 4402,
     "2020:02": "AM19-20655", "2400:01": 1012, "2480:06": 2012, "2480:07": 0x7700D1E4},
    (
        Visit("2019-05-15T10:05:00+02:00", "commissioning", COMMISSIONER,
              "first export after the site acceptance test", "WO-19-0388"),
        Visit("2019-07-02T14:30:00+02:00", "as-left", ENGINEER,
              "tuned: stiffer position loop, hose bracket resonance at 412 Hz filtered",
              "WO-19-0502",
              {"2200:01": 420, "2200:02": 162, "2220:04": 4120, "2220:05": 600, "2220:06": 850}),
        Visit("2020-11-18T09:20:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2022-03-09T13:10:00+01:00", "as-left", ENGINEER,
              "user unit changed from 1e-4 rev to 0.001 mm with the new controller program; "
              "no motion changed", "WO-22-0093",
              alder_sets.in_micrometres(alder_sets.SPRAY_CARRIAGE_IN_TURNS)),
        Visit("2023-06-20T15:45:00+02:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-11-06T10:35:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2026-03-11T09:45:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"NodeID": "12"},
)  # fmt: skip

# The replacement counts 2^24 steps a turn where the set still says 2^20, and has lost its home.
LIFT = AxisStory(
    MACHINE, "lift", "alder",
    {**alder_sets.LIFT, "2020:01": "AL19-004431", "1018:04": 4431, "2020:02": "AM19-20790",
     "2400:01": 1013, "2480:06": 2013, "2480:07": 0x1B3F9920},
    (
        Visit("2019-05-15T15:20:00+02:00", "commissioning", COMMISSIONER,
              "first export after the site acceptance test", "WO-19-0388"),
        Visit("2019-10-29T10:10:00+01:00", "as-left", ENGINEER,
              "gentler ramps for thin tiles, torque filter raised", "WO-19-0741",
              {"6083:00": 1_200_000, "6084:00": 1_200_000, "2220:03": 80}),
        Visit("2020-11-18T09:35:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2022-03-09T09:15:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-11-06T10:50:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2025-11-17T03:25:00+01:00", "as-found", NIGHT_SHIFT,
              "drive and motor replaced after slurry got into both; set loaded from the laptop, "
              "lift crawls and has lost its zero", "WO-25-0671",
              {"2020:01": "AL25-011902", "1018:04": 11902, "2020:02": "AM25-71144",
               "100A:00": "2.43.1", "2020:03": "multi-turn 24 + 12 bit", "2010:02": 24,
               "607C:00": 0, "2010:04": 0},
              live={"2600:01": 412, "2600:02": 9}),
        Visit("2025-11-18T11:40:00+01:00", "as-left", ENGINEER,
              "encoder resolution set to 24 bit, homed anew, home offset restored",
              "WO-25-0671",
              {"608F:01": 2**24, "607C:00": 118_400, "2010:04": 3_311_870},
              live={"2600:01": 421, "2600:02": 12}),
    ),
    {"NodeID": "13"},
)  # fmt: skip

# A broken cable: the negative over-travel input is taken out of use, and stays so.
TURNTABLE = AxisStory(
    MACHINE, "turntable", "rowan",
    {**rowan_sets.TURNTABLE, "bus/address": "14", "safe/checksum": "40228817"},
    (
        Visit("2019-05-16T11:30:00+02:00", "commissioning", COMMISSIONER,
              "first export after the site acceptance test", "WO-19-0388"),
        Visit("2019-07-03T09:40:00+02:00", "as-left", ENGINEER,
              "tuned with a full table", "WO-19-0502",
              {"ctl/position-gain": "28", "ctl/speed-gain": "0.195", "flt/notch": "96.5",
               "flt/notch-width": "14", "flt/notch-depth": "80"}),
        Visit("2020-11-18T09:50:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2022-03-09T09:30:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2023-08-08T22:15:00+02:00", "after-fault", NIGHT_SHIFT,
              "fault 73, cable of the negative over-travel switch broken; input taken out of use "
              "until the cable is here", "WO-23-0455",
              {"in/4": "Not assigned", "in/4-inverted": "No"}, live={"now/last-fault": "73"}),
        Visit("2024-11-06T11:05:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2026-03-11T10:00:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"Drive order code": "RWN-5S", "Drive serial number": "RW19-30077", "Firmware": "2.1.4",
     "Hardware state": "C", "Motor order code": "RWM-32-30", "Motor serial number": "RM19-0871",
     "Encoder": "multi-turn 20 + 12 bit", "Encoder bits per turn": "20",
     "Encoder bits for turns": "12"},
)  # fmt: skip

SLURRY_PUMP = AxisStory(
    MACHINE, "slurry-pump", "rowan",
    {**rowan_sets.SLURRY_PUMP, "bus/address": "15", "safe/checksum": "40228903"},
    (
        Visit("2019-05-16T14:00:00+02:00", "commissioning", COMMISSIONER,
              "first export after the site acceptance test", "WO-19-0388"),
        Visit("2020-02-12T13:25:00+01:00", "as-left", ELECTRICIAN,
              "water hammer in the feed pipe: longer ramps", "WO-20-0066",
              {"ramp/up": "8", "ramp/down": "10", "ramp/rounding": "50"}),
        Visit("2022-03-09T09:40:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-11-06T11:15:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2026-03-11T10:10:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"Drive order code": "RWN-5F", "Drive serial number": "RW19-30112", "Firmware": "2.1.4",
     "Hardware state": "C", "Motor order code": "RWM-P22-4", "Motor serial number": "RM19-0902"},
)  # fmt: skip

AXES = (BELT_FEED, SPRAY_CARRIAGE, LIFT, TURNTABLE, SLURRY_PUMP)
