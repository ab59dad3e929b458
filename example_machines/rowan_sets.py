"""Parameter sets of the rowan axes at commissioning; worked numbers in the comments.

Invented values, as the tool of the family shows them: scaled, choices in words.
"""

from __future__ import annotations

from example_machines.visits import Settings

# Turntable: gear 40:1, 360 degrees per turn: 1 degree = 2^20 x 40 / 360 = 116,508.4 increments.
# Top speed 180 deg/s = 0.5 x 40 x 60 = 1200 r/min.
# Lag at 180 deg/s: (1 - 0.96) x 180 / 25 = 0.288 deg, in a window of 0.5 deg.
# Quick stop 1200 deg/s^2, jerk 20,000 deg/s^3: 13.5 + 180 x 1200 / 40,000 = 18.9 deg; room 20 deg.
# Table 1.8 kg*m^2 / 40^2 = 11.25 kg*cm^2 beside a rotor of 2.9: 388 %.
TURNTABLE: Settings = {
    "id/motor-code": "RWM-32-30", "id/axis-name": "turntable",
    "scl/encoder-steps": "1048576", "scl/gear-motor": "40", "scl/feed": "360",
    "pos/lag-window": "0.5", "pos/lag-time": "15", "pos/lag-warning": "0.4",
    "pos/in-window": "0.05", "pos/limits-used": "Yes",
    "pos/limit-low": "-185", "pos/limit-high": "185", "pos/speed-max": "180",
    "pos/accel-max": "1200", "pos/decel-max": "1500", "pos/speed": "150",
    "pos/accel": "600", "pos/decel": "600", "pos/jerk": "20000", "pos/jog": "10",
    "pos/test-move": "90", "spd/mode": "8", "spd/profile": "3", "spd/max": "1200",
    "spd/motor-limit": "1300", "stop/quick-decel": "1200",
    "stop/overtravel": "Stop on the quick-stop ramp, then hold with power on",
    "home/method": "19", "home/offset": "-2.35", "home/speed-switch": "20",
    "home/speed-zero": "2", "home/accel": "200",
    "ctl/position-gain": "25", "ctl/speed-gain": "0.17", "ctl/speed-integral": "25",
    "ctl/speed-forward": "96", "ctl/accel-forward": "40", "ctl/inertia-ratio": "388",
    "trq/max": "200", "trq/positive": "200", "trq/negative": "200", "trq/current-max": "220",
    "mot/rated-torque": "3.2", "mot/rated-current": "2.8", "mot/rated-speed": "3000",
    "mot/max-speed": "4500", "mot/max-current": "8.4", "mot/kind": "10", "mot/pole-pairs": "4",
    "mot/inertia": "2.9", "mot/resistance": "3.4", "mot/inductance": "16.2",
    "mot/rated-power": "1.005", "mot/rated-frequency": "200", "mot/power-factor": "1",
    "enc/type": "Absolute, multi-turn", "enc/offset": "734112",
    "sup/resistor": "Yes", "sup/resistor-ohms": "100", "sup/resistor-energy": "1",
    "in/2": "Fault reset", "in/3": "Positive over-travel", "in/4": "Negative over-travel",
    "in/5": "Homing switch", "in/3-inverted": "Yes", "in/4-inverted": "Yes",
    "bus/interval": "2000", "dev/rated-current": "5.6", "dev/max-current": "11.2",
}  # fmt: skip

# Slurry pump: four poles, 50 Hz, 2.2 kW: 2200 / (2 pi x 1440 / 60) = 14.6 N*m.
# Torque grows with the square of the speed, so the voltage curve is quadratic.
SLURRY_PUMP: Settings = {
    "id/motor-code": "RWM-P22-4", "id/axis-name": "slurry pump",
    "spd/mode": "2", "spd/min": "300", "spd/max": "1450", "spd/motor-limit": "1500",
    "spd/fixed-1": "450", "spd/fixed-2": "900", "spd/fixed-3": "1350",
    "frq/min": "10", "frq/max": "50", "frq/skip": "31.5", "frq/skip-width": "1.5",
    "ramp/up": "4", "ramp/down": "6", "ramp/rounding": "20", "stop/quick-time": "2.5",
    "ctl/boost": "14", "ctl/voltage-curve": "Quadratic", "ctl/slip": "80",
    "trq/max": "150", "trq/positive": "150", "trq/negative": "120", "trq/current-max": "160",
    "mot/rated-torque": "14.6", "mot/rated-current": "4.9", "mot/rated-speed": "1440",
    "mot/max-speed": "1800", "mot/max-current": "9.8", "mot/inertia": "58",
    "mot/resistance": "2.85", "mot/inductance": "21.4", "mot/rated-power": "2.2",
    "mot/power-factor": "0.81", "mot/thermal-time": "1800",
    "in/1": "Run forward", "in/2": "Fixed speed selection", "in/3": "Fault reset",
    "in/4": "External fault", "in/4-inverted": "Yes", "out/2": "At speed",
    "bus/interval": "10000", "bus/bytes-in": "8", "bus/bytes-out": "6",
    "dev/rated-current": "5.6", "dev/max-current": "11.2",
}  # fmt: skip

# Roller bed: gear 20:1, 1.5 kW: 1500 / (2 pi x 1440 / 60) = 9.95 N*m; 1440 r/min turn the rollers
# 72 times a minute, 0.226 m/s with 60 mm rollers.
ROLLER_BED: Settings = {
    "id/motor-code": "RWM-P15-4", "id/axis-name": "roller bed",
    "scl/gear-motor": "20",
    "spd/mode": "2", "spd/min": "150", "spd/max": "1450", "spd/motor-limit": "1500",
    "spd/fixed-1": "720", "spd/fixed-2": "1440", "frq/min": "5", "frq/max": "50",
    "ramp/up": "1.5", "ramp/down": "1.5", "ramp/rounding": "50", "stop/quick-time": "0.6",
    "ctl/boost": "18", "ctl/slip": "100",
    "trq/max": "180", "trq/positive": "180", "trq/negative": "180", "trq/current-max": "180",
    "mot/rated-torque": "9.95", "mot/rated-current": "3.5", "mot/rated-speed": "1440",
    "mot/max-speed": "1800", "mot/max-current": "7", "mot/inertia": "33",
    "mot/resistance": "4.1", "mot/inductance": "29.5", "mot/rated-power": "1.5",
    "mot/power-factor": "0.79", "mot/thermal-time": "1500",
    "in/1": "Run forward", "in/2": "Run reverse", "in/3": "Fault reset",
    "in/4": "Fixed speed selection", "out/2": "At speed",
    "sup/resistor": "Yes", "sup/resistor-ohms": "82", "sup/resistor-power": "150",
    "bus/interval": "10000", "bus/bytes-in": "8", "bus/bytes-out": "6",
    "dev/rated-current": "4.1", "dev/max-current": "8.2",
}  # fmt: skip
