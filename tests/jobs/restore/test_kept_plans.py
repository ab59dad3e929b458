"""A plan that was made is kept as it was: its number, its files, the ticks on its sheet."""

from __future__ import annotations

import hashlib
import re
import zipfile
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO
from typing import Any

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.audit.actions import actions_on_axis
from vault.jobs.restore.check import check_restore
from vault.jobs.restore.kept_plan import KeptPlan, kept_plan, last_plan
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_folder import record_plan
from vault.jobs.restore.request import PlanRequest, parse_as_left, parse_plan_request
from vault.jobs.restore.sheet_marks import mark_sheet, places
from vault.jobs.restore.sign_off import sign_off
from vault.jobs.restore.target import planned
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Refused, WrongUsage
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.restore_text import read_restore, restore_text
from vault.store.vault import Vault

Export = Callable[..., str]
LIFT = Address("m1", "lift")
OTHER = "Ilse Brandvik <ilse@tileworks.example>"
BELT = "glaze-line-1/lift"


@pytest.fixture
def made(vault: Vault, take: Take, export_text: Export) -> RestorePlan:
    """A plan for m1/lift that is recorded."""
    take(export_text("3"))
    plan = make_plan(vault, PlanRequest("m1/lift"))
    record_plan(plan, BY)
    return plan


def kept(vault: Vault) -> KeptPlan:
    found = last_plan(vault, LIFT)
    assert found is not None
    return found


def mark(vault: Vault, number: str, by: str = BY, **what: Any) -> None:
    mark_sheet(vault, LIFT, number, by, **{"ticked": (), "shown": (), "texts": {}, **what})


# The number.


def test_a_number_is_the_date_and_four_hexadecimal_digits(made: RestorePlan) -> None:
    assert re.fullmatch(r"\d{4}-\d{2}-\d{2}-[0-9a-f]{4}", made.number)
    assert made.number == f"{made.made_at:%Y-%m-%d}-{made.id[:4]}"


def test_a_plan_of_an_older_program_has_its_number_too(vault: Vault, made: RestorePlan) -> None:
    record = kept(vault).record
    old = replace(record, document_sha256=None)
    text = restore_text(old)
    assert b"document" not in text
    assert read_restore(text, "restore.yaml").number == made.number
    with vault.writing():
        vault.write_files({layout.restore_file(LIFT): text}, "as an older program\n", BY)
    found = kept_plan(vault, LIFT, made.number)
    assert found.document is None
    with pytest.raises(WrongUsage, match="were not kept"):
        found.file("sheet.html")


def test_a_plan_is_found_by_number_and_by_id(vault: Vault, made: RestorePlan) -> None:
    assert kept_plan(vault, LIFT, made.id).record == kept_plan(vault, LIFT, made.number).record
    with pytest.raises(WrongUsage, match="has no plan 2026-01-01-ffff"):
        kept_plan(vault, LIFT, "2026-01-01-ffff")


def test_an_older_plan_names_the_one_that_took_its_place(vault: Vault, made: RestorePlan) -> None:
    newer = make_plan(vault, PlanRequest("m1/lift", override_reason="again"))
    record_plan(newer, BY)
    old = kept_plan(vault, LIFT, made.number)
    assert old.newer is not None
    assert old.newer.number == newer.number
    assert not old.is_open
    assert old.file("sheet.html").count(made.number.encode()) == 2  # head and foot of every page
    assert kept(vault).newer is None


def test_the_audit_tells_the_number(vault: Vault, made: RestorePlan) -> None:
    planned_acts = [act for act in actions_on_axis(vault, LIFT) if act.title == "restore planned"]
    assert planned_acts[0].sentences[0] == f"Plan {made.number}."


# Its files.


def test_load_file_and_sheet_are_those_that_were_made(
    vault: Vault, made: RestorePlan, take: Take, export_text: Export
) -> None:
    take(export_text("9"), "2026-03-09T08:00:00+00:00", override_reason="another setting")
    found = kept_plan(vault, LIFT, made.number)
    assert made.load_file is not None
    content = found.file(made.load_file.name)
    assert content == made.load_file.content
    assert hashlib.sha256(content).hexdigest() == found.record.load_file_sha256
    assert found.document is not None
    assert found.document["number"] == made.number
    assert made.number in found.file("sheet.html").decode()


def test_the_archive_has_the_number_in_its_folder(vault: Vault, made: RestorePlan) -> None:
    name, content = kept(vault).packed()
    assert name == f"restore-m1-lift-{made.number}.zip"
    with zipfile.ZipFile(BytesIO(content)) as archive:
        names = {one.rpartition("/")[2] for one in archive.namelist()}
    assert {"plan.json", "sheet.html", "lift.csv"} <= names


@pytest.mark.parametrize("name", ["plan.json", "sheet.html", "load-file"])
def test_files_that_somebody_changed_are_not_given_out(
    name: str, vault: Vault, made: RestorePlan
) -> None:
    path = f"{layout.plan_folder(LIFT)}/{name}"
    with vault.writing():
        vault.write_files({path: b"{}"}, "somebody\n", BY)
    assert made.load_file is not None
    wanted = made.load_file.name if name == "load-file" else name
    with pytest.raises(Damaged, match="not what was made with the plan"):
        kept(vault).file(wanted)


def test_nothing_of_the_plan_before_is_left_in_its_folder(vault: Vault, made: RestorePlan) -> None:
    folder = layout.plan_folder(LIFT)
    with vault.writing():
        vault.write_files({f"{folder}/left-over": b""}, "somebody\n", BY)
    record_plan(make_plan(vault, PlanRequest("m1/lift")), BY)
    names = [entry.path.rpartition("/")[2] for entry in vault.repository.list(vault.tip, folder)]
    assert sorted(names) == ["load-file", "plan.json", "sheet.html"]


# Ticks that stay.


def test_a_tick_tells_who_and_is_not_taken_over(vault: Vault, made: RestorePlan) -> None:
    mark(vault, made.number, ticked=["hardware.0"])
    mark(vault, made.number, OTHER, ticked=["hardware.0", "load.0"], shown=["hardware.0"])
    marks = {one.step: one.by for one in kept(vault).record.marks}
    assert marks == {"hardware.0": BY, "load.0": OTHER}


def test_only_what_was_seen_ticked_is_unticked(vault: Vault, made: RestorePlan) -> None:
    mark(vault, made.number, ticked=["hardware.0", "load.0"])
    mark(vault, made.number, OTHER, ticked=[], shown=["load.0"])
    assert [one.step for one in kept(vault).record.marks] == ["hardware.0"]


def test_what_is_filled_in_stays_until_it_is_emptied(vault: Vault, made: RestorePlan) -> None:
    mark(vault, made.number, texts={"move.1": " 10 mm ", "move.2": ""})
    assert [(one.step, one.text) for one in kept(vault).record.marks] == [("move.1", "10 mm")]
    tip = vault.tip
    mark(vault, made.number, OTHER, texts={"move.1": "10 mm"})
    assert vault.tip == tip  # nothing is new
    mark(vault, made.number, texts={"move.1": ""})
    assert kept(vault).record.marks == ()


def test_a_place_that_the_sheet_does_not_have_is_refused(vault: Vault, made: RestorePlan) -> None:
    with pytest.raises(WrongUsage, match=r"no place 'hardware\.99'"):
        mark(vault, made.number, ticked=["hardware.99"])


def test_the_sheet_of_a_plan_that_holds_no_more_is_not_ticked(
    vault: Vault, made: RestorePlan
) -> None:
    record_plan(make_plan(vault, PlanRequest("m1/lift")), BY)
    with pytest.raises(Refused, match="took its place"):
        mark(vault, made.number, ticked=["hardware.0"])


def test_ticks_leave_the_files_of_the_plan_as_they_were(vault: Vault, made: RestorePlan) -> None:
    before = kept(vault).file("plan.json")
    mark(vault, made.number, ticked=["hardware.0"])
    assert kept(vault).file("plan.json") == before


def test_every_box_of_the_sheet_has_a_name_of_its_own(plant: Vault) -> None:
    record_plan(make_plan(plant, PlanRequest(BELT)), BY)
    found = last_plan(plant, Address.parse(BELT))
    assert found is not None
    assert found.document is not None
    steps = [place.step for place in places(found.document["sheet"])]
    assert len(steps) == len(set(steps)) > 10
    boxes = found.file("sheet.html").count(b'type="checkbox"')
    assert sum(one.kind == "tick" for one in places(found.document["sheet"])) == boxes


# Corrections one by one.


def motor(**how: Any) -> PlanRequest:
    return parse_plan_request(BELT, rated_torque="9.55", **how)


def test_a_correction_that_is_left_is_not_made_and_is_said(plant: Vault) -> None:
    plan = make_plan(plant, motor(adapt=True, leave=["0x6072:00"]))
    assert "0x6072:00" not in {one.code for one in plan.adapted}
    assert "0x60E0:00" in {one.code for one in plan.adapted}
    row = next(one for one in plan.rows if one.target.code == "0x6072:00")
    assert row.loaded is not None
    assert row.loaded.raw == row.target.raw
    record_plan(plan, BY)
    sheet = kept_plan(plant, plan.address, plan.number).file("sheet.html").decode()
    words = " ".join(re.sub("<[^>]+>", "", sheet).split())
    assert re.search(r"Proposed, not in the load file: Maximum torque \( ?0x6072:00", words)
    assert re.search(r"In the load file: Positive torque limit \( ?0x60E0:00", words)
    assert any("1 value would have to be corrected" in one for one in plan.warnings)


def test_all_are_left_without_adapt_and_none_with_it(plant: Vault) -> None:
    plain, adapted = make_plan(plant, motor()), make_plan(plant, motor(adapt=True))
    proposed = {row.target.code for row in plain.proposed}
    assert len(proposed) > 3
    assert (plain.left, adapted.left) == (proposed, frozenset())
    assert {one.code for one in adapted.adapted} == proposed


def test_what_is_not_proposed_cannot_be_left(plant: Vault) -> None:
    with pytest.raises(WrongUsage, match="no correction of 0x6065:00 is proposed"):
        make_plan(plant, motor(adapt=True, leave=["0x6065:00"]))


# Open plans.


def test_an_open_plan_is_told_with_its_next_step_until_it_is_signed_off(
    vault: Vault, made: RestorePlan, export_text: Export, tmp_path: Any
) -> None:
    def steps() -> list[tuple[str, str]]:
        return [(str(one.address), one.step) for one in open_plans(vault)]

    def check(text: str) -> None:
        (tmp_path / "left.csv").write_text(text)
        check_restore(vault, LIFT, tmp_path / "left.csv", parse_as_left(BY, taken_at="now"))

    assert steps() == [("m1/lift", "load")]
    mark(vault, made.number, ticked=["hardware.0"])
    assert steps() == [("m1/lift", "load")]
    check(export_text("7", place="1"))
    assert steps() == [("m1/lift", "put_right")]
    check(export_text("3", place="2"))
    assert steps() == [("m1/lift", "sign_off")]
    sign_off(vault, LIFT, BY)
    assert steps() == []
    record = planned(vault, LIFT)
    assert record is not None
    assert [one.step for one in record.marks] == ["hardware.0"]  # the signature keeps the ticks


def test_a_plan_that_cannot_be_read_hides_no_other(
    vault: Vault, made: RestorePlan, take: Take, export_text: Export
) -> None:
    take(export_text("3"), to="m1/belt", name="belt.csv", override_reason="a twin")
    with vault.writing():
        path = layout.restore_file(Address("m1", "belt"))
        vault.write_files({path: b"nothing: of ours\n"}, "somebody\n", BY)
    assert [str(one.address) for one in open_plans(vault)] == ["m1/lift"]
    assert open_plans(vault, Address("m1", "belt")) == []


def test_open_plans_are_asked_again_without_reading_what_has_not_changed(
    vault: Vault, made: RestorePlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = open_plans(vault)
    read: list[str] = []
    monkeypatch.setattr(vault.repository, "resolve", lambda name: read.append(name))
    monkeypatch.setattr(vault.repository, "blob", lambda name: read.append(name))
    assert open_plans(vault) == first
    assert read == []


def test_the_list_and_the_check_name_the_number(
    vault: Vault, made: RestorePlan, cli: Callable[..., Outcome], export_text: Export, tmp_path: Any
) -> None:
    listed = cli("restore", "list", "--json").json["plans"]
    assert [(one["axis"], one["number"], one["step"]) for one in listed] == [
        ("m1/lift", made.number, "load")
    ]
    text = cli("restore", "list").stdout
    assert f"m1/lift  {made.number}" in text
    assert "next: load the file by the sheet, then export again." in text
    (tmp_path / "left.csv").write_text(export_text("3", place="2"))
    arguments = ("restore", "check", "m1/lift", str(tmp_path / "left.csv"), "--taken-at", "now")
    found = cli(*arguments, "--json").json
    assert (found["number"], found["plan"]) == (made.number, made.id)
    outcome = cli("restore", "sign-off", "m1/lift", "--json")
    assert outcome.json["number"] == made.number
    assert cli("restore", "list").stdout == "No restore is open.\n"


@pytest.mark.parametrize(
    "content",
    [b"[]", b"{}", b"nonsense", b"[" * 100_000, b'{"schema": 1}', b"\xff", b"null"],
)
def test_a_plan_that_is_none_of_ours_is_told(
    vault: Vault, made: RestorePlan, content: bytes
) -> None:
    record = replace(kept(vault).record, document_sha256=hashlib.sha256(content).hexdigest())
    with vault.writing():
        files = {
            layout.restore_file(LIFT): restore_text(record),
            f"{layout.plan_folder(LIFT)}/plan.json": content,
        }
        vault.write_files(files, "from elsewhere\n", BY)
    with pytest.raises(Damaged, match="not as we write one"):
        _ = kept(vault).document


def test_the_command_signs_and_notes_what_is_not_ticked_on_the_sheet(
    vault: Vault, made: RestorePlan, cli: Callable[..., Outcome], export_text: Export, tmp_path: Any
) -> None:
    (tmp_path / "left.csv").write_text(export_text("3", place="2"))
    cli("restore", "check", "m1/lift", str(tmp_path / "left.csv"), "--taken-at", "now")
    signed = cli("restore", "sign-off", "m1/lift")
    assert re.search(
        r"axisvault: note: (\d+) of \1 steps of the sheet are not ticked", signed.stderr
    )
    with Vault.open(vault.repository.path) as now:
        plan = planned(now, LIFT)
    assert plan is not None
    assert plan.signed_off is not None
    assert plan.signed_off.override_reason is None, "the command passes over the sheet"


@pytest.mark.parametrize("name", ["plan.json", "sheet.html", "load-file"])
def test_verify_tells_a_kept_file_that_is_not_as_it_was_made(
    vault: Vault, made: RestorePlan, name: str
) -> None:
    assert verify(vault).ok
    path = f"{layout.plan_folder(LIFT)}/{name}"
    for content in ((vault.read(path) or b"") + b" ", None):
        with vault.writing():
            if content is None:
                vault.write_files({}, "gone\n", BY, removed=[path])
            else:
                vault.write_files({path: content}, "past every check\n", BY)
        problems = verify(vault).problems
        assert [(one.kind, one.where) for one in problems] == [("restore", path)]
