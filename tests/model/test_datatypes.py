"""Basic data types against the library canopen and the ranges of Python's struct module."""

import struct

import pytest
from canopen.objectdictionary import datatypes as canopen_types

from vault.model.datatypes import BY_NAME, BY_NUMBER

# struct letters of the types that C has too (Python documentation, struct, format characters)
LETTERS = {
    "INTEGER8": "b", "INTEGER16": "h", "INTEGER32": "i", "INTEGER64": "q",
    "UNSIGNED8": "B", "UNSIGNED16": "H", "UNSIGNED32": "I", "UNSIGNED64": "Q",
}  # fmt: skip


def test_every_type_of_ours_is_known_to_canopen() -> None:
    assert {name for name in BY_NAME if not hasattr(canopen_types, name)} == set()


def test_a_type_has_the_number_that_canopen_gives_it() -> None:
    theirs = {name: getattr(canopen_types, name) for name in BY_NAME}
    assert {name: kind.number for name, kind in BY_NAME.items()} == theirs


def test_whole_signed_and_real_types_are_those_of_canopen() -> None:
    def numbers(family: str) -> set[int]:
        return {number for number, kind in BY_NUMBER.items() if kind.family == family}

    ours = set(BY_NUMBER)
    assert numbers("integer") == ours & set(canopen_types.SIGNED_TYPES)
    assert numbers("unsigned") == ours & set(canopen_types.UNSIGNED_TYPES)
    assert numbers("real") == ours & set(canopen_types.FLOAT_TYPES)
    counted = {*canopen_types.NUMBER_TYPES, canopen_types.BOOLEAN}
    assert {number for number, kind in BY_NUMBER.items() if kind.is_number} == ours & counted


@pytest.mark.parametrize("name", LETTERS)
def test_the_limits_of_a_whole_type_just_fit_into_its_bytes(name: str) -> None:
    kind, letter = BY_NAME[name], f"<{LETTERS[name]}"
    assert kind.low is not None
    assert kind.high is not None
    assert struct.calcsize(letter) * 8 == kind.bits
    for fits in (kind.low, kind.high):
        assert struct.unpack(letter, struct.pack(letter, fits)) == (fits,)
    for too_far in (kind.low - 1, kind.high + 1):
        with pytest.raises(struct.error):
            struct.pack(letter, too_far)


def test_a_boolean_is_zero_or_one() -> None:
    kind = BY_NAME["BOOLEAN"]
    assert (kind.low, kind.high, kind.is_whole) == (0, 1, True)


@pytest.mark.parametrize("name", ["REAL32", "REAL64", "VISIBLE_STRING", "DOMAIN", "TIME_OF_DAY"])
def test_reals_and_texts_have_no_whole_limits(name: str) -> None:
    kind = BY_NAME[name]
    assert (kind.low, kind.high, kind.is_whole) == (None, None, False)
