"""What a waiver allows, and who counts as one person. All values are invented."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from vault.model.errors import WrongUsage
from vault.model.golden import Allowance, same_person
from vault.model.parameters import Parameter
from vault.model.quantities import Physical, physical


def lag(value: str, unit: str | None = "mm") -> Parameter:
    return Parameter("lim/lag", "Following error window", Decimal(value), Decimal(value), unit=unit)


def choice(raw: int, label: str | None) -> Parameter:
    return Parameter("stop", "Quick stop reaction", raw, raw, label=label)


@pytest.mark.parametrize(
    ("allow", "value", "covered"),
    [
        ("4.5..6 mm", "4.5", True),  # the bounds themselves are allowed
        ("4.5..6 mm", "6", True),
        ("4.5..6 mm", "4.499999", False),
        ("4.5..6 mm", "6.000001", False),
        ("..6 mm", "-100", True),
        ("..6 mm", "6.1", False),
        ("4.5 mm..", "1000", True),
        ("4.5 mm..", "4.4", False),
        ("5 mm", "5.000", True),
        ("5 mm", "5.001", False),
        ("-2..-1 mm", "-1.5", True),
        ("5", "5", True),  # without a unit: in the parameter's own
        ("5", "6", False),
        ("any", "123456", True),
        ("0.25 in", "6.35", True),  # 1 in = 25.4 mm exactly (NIST SP 811, from memory)
        ("0.0045..0.006 m", "4.5", True),
        ("4500 um..6 mm", "4.4999", False),
        ("1..2 kg", "1.5", False),
    ],
)
def test_a_range_covers_what_lies_in_it_in_any_unit(allow: str, value: str, covered: bool) -> None:
    parameter = lag(value)
    size = physical(Decimal(value), "mm")
    assert Allowance.parse(allow).covers(parameter, size) is covered
    assert Allowance.parse(allow).covers(parameter, None) is covered


def test_what_a_value_really_amounts_to_decides() -> None:
    really = Physical(Fraction(1, 1000), 0, "length", "m")
    assert not Allowance.parse("4..6 mm").covers(lag("5"), really)
    assert Allowance.parse("1 mm").covers(lag("5"), really)


def test_user_units_need_their_size() -> None:
    counts = lag("5000", "user_position")
    assert not Allowance.parse("4..6 mm").covers(counts, None)
    assert Allowance.parse("4..6 mm").covers(counts, Physical(Fraction(1, 200), 0, "length", "m"))
    assert not Allowance.parse("4..6 mm").fits(counts, None)


def test_degrees_and_radians_are_compared_without_rounding() -> None:
    half_turn = Parameter("a", "Angle", 180, 180, unit="deg")
    assert Allowance.parse("180 deg").covers(half_turn, physical(180, "deg"))
    assert not Allowance.parse("3.1416 rad..").covers(half_turn, physical(180, "deg"))
    assert Allowance.parse("..3.1416 rad").covers(half_turn, physical(180, "deg"))


@pytest.mark.parametrize(
    ("allow", "parameter", "covered"),
    [
        ("Ramp down", choice(2, "Ramp down"), True),
        ("ramp  DOWN", choice(2, "Ramp down"), True),
        ("Coast", choice(2, "Ramp down"), False),
        ("2", choice(2, "Ramp down"), True),
        ("3", choice(2, "Ramp down"), False),
        ("2", choice(2, None), True),
    ],
)
def test_a_choice_is_allowed_by_label_or_number(
    allow: str, parameter: Parameter, covered: bool
) -> None:
    assert Allowance.parse(allow).covers(parameter, None) is covered


def test_only_any_covers_a_parameter_that_is_gone() -> None:
    assert Allowance.parse("any").covers(None, None)
    assert not Allowance.parse("..6 mm").covers(None, None)


@pytest.mark.parametrize(
    ("allow", "said"),
    [
        ("", "what it allows"),
        ("..", "no bound"),
        ("6..4 mm", "wrong way round"),
        ("6 mm..4000 um", "wrong way round"),
        ("1 kg..5 mm", "different kinds"),
        ("3 mm..5", "upper bound has no unit"),
        ("5 furlongparsecs", "furlongparsecs"),
        ("a..b", "no number"),
    ],
)
def test_an_allowance_that_means_nothing_is_refused(allow: str, said: str) -> None:
    with pytest.raises(WrongUsage, match=said):
        Allowance.parse(allow)


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Mira Okafor <mira@a.example>", "Mira Okafor <mira@a.example>", True),
        ("Mira Okafor <mira@a.example>", "M. Okafor <MIRA@a.example>", True),
        ("Mira Okafor <mira@a.example>", "mira  okafor <other@b.example>", True),
        ("Mira Okafor <>", "Pavo Drostmaa <>", False),
        ("Mira Okafor <mira@a.example>", "Pavo Drostmaa <pavo@a.example>", False),
    ],
)
def test_one_person_has_one_mail_or_one_name(one: str, other: str, same: bool) -> None:
    assert same_person(one, other) is same
