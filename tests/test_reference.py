"""The reference of JSON for people says what the types of the documents say."""

from __future__ import annotations

import pytest

from tests.frozen_keys import Keys, frozen_keys, grown, keys_of, taken_away
from tests.reference import REFERENCE, answers, every_schema, reference


def test_the_reference_is_up_to_date() -> None:
    shown = REFERENCE.read_text("utf-8")
    assert shown == reference(), "write it anew: python -m tests.reference"


def test_every_document_and_every_key_says_what_it_is_for() -> None:
    silent = [name for name, schema in every_schema().items() if not schema["description"]]
    silent += [
        f"{name}.{key}"
        for name, schema in every_schema().items()
        for key, value in schema["properties"].items()
        if "description" not in value
    ]
    assert silent == ["PeriodDocument.from", "PeriodDocument.to"], "two words that say it all"


def test_no_document_and_no_key_is_ever_taken_away() -> None:
    assert taken_away(frozen_keys(), keys_of(answers())) == []


def test_every_key_is_frozen() -> None:
    missing = taken_away(keys_of(answers()), frozen_keys())
    assert missing == [], "new ones are added by python -m tests.reference"


@pytest.mark.parametrize(
    ("present", "gone"),
    [
        ({"A": ["one", "two"]}, []),
        ({"A": ["one", "three", "two"], "B": ["four"]}, []),
        ({"A": ["one"]}, ["A.two"]),
        ({"B": ["one", "two"]}, ["A"]),
    ],
)
def test_a_key_that_was_frozen_stays_so(present: Keys, gone: list[str]) -> None:
    frozen = {"A": ["one", "two"]}
    assert taken_away(frozen, present) == gone
    assert taken_away(frozen, grown(frozen, present)) == []
    assert taken_away(present, grown(frozen, present)) == []
