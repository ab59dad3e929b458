"""No piece of a file passes for the whole: the short form of `python -m tests.cuts`."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.cuts.campaign import Tally, places, run
from tests.cuts.subjects import Subject, lists_between, of_the_library, of_the_plant
from vault.formats import dcf, dcf_whole

PLANT = list(of_the_plant())
TABLES = [next(one for one in PLANT if one.name.startswith(start)) for start in (
    "glaze-line-1/turntable", "kiln-loader/hoist", "kiln-loader/shuttle-and-pusher",
)]  # fmt: skip
LIBRARY = [one for one in of_the_library() if one.name == "invented 0"]


def outcomes(tally: Tally, before: str) -> Counter[str]:
    """Counts of all files together."""
    total: Counter[str] = Counter()
    for (_, usual), counts in tally.counts.items():
        if usual == before:
            total.update(counts)
    return total


def test_no_piece_of_a_table_passes_in_silence() -> None:
    tally = run(TABLES, count=8, seed=1, most=20)
    assert tally.silent == []
    alone, after = outcomes(tally, "alone"), outcomes(tally, "after the whole")
    assert alone["nothing tells"] > 30  # cut between two rows, and nothing there to tell by
    assert after["nothing tells"] == 0
    assert after["refused"] > alone["refused"] + 30


def test_no_piece_of_what_the_library_writes_passes_in_silence() -> None:
    tally = run(LIBRARY, count=20, seed=1, most=20)
    assert tally.silent == []
    assert {one.kind for one in LIBRARY} == {"library dcf", "library eds"}


def test_no_piece_of_an_example_passes_in_silence() -> None:
    (first, *_), (between, *_) = [one for one in PLANT if not one.is_table], lists_between(PLANT)
    tally = run([first, between], count=4, seed=1, most=8)
    assert tally.silent == []


def test_a_reader_that_looks_at_no_list_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    dcf._objects.cache_clear()
    monkeypatch.setattr(dcf_whole._Whole, "look", lambda self: None)
    tally = run(LIBRARY[:1], count=0, seed=1, most=10)
    dcf._objects.cache_clear()
    assert outcomes(tally, "alone")["silent"] > 5
    assert "silent: library dcf invented 0, alone, byte" in tally.text


def test_cuts_are_at_sections_at_the_last_rows_and_by_chance() -> None:
    table, objects = TABLES[0], LIBRARY[0]
    assert all(table.content[at - 1 : at] == b"\n" for at in places(table, 0, 1))
    assert len(places(table, 0, 1)) == 60
    assert all(objects.content[at : at + 1] == b"[" for at in places(objects, 0, 1))
    assert len(places(objects, 50, 1)) > 50 + objects.content.count(b"\n[") - 10
    assert places(objects, 50, 1) == places(objects, 50, 1) != places(objects, 50, 2)


def test_every_export_of_the_plant_takes_part() -> None:
    kinds = Counter(one.kind for one in PLANT)
    assert kinds == {"example dcf": 36, "example csv": 27, "example txt": 19}
    assert len({one.name for one in PLANT}) == len(PLANT)


def test_the_table_counts_files_and_pieces() -> None:
    tally = Tally()
    subject: Subject = LIBRARY[0]
    tally.files[subject.kind] += 1
    for outcome in ("told", "told", "refused"):
        tally.note(subject, "alone", 3, outcome)
    assert tally.text.splitlines()[1].split() == [
        "1", "library", "dcf", "alone", "3", "1", "2", "0", "0", "0", "0",
    ]  # fmt: skip
