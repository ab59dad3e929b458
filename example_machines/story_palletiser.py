"""What happened to the axes of the palletiser since 2024. Invented throughout.

It came with drives that nobody at the works had a dictionary for: for a year and a half its exports
lay on a laptop as workbooks that nobody read.
"""

from __future__ import annotations

from example_machines import hazel_sets
from example_machines.visits import (
    COMMISSIONER,
    ENGINEER,
    NIGHT_SHIFT,
    AxisStory,
    Visit,
)

MACHINE = "palletiser"
_FIRST = "first export after the site acceptance test"

# The set of the replaced drive was typed in from paper, and two settings stayed as delivered.
MAST = AxisStory(
    MACHINE, "mast", "hazel",
    hazel_sets.MAST,
    (
        Visit("2024-09-17T14:20:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-24-0533"),
        Visit("2025-05-20T10:05:00+02:00", "as-left", ENGINEER,
              "a sixth layer on the pallet: upper limit raised, a little faster", "WO-25-0307",
              {"grz.oben": 1780, "fhr.tempo": 560, "reg.lage": 32}),
        Visit("2026-02-24T05:50:00+01:00", "as-found", NIGHT_SHIFT,
              "drive replaced after its supply burnt out, set typed in from a printout",
              "WO-26-0098", {"anh.rampe": 1500, "bre.zu": 20, "sic.summe": 510_774_655},
              {"Seriennummer": "HZ25-01160", "Firmware": "1.9.2"}),
    ),
    {"Antrieb": "HZL-2M", "Seriennummer": "HZ24-00318", "Firmware": "1.8.0"},
)  # fmt: skip

# A trip is cured by a wider window, and the software limits are taken out of use to get free.
SLIDE = AxisStory(
    MACHINE, "slide", "hazel",
    hazel_sets.SLIDE,
    (
        Visit("2024-09-17T15:00:00+02:00", "commissioning", COMMISSIONER, _FIRST, "WO-24-0533"),
        Visit("2025-05-20T11:30:00+02:00", "as-left", ENGINEER,
              "tuned with full layers: boxes no longer sway", "WO-25-0307",
              {"fhr.auf": 1500, "fhr.ab": 1500, "fhr.ruck": 60_000, "reg.kerb": 88}),
        Visit("2026-02-03T22:45:00+01:00", "after-fault", NIGHT_SHIFT,
              "following error after a box fell onto the rack; moved clear by hand, runs again",
              "WO-26-0061", {"ueb.schlepp": 40, "ueb.warn": 32, "grz.aktiv": "Nein"},
              live={"ist.fehler": 0x8611}),
    ),
    {"Antrieb": "HZL-2M", "Seriennummer": "HZ24-00322", "Firmware": "1.8.0"},
)  # fmt: skip

AXES = (MAST, SLIDE)
