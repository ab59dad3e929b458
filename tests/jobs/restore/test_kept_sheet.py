"""What a sheet says of the load file: the export that was kept, or one made of it."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Take
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.request import PlanRequest
from vault.jobs.restore.sheet_sections import sections
from vault.store.vault import Vault


def words(plan: RestorePlan) -> str:
    return " ".join(line.text for section in sections(plan) for line in section.lines)


def test_a_kept_export_holds_live_values_too_and_that_is_said(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text(place="4"))
    plan = make_plan(vault, PlanRequest("m1/lift"))
    assert plan.load_file is not None
    assert plan.load_file.is_kept
    assert b"now/place;Actual position;4;mm" in plan.load_file.content
    said = words(plan)
    assert "It is the kept export, byte for byte." in said
    assert "The file holds these too, and they are no settings to be loaded: 1 value" in said
    assert "Never loaded" not in said


def test_a_file_made_of_it_does_not_hold_them(plant: Vault) -> None:
    plan = make_plan(plant, PlanRequest("kiln-loader/roller-bed"))
    assert plan.load_file is not None
    assert not plan.load_file.is_kept
    said = words(plan)
    assert "It is not the kept export as it was, because it holds safety-function" in said
    assert "Never loaded either: " in said
