"""The record of a snapshot: when the export was taken, and what of the visit is kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from tests.conftest import BY
from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.intake.guard import Verdict
from vault.jobs.intake.objection import Objection
from vault.jobs.intake.record import snapshot_record
from vault.jobs.intake.time_taken import TimeTaken
from vault.jobs.intake.visit import Visit
from vault.model.coverage import Coverage
from vault.store.files.snapshot_text import digest
from vault.store.vault import FamilyFile

GIVEN = TimeTaken(datetime(2026, 3, 1, tzinfo=UTC), "given")
GOOD = Verdict(None, ())


@pytest.fixture
def export(family_text: str, export_text: Callable[..., str]) -> Export:
    content = export_text(serial="S-1", saved="2026-03-02T00:00:00Z").encode()
    return read_export(content, "ab:c.csv", FamilyFile("hazel", family_text.encode()))


def test_the_record_holds_what_was_read_and_what_was_said(export: Export, family_text: str) -> None:
    visit = Visit(BY, "as-left", work_order="WO-7", note="Why", restores="plan", moved="100=99")
    record = snapshot_record(export, visit, GIVEN, GOOD)
    assert (record.taken_at, record.occasion, record.by) == (GIVEN.moment, "as-left", BY)
    assert (record.taken_at_from, record.coverage) == ("given", Coverage())
    assert (record.work_order, record.note) == ("WO-7", "Why")
    assert (record.restores, record.moved) == ("plan", "100=99")
    assert (record.export_name, record.export_sha256) == ("ab_c.csv", digest(export.content))
    assert (record.family, record.family_sha256) == ("hazel", digest(family_text.encode()))
    assert (record.serial, record.normalisation) == ("S-1", export.version)
    assert (record.skipped, record.previous) == ((), None)


def test_a_reason_is_kept_where_it_overrode_something(export: Export) -> None:
    visit = Visit(BY, override_reason="swapped")
    objected = Verdict(None, (Objection("wrong_axis", "of the belt"),))
    assert snapshot_record(export, visit, GIVEN, objected).override_reason == "swapped"
    assert snapshot_record(export, visit, GIVEN, GOOD).override_reason is None


def test_an_export_that_describes_itself_has_no_family_in_its_record(export: Export) -> None:
    record = snapshot_record(replace(export, family=None), Visit(BY), GIVEN, GOOD)
    assert (record.family, record.family_sha256) == (None, None)
