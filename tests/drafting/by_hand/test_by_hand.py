"""Exports made by hand are read exactly by their drafts, or refused with a line."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import pytest

from tests.drafting.by_hand.handmade import HandMade, Wanted
from tests.drafting.by_hand.others import OTHERS
from tests.drafting.by_hand.tables import TABLES
from vault.jobs.drafting.draft import ExportFile, draft
from vault.jobs.drafting.draft_text import draft_text
from vault.jobs.export.list_entries import list_entries
from vault.jobs.export.recognise import recognise
from vault.model.errors import Unreadable
from vault.model.export import Listing
from vault.model.normalise import Normalised, normalise
from vault.model.quantities import plain
from vault.store.files.edited_files import family_problems, read_family
from vault.store.vault import FamilyFile


def read(export: HandMade, content: bytes, channel: int | None) -> tuple[Listing, Normalised]:
    """An export by the dictionary that was drafted from it."""
    file = FamilyFile("oak", content)
    recognised = recognise(export.content, export.file, file, channel=channel)
    listing = list_entries(recognised, channel)
    return listing, normalise(listing, file.family)


def told(read: Normalised) -> Mapping[str, Wanted]:
    """Values and units as they were read."""
    return {
        code: (
            one.label or (one.value if isinstance(one.value, str) else plain(Decimal(one.value))),
            one.unit,
        )
        for code, one in read.parameters.items()
    }


@pytest.mark.parametrize("export", [*TABLES, *OTHERS], ids=lambda export: export.title)
def test_an_export_made_by_hand_is_read_exactly(export: HandMade) -> None:
    drafted = draft([ExportFile(export.content, export.file)], "oak")
    content = draft_text(drafted)
    assert not family_problems(read_family(content, "oak.yaml"), content)
    if export.asks:
        doubts = [q for q in drafted.questions if q.about == export.asks and q.confidence <= 0.5]
        assert len(doubts) == 1
        return
    for channel, wanted in (export.axes or {None: export.wanted}).items():
        listing, found = read(export, content, channel)
        assert told(found) == wanted
        left_out = " ".join(line.text for line in found.skipped)
        assert all(text in left_out for text in export.refused)
        assert bool(found.skipped) == bool(export.refused), found.skipped
        plate = {**listing.nameplate, "taken_at": listing.taken_at}
        assert export.plate.items() <= plate.items()


def test_there_are_forty_exports_made_by_hand() -> None:
    assert len({one.title for one in (*TABLES, *OTHERS)}) >= 40


@pytest.mark.parametrize(
    ("title", "content"),
    [
        ("a letter", "This is a letter.\nIt has lines, commas, and so on.\nYours, somebody\n"),
        ("a log", "".join(f"2026-03-14 09:30:{n:02};INFO;lag {n}.5\n" for n in range(20))),
        ("a recording", "Time;Position;Velocity\n0.001;2.5;10\n0.002;2.6;11\n0.003;2.7;12\n"),
        ("no headings", "P1;Lag limit;2.5;mm\nP2;Top speed;1200;rpm\nP3;Gain;0.75;\n"),
        ("hexadecimal alone", "Code;Name;Value (hex)\nP1;Options;1F4\nP2;Word;100\nP3;Gain;7\n"),
        ("raw values alone", "Code;Name;Raw value;Unit\nP1;Lag;2500;mm\nP2;Way;100;mm\n"),
        (
            "commas that part cells and decimals",
            "Code,Name,Value,Unit\nP1,Lag,2,5,mm\nP2,Top,12,0,rpm\nP3,Gain,0,75,\n",
        ),
        ("nothing but a nameplate", "Drive: Invented 7\nSerial: IV-1\nFirmware: 2.10\n"),
    ],
    ids=lambda one: one if len(one) < 40 else "",
)
def test_what_cannot_be_told_is_refused_whole(title: str, content: str) -> None:
    with pytest.raises(Unreadable):
        draft([ExportFile(content.encode(), "export.txt")], "oak")
