"""What an export would be, before anything is stored. The family hazel is invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from tests.conftest import BY, Take
from vault.jobs.baseline.golden import approve
from vault.jobs.intake.preview import Preview, preview, proposed_places
from vault.jobs.intake.visit import parse_visit
from vault.model.errors import Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

Export = Callable[..., str]
Look = Callable[..., Preview]
LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")


@pytest.fixture
def look(vault: Vault) -> Look:
    """Previews the text of an export."""

    def at(text: str, to: str = "m1/lift", **said: str) -> Preview:
        visit = parse_visit(BY, **said)  # type: ignore[arg-type]
        return preview(vault, text.encode(), "lift.csv", Address.parse(to), visit)

    return at


def codes(compared: object) -> list[str]:
    return [change.shown.code for change in compared.comparison.news]  # type: ignore[attr-defined]


def test_the_first_export_of_an_axis_has_nothing_to_compare(
    vault: Vault, look: Look, export_text: Export
) -> None:
    seen = look(export_text("2", serial="S-1"), taken_at="2026-03-01T08:00:00Z")
    assert seen.is_new
    assert (seen.against_latest, seen.against_golden, seen.objections) == (None, None, ())
    assert (seen.address, seen.export.nameplate["serial"]) == (LIFT, "S-1")
    assert seen.taken.moment == datetime(2026, 3, 1, 8, tzinfo=UTC)
    assert vault.index.count() == 0, "nothing is stored"


def test_a_further_export_is_compared_with_the_latest_and_with_the_baseline(
    vault: Vault, take: Take, look: Look, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    approve(vault, "m1/lift", BY, "as commissioned")
    take(export_text("2"), "2026-03-02")
    seen = look(export_text("2", speed="90"))
    assert not seen.is_new
    assert codes(seen.against_latest) == ["mov/speed"]
    assert sorted(codes(seen.against_golden)) == ["lim/lag", "mov/speed"]


def test_without_a_baseline_there_is_none_to_compare_with(
    take: Take, look: Look, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    assert look(export_text("2")).against_golden is None


def test_what_guards_object_to_is_shown_and_refuses_nothing(
    take: Take, look: Look, export_text: Export
) -> None:
    take(export_text(serial="S-1"), "2026-03-01", to="m1/belt")
    (objection,) = look(export_text(serial="S-1")).objections
    assert objection.elsewhere == BELT
    assert "S-1 was last seen at m1/belt, not at m1/lift" in objection.reason


def test_a_name_that_the_axis_cannot_have_is_refused_as_when_it_is_stored(
    take: Take, look: Look, export_text: Export
) -> None:
    take(export_text(), "2026-03-01")
    with pytest.raises(WrongUsage, match="'Lift' differs from 'lift' in upper and lower case"):
        look(export_text(), to="m1/Lift")


def test_lines_left_out_and_what_is_odd_are_told(look: Look, export_text: Export) -> None:
    text = export_text() + "new/one;New;1;\r\nset/1;Twice;1;\r\n"
    with pytest.raises(Unreadable, match="given already"):
        look(text)
    seen = look(text, partial=True)
    assert len(seen.export.skipped) == 1
    assert any("not in dictionary hazel: new/one" in warning for warning in seen.warnings)


def test_a_drive_that_was_seen_before_proposes_its_axis(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text(serial="S-1"), "2026-03-01")
    take(export_text("9", settings=400, serial="S-2"), "2026-03-01", to="m1/belt")
    bad_line = export_text("7", serial="S-2") + "set/1;Twice;1;\r\n"
    assert proposed_places(vault, bad_line.encode(), "a.csv") == [(BELT, None)]


@pytest.mark.parametrize("serial", ["", "000", "S-9"])
def test_a_drive_that_nothing_tells_apart_proposes_nothing(
    vault: Vault, take: Take, export_text: Export, serial: str
) -> None:
    take(export_text(serial=serial if serial != "S-9" else "S-1"), "2026-03-01")
    assert proposed_places(vault, export_text(serial=serial).encode(), "a.csv") == []


def test_a_drive_that_two_axes_claim_is_for_a_person_to_place(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text(serial="S-1"), "2026-03-01")
    take(export_text(serial="S-1"), "2026-03-01", to="m1/belt", override_reason="a twin")
    assert proposed_places(vault, export_text(serial="S-1").encode(), "a.csv") == []


def test_what_cannot_be_read_proposes_nothing(vault: Vault) -> None:
    assert proposed_places(vault, b"no export", "a.csv") == []
