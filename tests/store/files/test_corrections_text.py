"""corrections.yaml reads back as it was written, and nothing else reads."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from vault.model.corrections import Correction, times_put_right
from vault.model.errors import Damaged
from vault.store.files.corrections_text import corrections_text, read_corrections

BY = "Mira Okafor <mira@tileworks.example>"
AT = datetime(2026, 11, 1, 8, tzinfo=UTC)
SNAPSHOT = "a" * 40
NOTE = Correction("note", BY, AT, "the work order was WO-12, not WO-21", SNAPSHOT)
FIRST = Correction(
    "taken-at", BY, AT, "clock of the laptop", SNAPSHOT, datetime(2020, 1, 2, tzinfo=UTC)
)
SECOND = Correction(
    "taken-at", BY, AT, "no, the year after", SNAPSHOT, datetime(2021, 1, 2, tzinfo=UTC)
)


def test_corrections_read_back() -> None:
    entries = (Correction("note", BY, AT, "of the axis"), FIRST, NOTE)
    assert read_corrections(corrections_text(entries), "x") == entries


@pytest.mark.parametrize("entries", [(NOTE, FIRST), (FIRST, FIRST)])
def test_they_stand_in_the_order_of_their_making_each_once(entries: list[Correction]) -> None:
    with pytest.raises(Damaged, match="in the order of their making, each once"):
        read_corrections(corrections_text(entries), "x")


def test_of_several_times_the_last_one_holds() -> None:
    assert times_put_right([FIRST, NOTE, SECOND]) == {SNAPSHOT: SECOND.taken_at}


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("kind: taken-at", "kind: other"),
        ("kind: taken-at", "kind: note"),
        (SNAPSHOT, "main"),
        (SNAPSHOT, "a" * 39),
        ("corrections/1", "corrections/9"),
        ('taken-at: "2020-01-02T00:00:00+00:00"', 'taken-at: "x"'),
    ],
)
def test_anything_else_is_damage(old: str, new: str) -> None:
    text = corrections_text([FIRST]).decode()
    assert old in text
    with pytest.raises(Damaged):
        read_corrections(text.replace(old, new).encode(), "corrections.yaml")
