"""Axes and machines out of use, and back. Exports and the family hazel are invented."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from tests.jobs.records.naming import sound
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.jobs.audit.audit import audit
from vault.jobs.audit.question import Question
from vault.jobs.baseline.drift import drift, drift_of
from vault.jobs.baseline.golden import approve
from vault.jobs.inspect.history import history
from vault.jobs.inspect.spread import has_twin, spread
from vault.jobs.intake.preview import preview
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import axis_summaries
from vault.jobs.records.rename import rename_axis
from vault.jobs.records.retire import (
    reinstate_axis,
    reinstate_machine,
    retire_axis,
    retire_machine,
)
from vault.jobs.sync.incoming import ConsentNeeded
from vault.jobs.sync.sync import take as sync_take
from vault.model.errors import Refused, WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
SITE = "schema: axisvault/vault/1\nsite: Tile works\nexport_every: 10 days\n"
Take = Callable[..., Any]
Export = Callable[..., str]
Cli = Callable[..., Outcome]


@pytest.fixture
def overdue(
    vault: Vault, take: Take, export_text: Export, cli: Cli, tmp_path: Path
) -> Iterator[Vault]:
    """A vault whose axes, a lift and a belt, should have been exported long ago."""
    channel = f"alerts: [{{name: log, kind: file, path: {tmp_path}/log}}]\n"
    (tmp_path / "site.yaml").write_text(SITE + channel)
    assert cli("site", "set", "site.yaml").code == 0
    vault.refresh()
    take(export_text("1"), "2026-03-01")
    take(export_text("9", settings=90), "2026-03-01", "m1/belt")
    yield vault


def test_a_retired_axis_is_not_overdue_and_comes_last(overdue: Vault, cli: Cli) -> None:
    assert cli("drift").code == 1
    retire_axis(overdue, BELT, BY, "replaced by a chain")
    found = drift(overdue)
    assert [(one.axis, one.status, one.overdue, one.retired) for one in found] == [
        ("m1/lift", "overdue", True, False),
        ("m1/belt", "no_golden", False, True),
    ]
    assert not found[1].needs_attention
    summaries = axis_summaries(overdue, lambda error: pytest.fail(str(error)))
    assert [str(one.address) for one in summaries] == ["m1/lift", "m1/belt"]
    listed = cli("axis", "list").stdout.splitlines()
    assert "retired" not in listed[1]
    assert "retired" in listed[2]
    assert cli("drift", "m1/belt").code == 0
    assert cli("drift", "--json").json["axes"][1]["retired"] is True
    assert cli("drift").stdout.endswith("2 axes: 1 export overdue, 1 retired.\n")
    sound(overdue)


def test_no_alert_is_raised_of_it_until_it_is_back(overdue: Vault) -> None:
    retire_axis(overdue, BELT, BY, "replaced by a chain")
    raised = raise_alerts(overdue)
    assert {one.axis for one in raised} <= {"m1/lift"}
    assert raise_alerts(overdue, [BELT]) == []
    outcome = reinstate_axis(overdue, BELT, BY)
    assert not outcome.retired
    assert drift_of(overdue, BELT).status == "overdue"


def test_what_was_told_of_an_axis_is_not_told_again_under_another_name(overdue: Vault) -> None:
    raise_alerts(overdue)
    rename_axis(overdue, LIFT, "hoist", BY)
    assert raise_alerts(overdue) == []


def test_its_history_goes_on_being_told(overdue: Vault, cli: Cli) -> None:
    approve(overdue, "m1/belt", BY, "as built")
    retire_axis(overdue, BELT, BY, "replaced by a chain")
    assert len(list(history(overdue, BELT))) == 1
    titles = [getattr(entry, "title", "") for entry in audit(overdue, Question("m1")).entries]
    assert "retired" in titles
    for command in ("show", "history", "check", "golden show", "axis show"):
        assert cli(*command.split(), "m1/belt").code in (0, 1), command
    assert "replaced by a chain" in cli("history", "m1/belt").stdout


def test_an_export_of_it_is_refused_with_the_way_back(
    overdue: Vault, take: Take, export_text: Export
) -> None:
    retire_axis(overdue, BELT, BY, "replaced by a chain")
    with pytest.raises(Refused, match=r"m1/belt is retired since .*: replaced by a chain") as it:
        take(export_text("9", settings=90), "2026-03-05", "m1/belt")
    assert "axisvault axis retire m1/belt --undo" in str(it.value)
    shown = preview(overdue, export_text("9").encode(), "e.csv", BELT, parse_visit(BY))
    assert [one.kind for one in shown.objections][:1] == ["retired"]
    kept = take(
        export_text("9", settings=90), "2026-03-05", "m1/belt", override_reason="for the record"
    )
    assert kept.snapshot.record.override_reason == "for the record"
    assert drift_of(overdue, BELT).retired
    sound(overdue)


def test_patterns_leave_it_out(overdue: Vault, take: Take, export_text: Export) -> None:
    take(export_text("9", settings=90), "2026-03-01", "m2/belt")
    assert len(spread(overdue, "*").axes) == 3
    assert has_twin(overdue, BELT)
    retire_axis(overdue, Address("m2", "belt"), BY, "sold")
    assert spread(overdue, "*").axes == ("m1/belt", "m1/lift")
    assert not has_twin(overdue, BELT)


def test_a_machine_takes_its_axes_with_it_and_back(
    overdue: Vault, take: Take, export_text: Export
) -> None:
    retire_axis(overdue, BELT, BY, "replaced by a chain")
    retire_machine(overdue, "m1", BY, "line 1 is sold")
    assert all(one.retired for one in drift(overdue))
    with pytest.raises(Refused, match=r"m1 is retired since .*: line 1 is sold") as it:
        take(export_text("1"), "2026-03-05")
    assert "axisvault machine retire m1 --undo" in str(it.value)
    assert reinstate_axis(overdue, BELT, BY).warnings[0].startswith("m1 is retired as a whole")
    retire_axis(overdue, BELT, BY, "replaced all the same")
    reinstate_machine(overdue, "m1", BY, "bought back")
    assert [(one.axis, one.retired) for one in drift(overdue)] == [
        ("m1/lift", False),
        ("m1/belt", True),
    ]
    sound(overdue)


def test_it_takes_a_reason_and_is_done_once(overdue: Vault, cli: Cli) -> None:
    done = cli("axis", "retire", "m1/belt")
    assert (done.code, "'reason' is empty" in done.stderr) == (2, True)
    with pytest.raises(WrongUsage, match="m1/belt is in use"):
        reinstate_axis(overdue, BELT, BY)
    assert cli("axis", "retire", "m1/belt", "--reason", "worn out").stdout == (
        "m1/belt is retired. Its history stays; back in use: --undo.\n"
    )
    again = cli("axis", "retire", "m1/belt", "--reason", "worn out")
    assert (again.code, "retired already, since" in again.stderr) == (2, True)
    assert cli("axis", "retire", "m1/belt", "--undo").stdout == "m1/belt is in use again.\n"


def test_retirement_from_another_copy_needs_consent(overdue: Vault, tmp_path: Path) -> None:
    with Vault.copy(tmp_path / "laptop", str(overdue.repository.path)) as laptop:
        retire_axis(laptop, BELT, BY, "replaced by a chain")
    with pytest.raises(ConsentNeeded) as asked:
        sync_take(overdue, str(tmp_path / "laptop"), BY)
    needed = [(one.kind, one.needs) for one in asked.value.changes if one.needs is not None]
    assert needed == [("retirement", "policy")]
    sync_take(overdue, str(tmp_path / "laptop"), BY, accepted=("policy",))
    assert drift_of(overdue, BELT).retired
    sound(overdue)
