"""What a sheet says of the load file: the export that was kept, or one made of it."""

from __future__ import annotations

from collections.abc import Callable

from tests.conftest import Take
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_documents import plan_document
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
    assert (
        "It is the kept export, byte for byte. So it also holds what is no setting: 1 value "
        "that is live. Where the maker's tool lets you choose, leave these out; plan.json "
        "lists them."
    ) in said
    assert "never" not in {section.name for section in sections(plan)}


def test_values_that_nobody_understands_are_counted_and_the_first_named(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take(export_text())
    plan = make_plan(vault, PlanRequest("m1/lift"))
    assert (
        "Without a role: 20 of 23 values in the file (set/1, set/2, set/3, set/4, set/5, set/6 and "
        "14 more). Such a value is loaded as it was, and nothing here tells what it does."
    ) in words(plan)
    load_file = plan_document(plan)["load_file"]
    assert load_file is not None
    assert load_file["not_understood"] == [f"set/{number}" for number in range(1, 21)]


def test_where_every_value_has_a_role_nothing_is_said(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    take("".join(line for line in export_text().splitlines(True) if not line.startswith("set/")))
    plan = make_plan(vault, PlanRequest("m1/lift"))
    assert "Without a role" not in words(plan)
    load_file = plan_document(plan)["load_file"]
    assert load_file is not None
    assert load_file["not_understood"] == []


def test_a_file_made_of_it_does_not_hold_them(plant: Vault) -> None:
    plan = make_plan(plant, PlanRequest("kiln-loader/roller-bed"))
    assert plan.load_file is not None
    assert not plan.load_file.is_kept
    said = words(plan)
    assert "It is not the kept export as it was, because it holds safety-function" in said
    assert "Never loaded either: " in said
