"""Parameter sets of the hazel axes at commissioning; worked numbers in the comments. Invented."""

from __future__ import annotations

from example_machines.visits import Settings

# Mast: vertical belt, pulley 240 mm, gear 10:1, 90 kg with a layer of boxes, holding brake.
# 1 mm = 2^20 x 10 / 240 = 43,690.67 increments. Top speed 500 mm/s = 1250 r/min.
# Kv 30 1/s; lag at 500 mm/s: (1 - 0.9) x 500 / 30 = 1.7 mm, in a window of 5 mm.
# Quick stop 4 m/s^2, jerk 40 m/s^3: 0.0313 + 0.5 x 4 / 80 = 0.0563 m; room 0.120 m.
# Weight 90 x 9.80665 = 883 N: 883 x 0.0382 / 10 = 3.37 N*m = 44.4 % of 7.6.
# Inertia at the motor: 9 + 90 kg x (3.82 cm / 10)^2 = 9 + 13.1 kg*cm^2; 0.00221 x 130 = 0.287.
MAST: Settings = {
    "mot.bestell": "HZM-76-30B", "mot.strom": "5.6", "mot.spitze": "16.8", "mot.moment": "7.6",
    "mot.masse": 9, "mot.kt": "1.357",
    "gtr.motor": 10, "gtr.vorschub": 240,
    "grz.unten": 0, "grz.oben": 1700, "grz.aktiv": "Ja", "grz.tempo": 600, "grz.dreh": 1600,
    "grz.auf": 3000, "grz.ab": 4000, "grz.moment": 250, "grz.plus": 250, "grz.minus": 250,
    "ueb.schlepp": 5, "ueb.spaet": 4, "ueb.warn": 4, "ueb.ziel": "0.2",
    "fhr.tempo": 500, "fhr.auf": 1200, "fhr.ab": 1200, "fhr.ruck": 40_000, "fhr.tipp": 50,
    "anh.rampe": 4000, "anh.schnell": 6,
    "ref.art": 2, "ref.versatz": "41.25", "ref.such": 40, "ref.null": 4,
    "reg.lage": 30, "reg.vor": 90, "reg.n": "0.287", "reg.tn": 18, "reg.kerb": 164,
    "reg.gewicht": "44.4",
    "bre.da": "Ja", "bre.auf": 90, "bre.zu": 80,
    "ntz.wid": "Ja", "ntz.ohm": 68, "bus.adr": 41, "bus.takt": 1,
    "sic.tempo": 150, "sic.summe": 510_771_204,
}  # fmt: skip

# Slide: rack, pinion 200 mm, gear 8:1, 60 kg. 1 mm = 2^20 x 8 / 200 = 41,943.04 increments.
# Top speed 1000 mm/s = 2400 r/min. Kv 25 1/s; lag (1 - 0.92) x 1000 / 25 = 3.2 mm, window 8 mm.
# Quick stop 5 m/s^2, jerk 80 m/s^3: 0.1 + 1 x 5 / 160 = 0.131 m; room 0.200 m.
# Inertia at the motor: 3.4 + 60 kg x (3.18 cm / 8)^2 = 3.4 + 9.5 kg*cm^2; 0.00129 x 110 = 0.142.
SLIDE: Settings = {
    "mot.bestell": "HZM-40-30", "mot.strom": "3.2", "mot.spitze": "9.6", "mot.moment": 4,
    "mot.masse": "3.4", "mot.kt": "1.25",
    "gtr.motor": 8, "gtr.vorschub": 200,
    "grz.unten": 0, "grz.oben": 1400, "grz.aktiv": "Ja", "grz.tempo": 1000, "grz.dreh": 2600,
    "grz.auf": 4000, "grz.ab": 5000, "grz.moment": 220, "grz.plus": 220, "grz.minus": 220,
    "ueb.schlepp": 8, "ueb.spaet": 4, "ueb.warn": 6, "ueb.ziel": "0.5",
    "fhr.tempo": 1000, "fhr.auf": 1800, "fhr.ab": 1800, "fhr.ruck": 80_000, "fhr.tipp": 80,
    "anh.rampe": 5000, "anh.schnell": 6,
    "ref.art": 1, "ref.versatz": "-12.5", "ref.such": 50, "ref.null": 5,
    "reg.lage": 25, "reg.vor": 92, "reg.n": "0.142", "reg.tn": 22,
    "ntz.wid": "Ja", "bus.adr": 42, "bus.takt": 1,
    "sic.tempo": 250, "sic.summe": 510_771_918,
}  # fmt: skip
