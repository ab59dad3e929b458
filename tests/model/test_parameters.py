"""Codes and their order; a set of parameters."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.model.parameters import Parameter, ParameterSet, canonical_code, code_order


@pytest.mark.parametrize(
    ("written", "code"),
    [
        ("0x608f:1", "0x608F:01"),
        ("0X608F:01", "0x608F:01"),
        ("0x6065", "0x6065:00"),
        ("0x6065:0", "0x6065:00"),
        (" P1.2 ", "P1.2"),
        ("p1", "p1"),
        ("0x60651:00", "0x60651:00"),
    ],
)
def test_an_object_address_is_spelled_one_way(written: str, code: str) -> None:
    assert canonical_code(written) == code


def test_codes_stand_in_natural_order_with_objects_first() -> None:
    ordered = ["0x1000:00", "0x6065:00", "0x6065:0A", "1", "2", "10", "P", "P2", "P2.9", "P2.10",
               "P10", "Q"]  # fmt: skip
    mixed = ordered.copy()
    random.Random(1).shuffle(mixed)
    assert sorted(mixed, key=code_order) == ordered


@settings(deadline=None)
@given(st.lists(st.text(st.sampled_from("P09.:x "), max_size=5), unique=True))
def test_any_codes_have_one_order(codes: list[str]) -> None:
    backwards = list(reversed(codes))
    assert sorted(codes, key=code_order) == sorted(backwards, key=code_order)


def test_a_set_stands_in_canonical_order_whatever_order_it_came_in() -> None:
    found = ParameterSet(Parameter(code, code, 1, 1) for code in ("P10", "P2", "P"))
    assert list(found) == ["P", "P2", "P10"]


def test_a_code_stands_in_a_set_once() -> None:
    with pytest.raises(ValueError, match="twice"):
        ParameterSet([Parameter("A", "x", 1, 1), Parameter("A", "y", 2, 2)])
