"""The reference of JSON for people says what the types of the documents say."""

from __future__ import annotations

from tests.reference import REFERENCE, every_schema, reference


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
