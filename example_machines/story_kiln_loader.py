"""What happened to the axes of the kiln loader since 2020. Invented throughout."""

from __future__ import annotations

from dataclasses import replace

from example_machines import larch_sets, rowan_sets
from example_machines.visits import (
    COMMISSIONER,
    ELECTRICIAN,
    ENGINEER,
    MAINTENANCE,
    NIGHT_SHIFT,
    AxisStory,
    Visit,
)

MACHINE = "kiln-loader"
_YEARLY = "yearly export"
_FIRST = "first export after the site acceptance test"

# The braking resistor is taken out of use, and three months later the DC link trips.
HOIST = AxisStory(
    MACHINE, "hoist", "larch",
    {**larch_sets.HOIST, "saf-907": 730_114_902},
    (
        Visit("2020-04-21T13:45:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0255"),
        Visit("2020-06-16T10:20:00+02:00", "as-left", ENGINEER,
              "tuned with full cars: belt resonance filtered, jerk reduced", "WO-20-0377",
              {"reg-234": 640, "reg-235": 90, "reg-236": 850, "mov-137": 400_000}),
        Visit("2021-10-13T09:10:00+02:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2022-10-19T16:35:00+02:00", "as-left", ELECTRICIAN,
              "braking resistor burnt out, taken out of use until the spare is here",
              "WO-22-0588", {"pwr-610": 0}),
        Visit("2023-01-24T04:10:00+01:00", "after-fault", NIGHT_SHIFT,
              "F-11, DC link too high while lowering full cars; lowering slower for now",
              "WO-23-0031", {"mov-133": 4500, "mov-135": 800}, live={"dia-012": 0x3210}),
        Visit("2023-02-02T14:25:00+01:00", "as-left", ELECTRICIAN,
              "new braking resistor fitted and in use again; speed and ramp as before",
              "WO-23-0031", {"pwr-610": 1, "mov-133": 6000, "mov-135": 1200}),
        Visit("2025-10-15T09:00:00+02:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"Drive": "LRC-1x12", "Serial number": "LR20-07714", "Firmware": "4.6.0", "Hardware": "2"},
)  # fmt: skip

# Shuttle and pusher share a two-axis drive: one export, axes told apart by a column.
_TWO_AXIS = {
    "Drive": "LRC-2x12", "Serial number": "LR20-07722", "Firmware": "4.6.0", "Hardware": "2",
}  # fmt: skip
_FIRMWARE_5 = {"Firmware": "5.1.0"}

SHUTTLE = AxisStory(
    MACHINE, "shuttle", "larch",
    {**larch_sets.SHUTTLE, "saf-907": 730_115_377},
    (
        Visit("2020-04-22T11:00:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0255"),
        Visit("2020-06-16T14:10:00+02:00", "as-left", ENGINEER,
              "tuned: load sways less with a moving average", "WO-20-0377",
              {"reg-237": 2, "reg-238": 600, "reg-201": 105}),
        Visit("2021-10-13T09:25:00+02:00", "routine", MAINTENANCE, _YEARLY),
        # Filters count ten times finer from 5.0 on; the maker's tool carried them over.
        Visit("2023-11-28T15:30:00+01:00", "as-left", ELECTRICIAN,
              "firmware 5.1.0 loaded, settings carried over by the maker's tool", "WO-23-0690",
              {"reg-232": 40, "reg-233": 50}, _FIRMWARE_5),
        Visit("2024-09-03T23:40:00+02:00", "after-fault", NIGHT_SHIFT,
              "F-51 on the shuttle, rail was dirty; software limit moved to reach the last car",
              "WO-24-0511", {"mov-122": 4_120_000}, live={"dia-012": 0x8611}),
        Visit("2025-10-15T09:15:00+02:00", "routine", MAINTENANCE, _YEARLY),
    ),
    _TWO_AXIS, channel=1,
)  # fmt: skip

_PUSHER_CHANGES: tuple[dict[str, int], ...] = (
    {}, {"reg-201": 165, "reg-210": 1180}, {}, {"reg-232": 40, "reg-233": 50}, {}, {},
)  # fmt: skip
_PUSHER_NOTES = (
    _FIRST, "tuned: stiffer speed and position loops", _YEARLY,
    "firmware 5.1.0 loaded, settings carried over by the maker's tool",
    "same export as the shuttle's after its fault", _YEARLY,
)  # fmt: skip
PUSHER = AxisStory(
    MACHINE, "pusher", "larch",
    {**larch_sets.PUSHER, "saf-907": 730_115_377},
    tuple(
        replace(visit, note=note, changes=changes, live={})
        for visit, note, changes in zip(
            SHUTTLE.visits, _PUSHER_NOTES, _PUSHER_CHANGES, strict=True
        )
    ),
    _TWO_AXIS, channel=2,
)  # fmt: skip

ROLLER_BED = AxisStory(
    MACHINE, "roller-bed", "rowan",
    {**rowan_sets.ROLLER_BED, "bus/address": "34", "safe/checksum": "40230041"},
    (
        Visit("2020-04-22T15:30:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-20-0255"),
        Visit("2020-06-17T09:00:00+02:00", "as-left", ENGINEER,
              "tiles shifted on the rollers: gentler start and stop", "WO-20-0377",
              {"ramp/up": "2.2", "ramp/down": "2"}),
        Visit("2021-10-13T09:40:00+02:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2023-10-18T09:20:00+02:00", "routine", MAINTENANCE, _YEARLY),
        Visit("2025-10-15T09:30:00+02:00", "routine", MAINTENANCE, _YEARLY),
    ),
    {"Drive order code": "RWN-4F", "Drive serial number": "RW20-40877", "Firmware": "2.2.0",
     "Hardware state": "D", "Motor order code": "RWM-P15-4", "Motor serial number": "RM20-1090"},
)  # fmt: skip

AXES = (HOIST, SHUTTLE, PUSHER, ROLLER_BED)
