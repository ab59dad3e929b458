"""Parameter sets of the alder axes at commissioning; worked numbers in the comments.

Invented values. User unit 0.001 mm unless said: 60A8h 0xFA010000 (CiA 303-2, from memory: power of
ten, numerator, denominator; metre 01h, revolution B4h, second 03h, s^2 57h, s^3 A0h).
Motor speed n = v x G / L; lag = (1 - f) v / Kv; R = 2^20 increments per motor revolution.
"""

from __future__ import annotations

from example_machines.visits import Settings

MICROMETRE: Settings = {
    "60A8:00": 0xFA010000,
    "60A9:00": 0xFA010300,
    "60AA:00": 0xFA015700,
    "60AB:00": 0xFA01A000,
}
# 1e-4 revolution of the screw; with 16 mm lead that is 0.0016 mm.
TENTH_OF_A_MILLI_REVOLUTION: Settings = {
    "60A8:00": 0xFCB40000,
    "60A9:00": 0xFCB40300,
    "60AA:00": 0xFCB45700,
    "60AB:00": 0xFCB4A000,
}

# What all alder axes of the glaze lines share: three-phase 400 V, 1 ms interval, inputs.
LINE: Settings = {
    "100A:00": "2.41.0",
    "6060:00": 8,  # cyclic synchronous position
    "1016:01": 0x007F012C,  # controller (node 127) silent for 300 ms
    "60F2:00": 0,
    "608F:01": 2**20,
    "2010:01": 5,
    "2010:02": 20,
    "2010:03": 12,
    "2300:02": 11,  # fault reset
    "2300:03": 20,  # positive over-travel, opens to stop
    "2300:04": 21,  # negative over-travel
    "2300:05": 22,  # homing switch
    "2301:03": 1,
    "2301:04": 1,
    "2310:03": 22,
    "20A0:01": 1,
}

# 4.77 N*m, 3.9 A, 3000 r/min: Kt = 4.77 / 3.9 = 1.223 N*m/A.
_MOTOR_LARGE: Settings = {
    "6403:00": "AMO-48-30", "6503:00": "ALD-5A", "6075:00": 3900, "6076:00": 4770,
    "2030:01": 5, "2030:02": 3000, "2030:03": 4500, "2030:04": 11700, "2030:05": 450,
    "2030:06": 2350, "2030:07": 1210, "2030:08": 1223, "2500:01": 5000, "2500:02": 15000,
    "2020:03": "multi-turn 20 + 12 bit",
}  # fmt: skip
# 1.27 N*m, 1.9 A, 4500 r/min: Kt = 0.668 N*m/A.
_MOTOR_SMALL: Settings = {
    "6403:00": "AMO-13-45", "6503:00": "ALD-3A", "6075:00": 1900, "6076:00": 1270,
    "2030:01": 5, "2030:02": 4500, "2030:03": 6000, "2030:04": 5700, "2030:05": 60,
    "2030:06": 4900, "2030:07": 980, "2030:08": 668, "2500:01": 3000, "2500:02": 9000,
    "2020:03": "multi-turn 20 + 12 bit",
}  # fmt: skip
# 3.2 N*m, 3.1 A, 3000 r/min, with brake: Kt = 1.032 N*m/A.
_MOTOR_BRAKE: Settings = {
    "6403:00": "AMO-32-30B", "6503:00": "ALD-5A", "6075:00": 3100, "6076:00": 3200,
    "2030:01": 5, "2030:02": 3000, "2030:03": 4500, "2030:04": 9300, "2030:05": 160,
    "2030:06": 3100, "2030:07": 1530, "2030:08": 1032, "2500:01": 5000, "2500:02": 15000,
    "2020:03": "multi-turn 20 + 12 bit",
}  # fmt: skip

# Belt feed: pulley 400 mm, gear 5:1, moved mass 14 kg, soft limits 0 to 2460 mm.
# 1 mm = 2^20 x 5 / 400 = 13,107.2 increments. Top speed 2000 mm/s: 2 / 0.4 x 5 x 60 = 1500 r/min.
# Lag at 2000 mm/s: (1 - 0.98) x 2000 / 40 = 1.0 mm, in a window of 2 mm.
# Quick stop 12 m/s^2, jerk 300 m/s^3: 2^2/24 + 2 x 12/600 = 0.167 + 0.040 = 0.207 m; room 0.250 m.
# Inertia at the motor: 4.5 + 14 x (6.366 cm / 5)^2 = 4.5 + 22.7 = 27.2 kg*cm^2.
# Speed loop 200 1/s: 0.00272 x 200 = 0.544 N*m*s/rad, five times the position loop.
# Thrust at the limit of 180 %: 2 pi x 0.94 x 5 x 8.59 / 0.4 = 634 N.
BELT_FEED: Settings = {
    **LINE, **MICROMETRE, **_MOTOR_LARGE,
    "2020:04": "belt feed",
    "6091:01": 5, "6092:01": 400_000,
    "6065:00": 2000, "6066:00": 10, "2340:02": 1600, "6067:00": 100, "6068:00": 10,
    "606D:00": 20_000, "606F:00": 5000,
    "607D:01": 0, "607D:02": 2_460_000, "607F:00": 2_000_000, "6080:00": 1800,
    "60C5:00": 10_000_000, "60C6:00": 15_000_000, "6081:00": 1_200_000,
    "6083:00": 6_000_000, "6084:00": 6_000_000, "6085:00": 12_000_000,
    "6086:00": 3, "60A4:01": 300_000_000,
    "607C:00": 12_450, "2010:04": -1_182_204,
    "6099:01": 50_000, "6099:02": 5000, "609A:00": 500_000,
    "6072:00": 1800, "6073:00": 2000, "60E0:00": 1800, "60E1:00": 1800,
    "2200:01": 400, "2200:02": 5440, "2200:03": 200, "2200:06": 980, "2200:07": 500,
    "2200:08": 2720, "2200:09": 504, "2200:0B": 300, "2200:0C": 4000,
    "2360:01": 50_000, "2360:02": 1_230_000, "2480:04": 250_000,
}  # fmt: skip

# Spray carriage: screw 16 mm, gear 4:1: 1 mm = 2^20 x 4 / 16 = 262,144 increments.
# User unit 1e-4 rev = 0.0016 mm: 150 mm = 93,750 units; every value is a multiple of five, so
# that x 1.6 gives whole micrometres. Top speed 200,000 units/s = 320 mm/s = 4800 r/min.
# Lag at 320 mm/s: (1 - 0.95) x 320 / 35 = 0.46 mm, in a window of 1250 units = 2 mm.
# Quick stop 4 m/s^2, jerk 80 m/s^3: 0.0128 + 0.32 x 4 / 160 = 0.0208 m; room 0.030 m.
# Inertia at the motor: rotor 0.60, screw 0.07, mass 22 kg 0.09: 0.76 kg*cm^2.
# Speed loop 180 1/s: 0.76e-4 x 180 = 0.0137 N*m*s/rad.
SPRAY_CARRIAGE_IN_TURNS: Settings = {
    **LINE, **TENTH_OF_A_MILLI_REVOLUTION, **_MOTOR_SMALL,
    "2020:04": "spray carriage",
    "6091:01": 4, "6092:01": 10_000,
    "6065:00": 1250, "2340:02": 1000, "6067:00": 50, "6068:00": 10,
    "606D:00": 5000, "606F:00": 1250,
    "607B:01": -60_000_000, "607B:02": 60_000_000,
    "607D:01": 0, "607D:02": 750_000, "607F:00": 200_000, "6080:00": 5000,
    "60C5:00": 2_500_000, "60C6:00": 2_500_000, "6081:00": 156_250,
    "6083:00": 1_250_000, "6084:00": 1_250_000, "6085:00": 2_500_000,
    "6086:00": 3, "60A4:01": 50_000_000,
    "607C:00": -9500, "2010:04": 310_778,
    "6099:01": 12_500, "6099:02": 1250, "609A:00": 250_000,
    "6072:00": 2500, "6073:00": 2600, "60E0:00": 2500, "60E1:00": 2500,
    "2200:01": 350, "2200:02": 137, "2200:03": 180, "2200:06": 950, "2200:07": 600,
    "2200:08": 76, "2200:09": 27, "2200:0B": 250, "2200:0C": 110,
    "2360:01": 12_500, "2360:02": 93_750, "2360:03": 10, "2480:04": 20_000,
}  # fmt: skip

# What is in user units of position, speed, acceleration or jerk.
IN_USER_UNITS = (
    "6065:00", "2340:02", "6067:00", "606D:00", "606F:00", "607B:01", "607B:02", "607D:01",
    "607D:02", "607F:00", "60C5:00", "60C6:00", "6081:00", "6083:00", "6084:00", "6085:00",
    "60A4:01", "607C:00", "6099:01", "6099:02", "609A:00", "2360:01", "2360:02", "2360:03",
    "2480:04",
)  # fmt: skip


def in_micrometres(turns: Settings) -> Settings:
    """Re-express a spray carriage set from 1e-4 rev to 0.001 mm: everything x 16000 / 10000."""
    restated: Settings = {**MICROMETRE, "6092:01": 16_000}
    for code in IN_USER_UNITS:
        number, rest = divmod(int(turns[code]) * 16, 10)
        if rest:
            raise ValueError(f"{code}: {turns[code]} is no whole number of micrometres")
        restated[code] = number
    return restated


SPRAY_CARRIAGE: Settings = {**SPRAY_CARRIAGE_IN_TURNS, **in_micrometres(SPRAY_CARRIAGE_IN_TURNS)}

# Lift: vertical screw 20 mm, gear 2:1, 60 kg, holding brake. 1 mm = 2^20 x 2 / 20 = 104,857.6.
# Top speed 400 mm/s = 2400 r/min. Weight 588 N: 588 x 0.020 / (2 pi x 0.9 x 2) = 1.04 N*m with
# friction, 0.94 N*m without: 294 permille of 3.2 N*m is the torque offset.
# Lag at 400 mm/s: (1 - 0.90) x 400 / 30 = 1.33 mm, in a window of 4 mm.
# Quick stop 4 m/s^2, jerk 200 m/s^3: 0.020 + 0.4 x 4 / 400 = 0.024 m; room 0.025 m.
# Limit 250 % = 8 N*m lifts 4520 N. Multi-turn 4096 x 20 / 2 = 40.96 m against 0.65 m.
# Brake: releases in 60 ms, applies in 40 ms; the drive waits 80 and 60 ms. Unheld for 60 ms the
# load would drop 9.80665 x 0.06^2 / 2 = 17.65 mm.
LIFT: Settings = {
    **LINE, **MICROMETRE, **_MOTOR_BRAKE,
    "2020:04": "lift",
    "6091:01": 2, "6092:01": 20_000,
    "6065:00": 4000, "2340:02": 3000, "6067:00": 50, "6068:00": 20,
    "606D:00": 8000, "606F:00": 1000,
    "607D:01": 0, "607D:02": 600_000, "607F:00": 400_000, "6080:00": 2600,
    "60C5:00": 3_000_000, "60C6:00": 4_000_000, "6081:00": 300_000,
    "6083:00": 1_500_000, "6084:00": 1_500_000, "6085:00": 4_000_000,
    "6086:00": 3, "60A4:01": 200_000_000,
    "607C:00": 118_400, "2010:04": -482_113,
    "6099:01": 20_000, "6099:02": 2000, "609A:00": 300_000,
    "6072:00": 2500, "6073:00": 2500, "60E0:00": 2500, "60E1:00": 2500, "60B2:00": 294,
    "2200:01": 300, "2200:02": 470, "2200:03": 160, "2200:06": 900, "2200:07": 400,
    "2200:08": 312, "2200:09": 95, "2200:0B": 250, "2200:0C": 400,
    "2050:01": 1, "2050:02": 80, "2050:03": 60, "2050:04": 10, "2050:05": 45, "2050:06": 720,
    "2310:03": 10,
    "2360:01": 20_000, "2360:02": 300_000, "2480:04": 50_000,
}  # fmt: skip
