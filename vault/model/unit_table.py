"""The units that drives use: one spelling each, with exact factors to SI.

A factor is `ratio * pi ** pi_power`, so that revolutions, degrees and radians convert into
each other without rounding. The table is what pint (with the drive units of
`vault.model.pint_units`) computes; keeping it here keeps pint off the start-up path, and a
test holds the two against each other.

Sources of the factors: SI Brochure (9th ed.) tables 4, 5, 7 and 8; NIST SP 811 (2008) appendix B.8
for inch, foot, pound, pound-force and kilogram-force (exact by definition), and for both kinds of
horsepower. `A` is an ampere as a drive's maker counts it; `A_rms` and `A_pk` say how: of a sine,
the peak is the square root of 2 times the r.m.s. value. In SI both are `A_rms`: a size
keeps that somebody said which.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: `SI value = (number + offset) * ratio * pi ** pi_power`.

    `kind` is the kind of quantity; only units of the same kind convert. A unit whose size
    depends on the axis (user positions, increments, permille of a rating) has `si=None`.
    """

    symbol: str
    kind: str
    ratio: Fraction = Fraction(1)
    pi_power: int = 0
    offset: Fraction = Fraction(0)
    si: str | None = None


SI_UNIT = {
    "length": "m", "velocity": "m/s", "acceleration": "m/s^2", "jerk": "m/s^3",
    "angle": "rad", "angular_velocity": "rad/s", "angular_acceleration": "rad/s^2",
    "angular_jerk": "rad/s^3", "torque": "N*m", "force": "N", "mass": "kg",
    "inertia": "kg*m^2", "time": "s", "frequency": "Hz", "gain": "1/s", "voltage": "V",
    "current": "A", "resistance": "ohm", "inductance": "H", "capacitance": "F", "power": "W",
    "energy": "J", "temperature": "K", "ratio": "1", "data": "bit", "data_rate": "bit/s",
    "pressure": "Pa", "torque_constant": "N*m/A", "voltage_constant": "V*s/rad",
    "damping": "N*m*s/rad", "linear_damping": "N*s/m", "charge": "C", "torque_rate": "N*m/s",
    "thermal_resistance": "K/W",
}  # fmt: skip

_INCH = Fraction(254, 10000)
_FOOT = Fraction(3048, 10000)
_POUND = Fraction(45359237, 100000000)
_KILOGRAM_FORCE = Fraction(980665, 100000)
_POUND_FORCE = _POUND * _KILOGRAM_FORCE
# The square root of 2 to 50 decimals (OEIS A002193).
_ROOT_2 = Fraction("1.41421356237309504880168872420969807856967187537694")
_TURN = 2  # rad per revolution, in units of pi
_DEGREE = Fraction(1, 180)  # rad per degree, in units of pi


STATED_AMPERES = frozenset({"A_rms", "A_pk"})
"""Amperes that say which they are."""


def _f(numerator: int, denominator: int = 1) -> Fraction:
    return Fraction(numerator, denominator)


# symbol, kind, ratio, power of pi, spellings beside the symbol itself
_ROWS: tuple[tuple[str, str, Fraction, int, str], ...] = (
    ("m", "length", _f(1), 0, "meter metre"),
    ("cm", "length", _f(1, 100), 0, ""),
    ("mm", "length", _f(1, 1000), 0, "MM millimeter millimetre"),
    ("um", "length", _f(1, 10**6), 0, "micron micrometer micrometre mum"),
    ("nm", "length", _f(1, 10**9), 0, ""),
    ("in", "length", _INCH, 0, 'inch inches "'),
    ("ft", "length", _FOOT, 0, "foot feet"),
    ("m/s", "velocity", _f(1), 0, "M/S m*s^-1"),
    ("m/min", "velocity", _f(1, 60), 0, "M/MIN m*min^-1"),
    ("cm/s", "velocity", _f(1, 100), 0, ""),
    ("mm/s", "velocity", _f(1, 1000), 0, "MM/S mm*s^-1"),
    ("mm/min", "velocity", _f(1, 60000), 0, "MM/MIN mm*min^-1"),
    ("um/s", "velocity", _f(1, 10**6), 0, ""),
    ("in/s", "velocity", _INCH, 0, "ips inch/s"),
    ("in/min", "velocity", _INCH / 60, 0, "ipm inch/min"),
    ("ft/min", "velocity", _FOOT / 60, 0, ""),
    ("m/s^2", "acceleration", _f(1), 0, "M/S^2 m/s/s m/s2 m*s^-2"),
    ("mm/s^2", "acceleration", _f(1, 1000), 0, "MM/S^2 mm/s/s mm/s2 mm*s^-2"),
    ("cm/s^2", "acceleration", _f(1, 100), 0, "cm/s/s cm/s2"),
    ("in/s^2", "acceleration", _INCH, 0, "in/s/s in/s2 inch/s^2"),
    ("m/s^3", "jerk", _f(1), 0, "m/s3"),
    ("mm/s^3", "jerk", _f(1, 1000), 0, "mm/s3"),
    ("in/s^3", "jerk", _INCH, 0, "in/s3"),
    ("rad", "angle", _f(1), 0, "radian radians"),
    ("mrad", "angle", _f(1, 1000), 0, ""),
    ("rev", "angle", _f(_TURN), 1, "r turn turns revolution revolutions U Umdr revs"),
    ("deg", "angle", _DEGREE, 1, "° degree degrees Grad"),
    ("mdeg", "angle", _DEGREE / 1000, 1, "m°"),
    ("arcmin", "angle", _DEGREE / 60, 1, "' ′"),
    ("arcsec", "angle", _DEGREE / 3600, 1, "″"),
    ("rad/s", "angular_velocity", _f(1), 0, "rad*s^-1"),
    ("mrad/s", "angular_velocity", _f(1, 1000), 0, ""),
    ("rev/s", "angular_velocity", _f(_TURN), 1, "r/s rps U/s rev*s^-1 turn/s"),
    (
        "r/min",
        "angular_velocity",
        _f(_TURN, 60),
        1,
        "rpm 1/min min^-1 min-1 Min-1 MIN-1 Min^-1 MIN^-1 U/min rev/min Umdr/min turn/min r*min^-1 "
        "rev*min^-1 /min",
    ),
    ("deg/s", "angular_velocity", _DEGREE, 1, "°/s deg*s^-1"),
    ("deg/min", "angular_velocity", _DEGREE / 60, 1, "°/min"),
    ("rad/s^2", "angular_acceleration", _f(1), 0, "rad/s/s rad/s2 rad*s^-2"),
    ("rev/s^2", "angular_acceleration", _f(_TURN), 1, "r/s^2 rev/s/s rev/s2 U/s^2 turn/s^2"),
    (
        "r/min/s",
        "angular_acceleration",
        _f(_TURN, 60),
        1,
        "rpm/s (r/min)/s (1/min)/s 1/min/s min^-1/s min-1/s U/min/s (U/min)/s rev/min/s 1/(min*s)",
    ),
    ("deg/s^2", "angular_acceleration", _DEGREE, 1, "°/s^2 deg/s/s deg/s2"),
    ("rad/s^3", "angular_jerk", _f(1), 0, "rad/s3"),
    ("rev/s^3", "angular_jerk", _f(_TURN), 1, "r/s^3 rev/s3 U/s^3"),
    ("r/min/s^2", "angular_jerk", _f(_TURN, 60), 1, "rpm/s^2 rpm/s/s rpm/s2"),
    ("deg/s^3", "angular_jerk", _DEGREE, 1, "°/s^3 deg/s3"),
    ("N*m", "torque", _f(1), 0, "Nm NM N-m N.m newtonmeter"),
    ("mN*m", "torque", _f(1, 1000), 0, "mNm"),
    ("cN*m", "torque", _f(1, 100), 0, "cNm"),
    ("N*cm", "torque", _f(1, 100), 0, "Ncm"),
    ("kN*m", "torque", _f(1000), 0, "kNm"),
    ("lbf*in", "torque", _POUND_FORCE * _INCH, 0, "lb*in lbin in*lb in*lbf inlb lb-in in-lb"),
    ("lbf*ft", "torque", _POUND_FORCE * _FOOT, 0, "lb*ft lbft ft*lb ft*lbf ftlb lb-ft ft-lb"),
    ("ozf*in", "torque", _POUND_FORCE * _INCH / 16, 0, "oz*in ozin in*oz oz-in"),
    ("N*mm", "torque", _f(1, 1000), 0, "Nmm"),
    ("MN*m", "torque", _f(10**6), 0, "MNm"),
    ("kgf*m", "torque", _KILOGRAM_FORCE, 0, "kgfm kgf-m kgf.m kp*m kpm"),
    ("kgf*cm", "torque", _KILOGRAM_FORCE / 100, 0, "kgfcm kgf-cm kgf.cm kp*cm kpcm"),
    ("N*m/s", "torque_rate", _f(1), 0, "Nm/s"),
    ("N", "force", _f(1), 0, "newton"),
    ("kN", "force", _f(1000), 0, ""),
    ("kgf", "force", _KILOGRAM_FORCE, 0, "kp"),
    ("lbf", "force", _POUND_FORCE, 0, ""),
    ("kg", "mass", _f(1), 0, "KG"),
    ("g", "mass", _f(1, 1000), 0, ""),
    ("t", "mass", _f(1000), 0, "tonne"),
    ("lb", "mass", _POUND, 0, "lbs"),
    ("kg*m^2", "inertia", _f(1), 0, "kgm^2 kgm2 kg*m2"),
    ("kg*cm^2", "inertia", _f(1, 10**4), 0, "kgcm^2 kgcm2 kg*cm2"),
    ("kg*mm^2", "inertia", _f(1, 10**6), 0, "kgmm^2 kgmm2"),
    ("g*cm^2", "inertia", _f(1, 10**7), 0, "gcm^2 gcm2"),
    ("g*m^2", "inertia", _f(1, 1000), 0, "gm^2"),
    ("lb*in^2", "inertia", _POUND * _INCH**2, 0, "lb-in^2 lbin^2 lb*in2"),
    ("s", "time", _f(1), 0, "sec second seconds"),
    ("ms", "time", _f(1, 1000), 0, "MS msec"),
    ("us", "time", _f(1, 10**6), 0, "usec mus"),
    ("ns", "time", _f(1, 10**9), 0, ""),
    ("min", "time", _f(60), 0, "minute minutes"),
    ("h", "time", _f(3600), 0, "hour hours hr"),
    ("d", "time", _f(86400), 0, "day days"),
    ("Hz", "frequency", _f(1), 0, "HZ hertz"),
    ("kHz", "frequency", _f(1000), 0, "KHZ"),
    ("MHz", "frequency", _f(10**6), 0, ""),
    ("1/s", "gain", _f(1), 0, "s^-1 s-1 /s"),
    ("1/ms", "gain", _f(1000), 0, "ms^-1"),
    (
        "(m/min)/mm",
        "gain",
        Fraction(1000, 60),
        0,
        "m/min/mm m/(min*mm) 1000/min",
    ),
    ("V", "voltage", _f(1), 0, "volt Vdc Vac VDC VAC Vrms Veff"),
    ("mV", "voltage", _f(1, 1000), 0, ""),
    ("kV", "voltage", _f(1000), 0, ""),
    ("A", "current", _f(1), 0, "amp ampere"),
    ("A_rms", "current", _f(1), 0, "Arms A(rms) Aeff A(eff) ARMS"),
    ("A_pk", "current", 1 / _ROOT_2, 0, "Apk A(pk) Apeak A(peak) Ap A(p) APK"),
    ("mA", "current", _f(1, 1000), 0, ""),
    ("ohm", "resistance", _f(1), 0, "Ω Ω Ohm ohms"),
    ("mohm", "resistance", _f(1, 1000), 0, "mΩ mΩ mOhm"),
    ("kohm", "resistance", _f(1000), 0, "kΩ kΩ kOhm"),
    ("H", "inductance", _f(1), 0, "henry"),
    ("mH", "inductance", _f(1, 1000), 0, ""),
    ("uH", "inductance", _f(1, 10**6), 0, ""),
    ("F", "capacitance", _f(1), 0, "farad"),
    ("mF", "capacitance", _f(1, 1000), 0, ""),
    ("uF", "capacitance", _f(1, 10**6), 0, ""),
    ("W", "power", _f(1), 0, "watt"),
    ("kW", "power", _f(1000), 0, ""),
    ("hp", "power", 550 * _FOOT * _POUND_FORCE, 0, "HP Hp horsepower"),
    ("PS", "power", 75 * _KILOGRAM_FORCE, 0, ""),
    ("J", "energy", _f(1), 0, "W*s Ws joule"),
    ("kJ", "energy", _f(1000), 0, "kW*s kWs"),
    ("W*h", "energy", _f(3600), 0, "Wh"),
    ("kW*h", "energy", _f(3600000), 0, "kWh"),
    ("K", "temperature", _f(1), 0, "kelvin"),
    ("percent", "ratio", _f(1, 100), 0, "% pct"),
    ("permille", "ratio", _f(1, 1000), 0, "‰ 0.1% promille"),
    ("ppm", "ratio", _f(1, 10**6), 0, ""),
    ("1", "ratio", _f(1), 0, "- -- none"),
    ("bit", "data", _f(1), 0, "bits"),
    ("byte", "data", _f(8), 0, "bytes"),
    ("bit/s", "data_rate", _f(1), 0, "bps Bd baud"),
    ("kbit/s", "data_rate", _f(1000), 0, "kbps kBd kBaud"),
    ("Mbit/s", "data_rate", _f(10**6), 0, "Mbps MBd MBaud"),
    ("Pa", "pressure", _f(1), 0, ""),
    ("bar", "pressure", _f(10**5), 0, ""),
    ("N*m/A", "torque_constant", _f(1), 0, "Nm/A"),
    ("V*s/rad", "voltage_constant", _f(1), 0, "Vs/rad"),
    ("V/(r/min)", "voltage_constant", Fraction(60, _TURN), -1, "V/rpm V*min"),
    ("mV/(r/min)", "voltage_constant", Fraction(60, _TURN * 1000), -1, "mV/rpm V/1000rpm V/krpm"),
    ("N*m*s/rad", "damping", _f(1), 0, "Nms/rad N*m/(rad/s) Nm/(rad/s)"),
    ("N*s/m", "linear_damping", _f(1), 0, "Ns/m N/(m/s)"),
    ("C", "charge", _f(1), 0, "A*s As"),
    ("A*h", "charge", _f(3600), 0, "Ah"),
    ("K/W", "thermal_resistance", _f(1), 0, ""),
)

# Size depends on the axis: user units on the factor group, permille on the rated values.
_AXIS_ROWS: tuple[tuple[str, str, str], ...] = (
    ("increments", "increments", "inc incs increment counts count pulse pulses Inkr ink"),
    ("increments/s", "increments_velocity", "inc/s counts/s pulse/s"),
    ("increments/s^2", "increments_acceleration", "inc/s^2 counts/s^2 inc/s2"),
    (
        "increments/rev",
        "increments_per_turn",
        "inc/rev counts/rev increments/r inc/r ppr cpr PPR CPR",
    ),
    ("user_position", "user_position", "user UU uu"),
    ("user_velocity", "user_velocity", "user/s UU/s"),
    ("user_acceleration", "user_acceleration", "user/s^2 UU/s^2"),
    ("user_jerk", "user_jerk", "user/s^3 UU/s^3"),
    ("user_position/rev", "feed", "user/rev UU/rev"),
    ("permille_rated_torque", "rated_torque", "permille*M0 ‰Mn ‰MN"),
    ("permille_rated_current", "rated_current", "permille*I0 ‰In ‰IN"),
    ("percent_rated_torque", "rated_torque", "%Mn %MN %M0"),
    ("percent_rated_current", "rated_current", "%In %IN %I0"),
)
_RATED_RATIO = {
    "percent_rated_torque": Fraction(10),
    "percent_rated_current": Fraction(10),
}


def _build() -> tuple[dict[str, Unit], dict[str, str]]:
    units: dict[str, Unit] = {}
    spellings: dict[str, str] = {}
    for symbol, kind, ratio, pi_power, others in _ROWS:
        si = "A_rms" if symbol in STATED_AMPERES else SI_UNIT[kind]
        units[symbol] = Unit(symbol, kind, ratio, pi_power, si=si)
        for spelling in (symbol, *others.split()):
            spellings[spelling] = symbol
    for symbol, kind, others in _AXIS_ROWS:
        units[symbol] = Unit(symbol, kind, _RATED_RATIO.get(symbol, Fraction(1)))
        for spelling in (symbol, *others.split()):
            spellings[spelling] = symbol
    units["degC"] = Unit("degC", "temperature", offset=Fraction(27315, 100), si="K")
    for spelling in ("degC", "°C", "C°", "℃", "celsius"):
        spellings[spelling] = "degC"
    units["degF"] = Unit("degF", "temperature", Fraction(5, 9), 0, Fraction(45967, 100), "K")
    for spelling in ("degF", "°F"):
        spellings[spelling] = "degF"
    return units, spellings


UNITS, SPELLINGS = _build()
