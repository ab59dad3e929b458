"""What happened to the axes of glaze line 2, the younger twin, since 2020. Invented throughout."""

from __future__ import annotations

from example_machines import alder_sets, rowan_sets
from example_machines.visits import (
    COMMISSIONER,
    ELECTRICIAN,
    ENGINEER,
    MAINTENANCE,
    AxisStory,
    Visit,
)

MACHINE = "glaze-line-2"
_YEARLY = "yearly export"
_FIRST = "first export after the site acceptance test, copied from glaze line 1 and checked"

# Tuned apart from its twin: stiffer, gentler ramps, another filter, a tighter position window.
BELT_FEED = AxisStory(
    MACHINE, "belt-feed", "alder",
    {**alder_sets.BELT_FEED, "2020:01": "AL20-006120", "1018:04": 6120, "2020:02": "AM20-31007",
     "2400:01": 1021, "2480:06": 2021, "2480:07": 0x51C20A77, "607C:00": 9875,
     "2010:04": 77_301},
    (
        Visit("2020-09-08T15:10:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0610"),
        Visit("2020-12-01T10:45:00+01:00", "as-left", ENGINEER,
              "tuned for large tiles: stiffer, gentler ramps", "WO-20-0815",
              {"2200:01": 450, "2200:02": 6100, "2220:04": 1740, "2220:05": 220, "2220:06": 900,
               "2220:03": 50, "6083:00": 4_000_000, "6084:00": 4_000_000, "6067:00": 60}),
        Visit("2022-03-10T09:00:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-11-07T09:10:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2026-03-12T09:00:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"NodeID": "21"},
)  # fmt: skip

# In micrometres from the start. With firmware 3.0 the torque filter counts ten times finer: the
# maker's tool turned 0.40 ms from 40 into 400.
SPRAY_CARRIAGE = AxisStory(
    MACHINE, "spray-carriage", "alder",
    {**alder_sets.SPRAY_CARRIAGE, "2020:01": "AL20-006133", "1018:04": 6133,
     "2020:02": "AM20-30898", "2400:01": 1022, "2480:06": 2022, "2480:07": 0x7700D1E4,
     "607C:00": -11_240, "2010:04": 641_209},
    (
        Visit("2020-09-08T15:40:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0610"),
        Visit("2020-12-01T13:20:00+01:00", "as-left", ENGINEER,
              "tuned: position loop as on line 1, stiff bracket, so no notch filter",
              "WO-20-0815",
              {"2200:01": 420, "2200:02": 175, "6083:00": 1_600_000, "6084:00": 1_600_000,
               "6067:00": 50}),
        Visit("2022-03-10T09:15:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-05-22T14:00:00+02:00", "as-left", ELECTRICIAN,
              "firmware 3.0.2 loaded, settings carried over by the maker's tool", "WO-24-0298",
              {"100A:00": "3.0.2", "2220:03": 400}),
        Visit("2026-03-12T09:15:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"NodeID": "22"},
)  # fmt: skip

LIFT = AxisStory(
    MACHINE, "lift", "alder",
    {**alder_sets.LIFT, "2020:01": "AL20-006151", "1018:04": 6151, "2020:02": "AM20-30951",
     "2400:01": 1023, "2480:06": 2023, "2480:07": 0x1B3F9920, "607C:00": 121_050,
     "2010:04": -90_455},
    (
        Visit("2020-09-09T10:30:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0610"),
        Visit("2020-12-01T15:05:00+01:00", "as-left", ENGINEER,
              "tuned: feed-forward raised, shorter ramps than line 1", "WO-20-0815",
              {"2200:06": 950, "2200:01": 330, "6083:00": 1_800_000, "6084:00": 1_800_000}),
        Visit("2022-03-10T09:30:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-11-07T09:40:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2025-06-04T08:20:00+02:00", "as-left", ELECTRICIAN,
              "brake changed: releases slower than the old one, delay raised", "WO-25-0340",
              {"2050:02": 110, "2050:03": 70}),
    ),
    {"NodeID": "23"},
)  # fmt: skip

TURNTABLE = AxisStory(
    MACHINE, "turntable", "rowan",
    {**rowan_sets.TURNTABLE, "bus/address": "24", "safe/checksum": "40228817",
     "home/offset": "-1.8", "enc/offset": "-12097"},
    (
        Visit("2020-09-09T14:15:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0610"),
        Visit("2020-12-02T09:30:00+01:00", "as-left", ENGINEER,
              "tuned: notch moved, gentler ramps", "WO-20-0815",
              {"ctl/position-gain": "24", "flt/notch": "88", "flt/notch-width": "12",
               "flt/notch-depth": "80", "pos/accel": "450", "pos/decel": "450",
               "pos/in-window": "0.08"}),
        Visit("2022-03-10T09:45:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2024-11-07T09:55:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2026-03-12T09:40:00+01:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"Drive order code": "RWN-5S", "Drive serial number": "RW20-41250", "Firmware": "2.2.0",
     "Hardware state": "D", "Motor order code": "RWM-32-30", "Motor serial number": "RM20-1178",
     "Encoder": "multi-turn 20 + 12 bit", "Encoder bits per turn": "20",
     "Encoder bits for turns": "12"},
)  # fmt: skip

# Swapped for a drive with newer firmware, whose spare parameters stay as delivered.
SLURRY_PUMP = AxisStory(
    MACHINE, "slurry-pump", "rowan",
    {**rowan_sets.SLURRY_PUMP, "bus/address": "25", "safe/checksum": "40228903",
     "spd/fixed-2": "950"},
    (
        Visit("2020-09-09T16:00:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0610"),
        Visit("2021-01-20T10:30:00+01:00", "as-left", ELECTRICIAN,
              "longer ramps as on line 1", "WO-21-0028",
              {"ramp/up": "8", "ramp/down": "10", "ramp/rounding": "50"}),
        Visit("2022-03-10T10:00:00+01:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2023-07-13T17:50:00+02:00", "as-left", ELECTRICIAN,
              "drive replaced after a lightning strike, set loaded from the export of 2022",
              "WO-23-0402",
              fitted={"Drive serial number": "RW23-66019", "Firmware": "2.4.1",
                      "Hardware state": "E"},
              live={"now/hours": "41", "now/power-ups": "6"}),
        Visit("2026-03-12T09:55:00+01:00", "routine", MAINTENANCE, _YEARLY,
              live={"now/hours": "13664", "now/power-ups": "330"}),
    ),
    {"Drive order code": "RWN-5F", "Drive serial number": "RW20-41262", "Firmware": "2.2.0",
     "Hardware state": "D", "Motor order code": "RWM-P22-4", "Motor serial number": "RM20-1203"},
)  # fmt: skip

AXES = (BELT_FEED, SPRAY_CARRIAGE, LIFT, TURNTABLE, SLURRY_PUMP)
