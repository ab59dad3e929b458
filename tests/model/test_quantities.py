"""Units: one spelling each, exact factors, exact conversion; numbers without rounding."""

from decimal import Decimal
from fractions import Fraction
from math import isclose, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import constants

from vault.model import pint_units
from vault.model.quantities import (
    PI,
    Measure,
    Physical,
    UnknownUnit,
    UnlikeUnits,
    canonical_unit,
    convert,
    exact_decimal,
    normal,
    physical,
    plain,
    rounded_decimal,
    same_kind,
    unit_named,
    unlike_amperes,
)
from vault.model.unit_table import SI_UNIT, SPELLINGS, STATED_AMPERES, UNITS

# Spellings that exports use: common practice, no source.
SPELLED = {
    "r/min": "rpm RPM Rpm min-1 MIN-1 Min-1 min^-1 min⁻¹ 1/min 1/MIN /min U/min u/min rev/min "
    "r/min Umdr/min [rpm] [1/min] r·min⁻¹",
    "mm/s^2": "mm/s² mm/s^2 mm/s2 mm/s/s mm·s⁻² mm/s**2 [mm/s²] MM/S^2",
    "m/s^2": "m/s² m/s2 m/s/s M/S²",
    "m/s": "m/s M/S m·s⁻¹",
    "m/min": "m/min M/MIN",
    "mm/min": "mm/min MM/MIN",
    "mm/s": "mm/s MM/S mm·s⁻¹",
    "deg": "° deg degree degrees Grad Degrees",
    "deg/s": "°/s deg/s",
    "deg/s^2": "°/s² deg/s2",
    "N*m": "Nm N·m N⋅m N*m N-m N.m NM",
    "mN*m": "mNm mN·m",
    "um": "µm μm um micron mum",
    "us": "µs μs us",
    "mm": "mm MM [mm] millimeter",
    "percent": "% pct [%]",
    "permille": "‰ promille 0.1% [‰]",
    "kg*cm^2": "kgcm² kg·cm² kgcm2 kg*cm^2 kg⋅cm²",
    "kg*m^2": "kgm² kg·m² kgm2",
    "1/s": "1/s s^-1 s⁻¹ s-1",
    "ohm": "Ω Ω Ohm OHM",
    "mohm": "mΩ mΩ mOhm",
    "uF": "µF μF uF",
    "degC": "°C ℃ degC",
    "A": "A ampere",
    "A_rms": "Arms Aeff A(rms) A_rms",
    "A_pk": "Apk A(pk) Apeak A_pk",
    "hp": "hp HP Hp",
    "PS": "PS",
    "increments/rev": "PPR ppr CPR inc/rev",
    "V": "V VDC Vdc VAC",
    "rev": "rev r U Umdr turn revolutions",
    "increments": "inc Inc INC counts pulse Inkr increments",
    "kgf*cm": "kgf·cm kgf*cm kgf-cm kgfcm",
    "(m/min)/mm": "(m/min)/mm m/min/mm",
    "bit/s": "bit/s Bd baud",
}


def test_every_spelling_of_a_unit_becomes_the_one_spelling() -> None:
    wanted = {spelling: symbol for symbol, row in SPELLED.items() for spelling in row.split()}
    assert {spelling: canonical_unit(spelling) for spelling in wanted} == wanted


@pytest.mark.parametrize("spelling", ["[ mm ]", " mm ", "\tmm", "\u00a0mm"])
def test_blanks_and_brackets_around_a_unit_do_not_count(spelling: str) -> None:
    assert canonical_unit(spelling) == "mm"


@pytest.mark.parametrize(("spelling", "symbol"), [("N m", "N*m"), ("kg m²", "kg*m^2")])
def test_a_blank_between_units_does_not_count(spelling: str, symbol: str) -> None:
    assert canonical_unit(spelling) == symbol


@pytest.mark.parametrize(
    "text", ["", " ", "-", "--", "none", "None", "NONE", "mm/mm", "[]", "[-]", "1", "[1]"]
)
def test_a_text_that_says_there_is_no_unit_gives_none(text: str) -> None:
    assert canonical_unit(text) is None


def test_the_one_spelling_of_a_unit_is_its_own_spelling() -> None:
    symbols = set(UNITS) - {"1"}
    assert {symbol for symbol in symbols if canonical_unit(symbol) != symbol} == set()


@pytest.mark.parametrize("spelling", ["mm", "mNm", "mW", "mV", "mohm", "Mbit/s", "MHz", "mH"])
def test_a_prefix_letter_keeps_its_case(spelling: str) -> None:
    turned = spelling[0].swapcase() + spelling[1:]
    try:
        other = canonical_unit(turned)
    except UnknownUnit:
        return
    assert other != canonical_unit(spelling)


@pytest.mark.parametrize(
    "spelling",
    [
        "furlongs-ish",
        "mm//s",
        "???",
        "2*m",
        "mm 3",
        "Zoll/Takt",
        "x",
        "(",
        "^",
        "10 mm",
        "s)if°",
        "°°",
        "lambda",
        "dB",
        "N/A",  # no unit, or newton per ampere
        "n/a",
        "Pm",  # pint has a petametre for it
        "zm",
    ],
)
def test_an_unknown_unit_is_refused_with_its_spelling(spelling: str) -> None:
    with pytest.raises(UnknownUnit) as caught:
        canonical_unit(spelling)
    assert caught.value.spelling == spelling


@pytest.mark.parametrize(
    "spelling", ["1/9^9^9", "m^9^9^9", "(((km^9)^9)^9)^9", "km^999999999", "1/(9**9**9)"]
)
def test_a_unit_that_would_take_for_ever_to_compute_is_unknown(spelling: str) -> None:
    with pytest.raises(UnknownUnit):
        canonical_unit(spelling)


# Compound units that are not in the table, with what they are in SI (SI Brochure, tables 2 to 4).
COMPOUND = {
    "deg/h": ("r/min", Fraction(1, 360 * 60)),
    "°/h": ("deg/s", Fraction(1, 3600)),
    "rev/h": ("r/min", Fraction(1, 60)),
    "km/h": ("m/s", Fraction(1000, 3600)),
    "dm": ("mm", Fraction(100)),
    "kg*m/s^2": ("N", Fraction(1)),
    "kg*mm/s^2": ("N", Fraction(1, 1000)),
    "N*m/s/A*A": ("W", Fraction(1)),
    "V*A": ("W", Fraction(1)),
    "A/ms": ("A/s", Fraction(1000)),
    "inc/min": ("increments/s", Fraction(1, 60)),
    "user/min": ("user_velocity", Fraction(1, 60)),
    "Nm/deg": ("Nm/rev", Fraction(360)),
    "mm/r": ("in/rev", Fraction(10, 254)),
}


@pytest.mark.parametrize("spelling", COMPOUND)
def test_a_compound_unit_converts_exactly_into_a_unit_of_the_table(spelling: str) -> None:
    target, factor = COMPOUND[spelling]
    source, wanted = canonical_unit(spelling), canonical_unit(target)
    assert source is not None
    assert wanted is not None
    assert convert(1, source, wanted) == factor


@pytest.mark.parametrize("spelling", COMPOUND)
def test_the_spelling_of_a_compound_unit_reads_back_as_itself(spelling: str) -> None:
    symbol = canonical_unit(spelling)
    assert symbol is not None
    assert canonical_unit(symbol) == symbol
    assert unit_named(symbol).symbol == symbol


@pytest.mark.parametrize(("left", "right"), [("mm/rev", "mm*rev"), ("Nm/rad", "Nm*rad")])
def test_per_revolution_and_times_revolution_are_two_kinds(left: str, right: str) -> None:
    one, other = canonical_unit(left), canonical_unit(right)
    assert one is not None
    assert other is not None
    assert not same_kind(one, other)


def size(symbol: str) -> float:
    """Size of a unit in SI as a float, to hold against float constants."""
    unit = UNITS[symbol]
    return float(unit.ratio) * pi**unit.pi_power


# scipy.constants (CODATA and NIST values) beside our table.
SCIPY = {
    "in": constants.inch,
    "ft": constants.foot,
    "lb": constants.lb,
    "lbf": constants.lbf,
    "kgf": constants.kgf,
    "min": constants.minute,
    "h": constants.hour,
    "d": constants.day,
    "deg": constants.degree,
    "arcmin": constants.arcmin,
    "arcsec": constants.arcsec,
    "bar": constants.bar,
    "um": constants.micron,
    "t": constants.metric_ton,
    "mm": constants.milli,
    "kN": constants.kilo,
    "MHz": constants.mega,
    "nm": constants.nano,
    "percent": 0.01,
    "in/s": constants.inch,
    "ft/min": constants.foot / constants.minute,
    "lbf*in": constants.lbf * constants.inch,
    "lbf*ft": constants.lbf * constants.foot,
    "ozf*in": constants.oz * constants.g * constants.inch,
    "lb*in^2": constants.lb * constants.inch**2,
    "r/min": 2 * constants.pi / constants.minute,
    "r/min/s": 2 * constants.pi / constants.minute,
    "W*h": constants.hour,
    "kW*h": constants.hour * constants.kilo,
    "m/min": 1 / constants.minute,
    "hp": constants.hp,
    "kgf*cm": constants.kgf * constants.centi,
    "kgf*m": constants.kgf,
}


@pytest.mark.parametrize("symbol", SCIPY)
def test_a_factor_agrees_with_scipy_constants(symbol: str) -> None:
    assert isclose(size(symbol), SCIPY[symbol], rel_tol=1e-14)


# NIST SP 811 (2008), appendix B.8; from memory. Digits are as many as the table gives.
NIST = {
    "in": "0.0254",  # inch to metre, exact
    "ft": "0.3048",  # foot to metre, exact
    "lb": "0.45359237",  # pound (avoirdupois) to kilogram, exact
    "lbf": "4.448222",  # pound-force to newton
    "kgf": "9.80665",  # kilogram-force to newton, exact
    "kgf*m": "9.80665",  # kilogram-force metre to newton metre, exact
    "lbf*in": "0.1129848",  # pound-force inch to newton metre
    "lbf*ft": "1.355818",  # pound-force foot to newton metre
    "ozf*in": "0.007061552",  # ounce (avoirdupois)-force inch to newton metre
    "in/s": "0.0254",  # inch per second to metre per second, exact
    "ft/min": "0.00508",  # foot per minute to metre per second, exact
    "r/min": "0.1047198",  # revolution per minute (rpm) to radian per second
    "rev": "6.283185",  # revolution to radian
    "deg": "0.01745329",  # degree to radian
    "arcmin": "0.0002908882",  # minute (angle) to radian
    "arcsec": "0.000004848137",  # second (angle) to radian
    "kW*h": "3600000",  # kilowatt hour to joule, exact
    "A*h": "3600",  # ampere hour to coulomb, exact
    "bar": "100000",  # bar to pascal, exact
    "hp": "745.6999",  # horsepower (550 foot pounds-force per second) to watt
    "PS": "735.4988",  # horsepower (metric) to watt
    "lb*in^2": "0.0002926397",  # pound inch squared to kilogram metre squared
}


@pytest.mark.parametrize("symbol", NIST)
def test_a_factor_agrees_with_nist_sp_811(symbol: str) -> None:
    given_digits = len(NIST[symbol].replace(".", "").lstrip("0"))
    assert isclose(size(symbol), float(NIST[symbol]), rel_tol=10.0 ** (1 - given_digits))


@pytest.mark.parametrize(
    ("number", "unit", "kelvin"),
    # NIST SP 811 (2008), B.8: T/K = t/degC + 273.15; T/K = (t/degF + 459.67)/1.8. From memory.
    [("0", "degC", "273.15"), ("100", "degC", "373.15"), ("32", "degF", "273.15")],
)
def test_a_temperature_counts_from_its_own_zero(number: str, unit: str, kelvin: str) -> None:
    found = physical(Decimal(number), unit)
    assert found is not None
    assert found.decimal() == Decimal(kelvin)
    assert found.unit == "K"


# Names that our own spelling shares with something else in pint, in pint's words.
PINT_WORDS = {
    "t": "metric_ton", "h": "hour", "d": "day", "g": "gram", "ft": "foot", "in": "inch",
    "percent": "percent", "permille": "permille", "1": "dimensionless", "min": "minute",
    "hp": "horsepower", "PS": "metric_horsepower",
    "K": "kelvin", "C": "coulomb", "F": "farad", "bit": "bit", "byte": "byte",
    "mohm": "milliohm", "kohm": "kiloohm", "ozf*in": "force_ounce*inch",
    "lbf*in": "force_pound*inch", "lbf*ft": "force_pound*foot", "lb*in^2": "pound*inch**2",
    "mdeg": "millidegree", "increments/rev": "increment/revolution",
    "kbit/s": "kilobit/second", "Mbit/s": "megabit/second", "bit/s": "bit/second",
    "user_position/rev": "user_position/revolution",
}  # fmt: skip
# The table counts these in units of their own, with no SI unit; pint has radians in them.
BY_TURN = {"increments/rev", "user_position/rev"}


def pint_size(symbol: str) -> float:
    """Size of a unit as pint computes it: in SI, else in its own base units."""
    si = UNITS[symbol].si
    one = pint_units.registry().Quantity(1, PINT_WORDS.get(symbol) or pint_units._worded(symbol))
    if si is None:
        return float(one.to_base_units().magnitude)
    return float(one.to("dimensionless" if si == "1" else pint_units._worded(si)).magnitude)


def test_a_row_of_the_table_is_what_pint_computes() -> None:
    rows = set(UNITS) - {"degC", "degF", *STATED_AMPERES} - BY_TURN
    off = {row for row in rows if not isclose(size(row), pint_size(row), rel_tol=1e-15)}
    assert off == set()


@pytest.mark.parametrize(
    ("symbol", "word"), [("degC", "degree_Celsius"), ("degF", "degree_Fahrenheit")]
)
def test_a_temperature_is_what_pint_computes(symbol: str, word: str) -> None:
    found = physical(Decimal("36.6"), symbol)
    assert found is not None
    theirs = pint_units.registry().Quantity(Fraction("36.6"), word).to("kelvin").magnitude
    assert isclose(float(found.number()), float(theirs), rel_tol=1e-15)


def test_a_peak_ampere_is_less_than_one_by_the_root_of_two() -> None:
    """IEC 60050-103-02-03 (r.m.s. value) for a sine, from memory."""
    found = physical(Decimal(10), "A_pk")
    assert found is not None
    assert isclose(float(found.number()), 10 / sqrt(2), rel_tol=1e-15)
    assert found.unit == "A_rms"
    assert physical(Decimal(10), "A_rms") == Physical(Fraction(10), 0, "current", "A_rms")
    assert convert(5, "A_pk", "A_pk") == 5


@pytest.mark.parametrize(
    ("units", "unlike"),
    [
        (("A", "A_rms"), True), (("A_pk", "mA"), True), (("A_pk", "A_rms"), False),
        (("A", "mA"), False), (("A_rms", "V"), False), (("A_rms", None), False), ((), False),
    ],
)  # fmt: skip
def test_amperes_are_unlike_where_some_say_which_and_others_do_not(
    units: tuple[str | None, ...], unlike: bool
) -> None:
    assert unlike_amperes(*units) is unlike


def test_a_unit_that_nobody_knows_is_of_its_own_kind() -> None:
    assert unit_named("PPM/tooth").si is None
    assert not same_kind("PPM/tooth", "mm")
    assert not same_kind("PPM/tooth", "ppm/tooth")


def test_every_unit_with_a_size_is_of_a_kind_with_an_si_unit() -> None:
    sized = {symbol: unit for symbol, unit in UNITS.items() if unit.si is not None}
    others = {symbol for symbol, unit in sized.items() if unit.si != SI_UNIT[unit.kind]}
    assert others == STATED_AMPERES


def test_a_spelling_of_the_table_is_read_as_written_there() -> None:
    wanted = {**SPELLINGS, **dict.fromkeys(("-", "--", "none", "1"))}
    assert {spelling: canonical_unit(spelling) for spelling in SPELLINGS} == wanted


@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        ("500", "mm/s", "m/min", Fraction(30)),
        ("1", "rev", "deg", Fraction(360)),
        ("3000", "r/min", "rev/s", Fraction(50)),
        ("3000", "r/min", "deg/s", Fraction(18000)),
        ("1", "deg", "arcsec", Fraction(3600)),
        ("1", "in", "mm", Fraction(254, 10)),
        ("1", "(m/min)/mm", "1/s", Fraction(1000, 60)),
        ("25", "degC", "degF", Fraction(77)),
        ("10", "permille", "percent", Fraction(1)),
        ("30", "percent_rated_torque", "permille_rated_torque", Fraction(300)),
        ("1", "V/(r/min)", "mV/(r/min)", Fraction(1000)),
    ],
)
def test_conversion_is_exact(value: str, source: str, target: str, expected: Fraction) -> None:
    assert convert(Decimal(value), source, target) == expected


def test_pi_stands_only_where_one_side_has_it() -> None:
    assert convert(1, "rev", "rad") == 2 * Fraction(PI)
    assert isclose(float(PI), constants.pi, rel_tol=1e-15)


@pytest.mark.parametrize(
    ("source", "target"),
    [("mm", "s"), ("N*m", "J"), ("r/min", "Hz"), ("mm", "deg"), ("user_position", "mm"),
     ("percent_rated_torque", "percent_rated_current"), ("1/s", "Hz"), ("deg/h", "mm/s")],
)  # fmt: skip
def test_units_of_two_kinds_do_not_convert(source: str, target: str) -> None:
    with pytest.raises(UnlikeUnits):
        convert(1, source, target)
    assert not same_kind(source, target)


def test_a_unit_that_depends_on_the_axis_has_no_size_of_its_own() -> None:
    assert physical(5, "user_position") is None
    assert physical(5, "permille_rated_torque") is None
    assert physical(5, None) is None


def test_a_difference_of_two_lengths_is_a_length_in_si() -> None:
    left, right = physical(Decimal("2.5"), "mm"), physical(1, "cm")
    assert left is not None
    assert right is not None
    assert (right - left).decimal() == Decimal("0.0075")
    assert (right - left).unit == "m"


def test_a_length_less_a_time_is_refused() -> None:
    left, right = physical(1, "mm"), physical(1, "s")
    assert left is not None
    assert right is not None
    with pytest.raises(UnlikeUnits):
        _ = left - right


def size_of(value: Decimal | int, unit: str) -> Physical:
    found = physical(value, unit)
    assert found is not None
    return found


def test_a_quotient_of_two_sizes_is_a_bare_number() -> None:
    assert size_of(3, "cm") / size_of(2, "mm") == 15


def test_pi_cancels_in_a_quotient_where_both_have_it() -> None:
    assert size_of(1, "rev") / size_of(1, "deg") == 360
    assert size_of(1, "rev") / size_of(1, "rad") == 2 * Fraction(PI)
    assert size_of(1, "rad") / size_of(1, "rev") == 1 / (2 * Fraction(PI))


def test_a_length_over_a_time_is_refused() -> None:
    with pytest.raises(UnlikeUnits):
        _ = size_of(1, "mm") / size_of(1, "s")


def test_many_times_a_size_is_of_its_kind() -> None:
    assert size_of(1, "deg") * Decimal("1.5") == size_of(Decimal("1.5"), "deg")


PLAIN_UNITS = sorted(symbol for symbol, unit in UNITS.items() if unit.si is not None)
values = st.decimals(-(10**9), 10**9, allow_nan=False, places=6)


@settings(deadline=None)
@given(value=values, source=st.sampled_from(PLAIN_UNITS), other=st.sampled_from(PLAIN_UNITS))
def test_converting_there_and_back_gives_the_same_number(
    value: Decimal, source: str, other: str
) -> None:
    if same_kind(source, other):
        assert convert(convert(value, source, other), other, source) == Fraction(value)


@settings(deadline=None)
@given(value=values, unit=st.sampled_from(PLAIN_UNITS))
def test_conversion_agrees_with_the_size_in_si(value: Decimal, unit: str) -> None:
    found = physical(value, unit)
    si = UNITS[unit].si
    assert found is not None
    assert si is not None
    if si != "1":
        assert found.number() == convert(value, unit, si)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("16 mm", "16", "mm"),
        ("-0.5 m/s", "-0.5", "m/s"),
        ("4", "4", None),
        ("+3", "3", None),
        ("16mm", "16", "mm"),
        ("  2.50  Nm ", "2.5", "N*m"),
        ("1e3 mm", "1000", "mm"),
        ("5e-3 kg·m²", "0.005", "kg*m^2"),
        ("3000 min-1", "3000", "r/min"),
        ("93 %", "93", "percent"),
        ("0 mm", "0", "mm"),
    ],
)
def test_a_measure_is_read_as_people_write_it(text: str, value: str, unit: str | None) -> None:
    found = Measure.parse(text)
    assert (found.value, found.unit) == (Decimal(value), unit)


@pytest.mark.parametrize("text", ["", "mm", "mm 16", "sixteen mm", "- 5 mm", "NaN mm", "16 mm 3"])
def test_what_is_no_measure_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        Measure.parse(text)


@pytest.mark.parametrize("text", ["1e9999999999 mm", "1e1000 mm", "2e-99999999 s"])
def test_a_measure_with_an_exponent_beyond_reason_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="unknown unit"):
        Measure.parse(text)


@settings(deadline=None)
@given(value=values, unit=st.sampled_from([None, *sorted(set(UNITS) - {"1"})]))
def test_a_measure_reads_back_what_it_writes(value: Decimal, unit: str | None) -> None:
    measure = Measure(normal(value), unit)
    assert Measure.parse(str(measure)) == measure


decimals = st.decimals(allow_nan=False, allow_infinity=False).filter(
    lambda d: abs(d.adjusted()) < 200
)


@settings(deadline=None)
@given(decimals)
def test_normal_keeps_the_number(number: Decimal) -> None:
    assert Fraction(normal(number)) == Fraction(number)


@settings(deadline=None)
@given(decimals, st.integers(0, 5))
def test_normal_gives_one_form_for_equal_numbers(number: Decimal, zeros: int) -> None:
    sign, digits, exponent = number.as_tuple()
    assert isinstance(exponent, int)
    longer = Decimal((sign, digits + (0,) * zeros, exponent - zeros))
    assert normal(longer).as_tuple() == normal(number).as_tuple()


@settings(deadline=None)
@given(decimals)
def test_normal_leaves_no_trailing_zero_behind_the_point(number: Decimal) -> None:
    written = format(normal(number), "f")
    assert "." not in written or written[-1] not in "0."


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity"])
def test_normal_refuses_what_is_no_number(text: str) -> None:
    with pytest.raises(ValueError, match="not a number"):
        normal(Decimal(text))


@settings(deadline=None)
@given(decimals)
def test_plain_writes_no_exponent_and_reads_back(number: Decimal) -> None:
    text = plain(number)
    assert "e" not in text.lower()
    assert Fraction(text) == Fraction(number)


@settings(deadline=None)
@given(decimals)
def test_a_decimal_has_itself_as_exact_decimal(number: Decimal) -> None:
    assert exact_decimal(Fraction(number)) == number


@settings(deadline=None)
@given(st.integers(), st.integers(1, 10**6))
def test_a_fraction_is_an_exact_decimal_or_has_a_prime_factor_beside_2_and_5(
    numerator: int, denominator: int
) -> None:
    number = Fraction(numerator, denominator)
    rest = number.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    found = exact_decimal(number)
    assert (found is None) == (rest != 1)
    assert found is None or Fraction(found) == number


@settings(deadline=None)
@given(st.fractions(), st.integers(6, 20))
def test_rounding_is_exact_or_within_half_of_the_last_digit(number: Fraction, digits: int) -> None:
    found = rounded_decimal(number, digits)
    if Fraction(found) != number:
        assert len(found.as_tuple().digits) <= max(digits, found.adjusted() + 1)
        assert abs(Fraction(found) - number) <= abs(number) * Fraction(1, 2 * 10 ** (digits - 1))


def test_rounding_keeps_a_finite_decimal_of_thirty_digits() -> None:
    text = "0.123456789012345678901234567891"
    assert rounded_decimal(Fraction(text), 6) == Decimal(text)


def test_a_long_number_is_rounded_to_its_nearest_neighbour() -> None:
    lower = Fraction("2.5")
    assert rounded_decimal(lower + Fraction(1, 10**45), 1) == 3
    assert rounded_decimal(lower - Fraction(1, 10**45), 1) == 2


@pytest.mark.parametrize(
    ("number", "text"), [("1/3", "0.3333"), ("2/3", "0.6667"), ("-1/7", "-0.1429")]
)
def test_a_number_without_end_is_rounded_to_the_digits_asked_for(number: str, text: str) -> None:
    assert rounded_decimal(Fraction(number), 4) == Decimal(text)
