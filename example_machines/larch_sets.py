"""Parameter sets of the larch axes at commissioning; worked numbers in the comments.

Invented values in steps: positions 0.001 mm, speeds 0.1 mm/s, position gain 0.01 (m/min)/mm, of
which 1 is 16.67 1/s; torques 0.1 % of the rating.
"""

from __future__ import annotations

from example_machines.visits import Settings

# Hoist: vertical belt, pulley 320 mm, gear 10:1, 110 kg with 40 % counterbalance, holding brake.
# 1 mm = 2^20 x 10 / 320 = 32,768 increments. Top speed 800 mm/s = 1500 r/min.
# Kv 1.8 (m/min)/mm = 30 1/s; lag at 800 mm/s: (1 - 0.85) x 800 / 30 = 4 mm, in a window of 5 mm.
# Quick stop 6 m/s^2, jerk 500 m/s^3: 0.0533 + 0.8 x 6 / 1000 = 0.0581 m; room 0.060 m.
# Weight not balanced: 110 x 0.6 x 9.80665 = 647 N: 647 x 0.05093 / 10 = 3.30 N*m = 45.8 % of 7.2.
# Inertia at the motor: 8.0 + (110 + 44) kg x (5.093 cm / 10)^2 = 8.0 + 39.9 kg*cm^2.
# Speed loop 140 1/s: 0.00479 x 140 = 0.671 N*m*s/rad.
HOIST: Settings = {
    "net-807": "hoist", "mot-301": "LMO-72-30B", "mot-302": "LM-118032",
    "mov-104": 5000, "mov-106": 4500, "mov-107": 200,
    "mov-110": 10, "mov-112": 320_000,
    "mov-121": 0, "mov-122": 1_700_000, "mov-123": 4,
    "mov-130": 8000, "mov-131": 3000, "mov-132": 6000, "mov-133": 6000,
    "mov-134": 1200, "mov-135": 1200, "mov-136": 3, "mov-137": 500_000, "mov-138": 6000,
    "mov-139": 1700, "mov-140": 300, "mov-141": 850_000,
    "mov-151": 64_250, "mov-152": 300, "mov-153": 30,
    "reg-201": 180, "reg-202": 150, "reg-205": 850, "reg-206": 300,
    "reg-210": 6710, "reg-211": 200, "reg-212": 6000, "reg-215": 499, "reg-216": 4790,
    "reg-218": 458, "reg-250": 2500, "reg-251": 2500, "reg-252": 2500, "reg-253": 2500,
    "mot-305": 7200, "mot-306": 5400, "mot-307": 3000, "mot-308": 4500, "mot-309": 16_200,
    "mot-310": 800, "mot-311": 1450, "mot-312": 1160, "mot-313": 1333,
    "enc-406": 2_208_331,
    "brk-501": 1, "brk-502": 110, "brk-503": 90, "brk-504": 10, "brk-505": 120, "brk-506": 720,
    "sig-702": 2, "sig-703": 8, "sig-704": 9, "sig-713": 1, "sig-714": 1, "sig-732": 5,
    "net-801": 31, "saf-904": 1500, "saf-906": 2031,
}  # fmt: skip

# Shuttle: rack, pinion 200 mm, gear 8:1, 240 kg. 1 mm = 2^20 x 8 / 200 = 41,943.04 increments.
# Top speed 1200 mm/s = 2880 r/min. Kv 1.2 (m/min)/mm = 20 1/s; lag (1 - 0.97) x 1200 / 20 = 1.8 mm,
# in a window of 4 mm. Quick stop 3 m/s^2, jerk 30 m/s^3: 0.24 + 1.2 x 3 / 60 = 0.30 m; room 0.35 m.
# Inertia at the motor: 11 + 240 x (3.183 cm / 8)^2 = 11 + 38 kg*cm^2; 0.0049 x 100 1/s = 0.49.
SHUTTLE: Settings = {
    "net-807": "shuttle", "mot-301": "LMO-83-30", "mot-302": "LM-118101",
    "mov-104": 4000, "mov-106": 3500, "mov-107": 250,
    "mov-110": 8, "mov-112": 200_000,
    "mov-121": 0, "mov-122": 4_000_000,
    "mov-130": 12_000, "mov-131": 2500, "mov-132": 3000, "mov-133": 10_000,
    "mov-134": 1500, "mov-135": 1500, "mov-136": 3, "mov-137": 30_000, "mov-138": 3000,
    "mov-139": 3000, "mov-140": 500, "mov-141": 2_000_000,
    "mov-151": -18_600, "mov-152": 500, "mov-153": 50,
    "reg-201": 120, "reg-202": 120, "reg-205": 970, "reg-206": 400,
    "reg-210": 4900, "reg-211": 300, "reg-212": 4900, "reg-215": 345, "reg-216": 4900,
    "reg-250": 1800, "reg-251": 1800, "reg-252": 1800, "reg-253": 2000,
    "mot-305": 8300, "mot-306": 6000, "mot-307": 3000, "mot-308": 4500, "mot-309": 18_000,
    "mot-310": 1100, "mot-311": 1210, "mot-312": 1080, "mot-313": 1383,
    "enc-406": 90_127,
    "sig-702": 2, "sig-703": 8, "sig-704": 9, "sig-713": 1, "sig-714": 1,
    "net-801": 32, "saf-904": 2500, "saf-906": 2032,
}  # fmt: skip

# Pusher: belt, pulley 250 mm, gear 10:1, 45 kg. 1 mm = 2^20 x 10 / 250 = 41,943.04 increments.
# Top speed 500 mm/s = 1200 r/min. Kv 1.5 (m/min)/mm = 25 1/s; lag (1 - 0.90) x 500 / 25 = 2 mm,
# in a window of 4 mm. Quick stop 3 m/s^2, jerk 60 m/s^3: 0.0417 + 0.0125 = 0.0542 m; room 0.060 m.
# Inertia at the motor: 1.6 + 45 x (3.979 cm / 10)^2 = 1.6 + 7.1 kg*cm^2; 0.00087 x 120 = 0.104.
PUSHER: Settings = {
    "net-807": "pusher", "mot-301": "LMO-24-30", "mot-302": "LM-118077",
    "mov-104": 4000, "mov-106": 3000, "mov-107": 300,
    "mov-110": 10, "mov-112": 250_000,
    "mov-121": 0, "mov-122": 850_000,
    "mov-130": 5000, "mov-131": 2500, "mov-132": 3000, "mov-133": 4000,
    "mov-134": 1500, "mov-135": 1500, "mov-136": 3, "mov-137": 60_000, "mov-138": 3000,
    "mov-139": 1300, "mov-140": 300, "mov-141": 400_000,
    "mov-151": 3300, "mov-152": 300, "mov-153": 30,
    "reg-201": 150, "reg-202": 120, "reg-205": 900, "reg-206": 300,
    "reg-210": 1040, "reg-211": 180, "reg-212": 900, "reg-215": 445, "reg-216": 870,
    "reg-250": 2000, "reg-251": 2000, "reg-252": 2000, "reg-253": 2200,
    "mot-305": 2400, "mot-306": 2200, "mot-307": 3000, "mot-308": 4500, "mot-309": 6600,
    "mot-310": 160, "mot-311": 4300, "mot-312": 1760, "mot-313": 1091,
    "enc-406": -55_902,
    "sig-702": 2, "sig-703": 8, "sig-704": 9, "sig-713": 1, "sig-714": 1,
    "net-801": 33, "saf-904": 1500, "saf-906": 2033,
}  # fmt: skip
