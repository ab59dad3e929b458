"""A process that is asked for drift again. The family hazel and its exports are invented."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest

from vault.jobs.baseline import golden
from vault.jobs.baseline.answers import ANSWERS
from vault.jobs.baseline.drift import drift, drift_of, wrongly_kept
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.records.edit import set_site
from vault.jobs.records.rename import rename_axis, rename_machine
from vault.jobs.records.retire import retire_axis
from vault.jobs.verify.verify import verify
from vault.meaning.reader import reading_in
from vault.model.errors import Damaged, VaultError
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault

BY = "Pavo Drostmaa <pavo@tileworks.example>"
LIFT = Address("m1", "lift")
END = "2099-06-30T23:59:59+00:00"
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture(autouse=True)
def nothing_known() -> None:
    """No test has answers of another one."""
    ANSWERS.forget()


@pytest.fixture
def drifted(vault: Vault, take: Take, export_text: Export) -> Vault:
    """The window of one axis, approved at 2.5 mm, was opened to 5 mm; another axis is in line."""
    for axis in ("m1/lift", "m2/turn"):
        take(export_text("2,5"), "2026-03-01", axis)
        golden.approve(vault, axis, BY, "accepted")
    take(export_text("5"), "2026-03-02")
    return vault


@pytest.fixture
def looks(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Counts the times that the index is asked what it keeps."""
    asked: list[str] = []
    kept = Vault.open.__globals__["Index"].assessments

    def looks_of(index: Any, *of: Any) -> Any:
        asked.append("")
        return kept(index, *of)

    monkeypatch.setattr("vault.store.index.index.Index.assessments", looks_of)
    return asked


def told(vault: Vault) -> str:
    return drift_of(vault, LIFT).changes[0].change.explanation


def test_asked_again_it_answers_from_memory_for_all_a_machine_and_an_axis(
    drifted: Vault, looks: list[str]
) -> None:
    first = drift(drifted)
    looked = len(looks)
    assert [axis.status for axis in first] == ["drifted", "in_line"]
    assert drift(drifted) == first
    assert drift(drifted, "m2") == drift(drifted, "m2/turn") == first[1:]
    assert drift_of(drifted, LIFT) == first[0]
    assert len(looks) == looked


def test_an_answer_about_one_axis_is_none_about_all(drifted: Vault) -> None:
    drift(drifted, "m1")
    assert len(drift(drifted)) == 2


def test_another_process_that_writes_is_seen(
    drifted: Vault, take: Take, export_text: Export
) -> None:
    drift(drifted)
    with Vault.open(drifted.repository.path) as other:
        take(export_text("2,5"), "2026-03-03", into=other)
    drifted.refresh()
    assert drift_of(drifted, LIFT).status == "in_line"


def test_an_answer_ends_with_a_waiver(drifted: Vault, looks: list[str]) -> None:
    golden.waive(
        drifted,
        LIFT,
        parse_waiver_request("lim/lag", allow="any", until=END, reason="worn screw"),
        BY,
    )
    end = datetime.fromisoformat(END)
    assert [axis.status for axis in drift(drifted)] == ["in_line", "in_line"]
    looked = len(looks)
    assert [axis.status for axis in drift(drifted, moment=end)] == ["in_line", "in_line"]
    assert len(looks) == looked
    late = drift(drifted, moment=end + timedelta(seconds=1))
    assert [axis.status for axis in late] == ["drifted", "in_line"]
    assert drift_of(drifted, LIFT).status == "in_line", "a clock that was set back"


def test_an_answer_ends_when_an_export_is_due(drifted: Vault, tmp_path: Path) -> None:
    days = (now() - drift_of(drifted, LIFT).taken_at).days + 10  # type: ignore[operator]
    path = tmp_path / "vault.yaml"
    path.write_text(
        f"schema: axisvault/vault/1\nsite: Tile works (invented)\nexport_every: {days} d\n"
    )
    set_site(drifted, path, BY)
    first, second = drift(drifted)
    assert (first.overdue, second.overdue) == (False, False)
    assert second.due is not None
    assert first.due == second.due + timedelta(days=1)
    first, second = drift(drifted, moment=second.due + timedelta(seconds=1))
    assert (first.overdue, second.overdue) == (False, True)


def test_everybody_reads_drift_in_their_own_units(drifted: Vault) -> None:
    with reading_in("si"):
        assert "0.0025 m became 0.005 m" in told(drifted)
        assert len(drift(drifted)) == 2
        assert "0.0025 m became 0.005 m" in told(drifted)
    assert "2.5 mm became 5 mm" in told(drifted)
    with reading_in("inch"):
        assert "0.098425 in became 0.19685 in (2 times as much)" in told(drifted)


def test_an_axis_that_cannot_be_told_anew_does_not_hide_the_others(
    drifted: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    drift(drifted)

    def damaged(*_: object) -> None:
        raise Damaged("the disk lost it")

    with monkeypatch.context() as patch, reading_in("si"):
        patch.setattr("vault.jobs.baseline.drift.assess", damaged)
        failures: dict[Address, VaultError] = {}
        found = drift(drifted, failed=failures.__setitem__)
        assert [axis.axis for axis in found] == ["m2/turn"]
        assert list(failures) == [LIFT]
        with pytest.raises(Damaged, match="the disk lost it"):
            drift(drifted)
    with reading_in("si"):
        assert len(drift(drifted)) == 2, "it was not kept as the whole answer"


def test_who_looks_first_leaves_no_units_in_the_index(drifted: Vault) -> None:
    with reading_in("si"):
        drift(drifted)
    assert wrongly_kept(drifted) == []
    with reading_in("inch"):
        assert wrongly_kept(drifted) == []
        assert verify(drifted).problems == []


def test_many_who_ask_at_once_have_one_answer(drifted: Vault, looks: list[str]) -> None:
    start = Barrier(6)

    def ask(_: int) -> list[str]:
        with Vault.open(drifted.repository.path) as vault:
            start.wait(20)
            return [axis.status for axis in drift(vault)]

    with ThreadPoolExecutor(6) as pool:
        answers = list(pool.map(ask, range(6)))
    assert answers == [["drifted", "in_line"]] * 6
    assert len(looks) == 1


@pytest.mark.parametrize("many", [1, 1000])
def test_axes_are_found_to_stand_the_same_alone_and_many_at_a_time(
    drifted: Vault, monkeypatch: pytest.MonkeyPatch, many: int
) -> None:
    with drifted.writing():
        broken = {"machines/m2/turn/golden.yaml": b"schema: axisvault/golden/1\napproved: [\n"}
        axis = {"machines/m1/lift/axis.yaml": b"schema: axisvault/axis/1\ntitle: later\n"}
        drifted.write_files({**broken, **axis}, "by hand\n", BY)
    monkeypatch.setattr("vault.jobs.baseline.tip_files._MANY", many)
    asked: list[str] = []
    read = Vault.golden
    monkeypatch.setattr(Vault, "golden", lambda *both: asked.append(str(both[1])) or read(*both))
    failed: dict[Address, VaultError] = {}
    found = drift(drifted, failed=failed.__setitem__)
    assert [(one.axis, one.status, one.count) for one in found] == [("m1/lift", "drifted", 1)]
    assert [(str(axis), error.line) for axis, error in failed.items()] == [("m2/turn", 2)]
    assert ("m1/lift" in asked) == (many > 1), "it was read ahead, or by itself"


def test_after_a_change_the_other_axes_are_told_as_before(
    drifted: Vault, take: Take, export_text: Export
) -> None:
    drift(drifted)
    take(export_text("6"), "2026-03-03")
    lift, turn = drift(drifted)
    take(export_text("7"), "2026-03-04")
    lift_later, turn_later = drift(drifted)
    assert turn_later is turn
    assert lift_later.latest != lift.latest


def test_the_others_are_told_anew_once_an_export_is_due(
    drifted: Vault, tmp_path: Path, take: Take, export_text: Export
) -> None:
    days = (now() - drift_of(drifted, LIFT).taken_at).days + 10  # type: ignore[operator]
    path = tmp_path / "vault.yaml"
    path.write_text(
        f"schema: axisvault/vault/1\nsite: Tile works (invented)\nexport_every: {days} d\n"
    )
    set_site(drifted, path, BY)
    drift(drifted)
    take(export_text("6"), "2026-03-03")
    due = drift(drifted)[1].due
    take(export_text("2,5"), "2026-03-04")
    late = drift(drifted, moment=due + timedelta(seconds=1))  # type: ignore[operator]
    assert [(axis.axis, axis.overdue) for axis in late] == [("m2/turn", True), ("m1/lift", False)]


def test_an_axis_that_was_looked_at_by_itself_is_not_looked_at_again_among_all(
    drifted: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    with drifted.writing():
        follower = {"machines/m2/turn/axis.yaml": b"schema: axisvault/axis/1\nfollows: m1/lift\n"}
        drifted.write_files(follower, "by hand\n", BY)
    alone = [drift_of(drifted, address) for address in (LIFT, Address("m2", "turn"))]

    def again(*_: object) -> None:
        raise Damaged("it was looked at again")

    monkeypatch.setattr("vault.jobs.baseline.drift.assess", again)
    assert sorted(drift(drifted), key=lambda one: one.axis) == alone


def test_a_follower_is_looked_at_again_when_the_axis_it_follows_is_approved_anew(
    drifted: Vault,
) -> None:
    with drifted.writing():
        follower = {"machines/m2/turn/axis.yaml": b"schema: axisvault/axis/1\nfollows: m1/lift\n"}
        drifted.write_files(follower, "by hand\n", BY)
    assert {one.axis: one.count for one in drift(drifted)} == {"m1/lift": 1, "m2/turn": 0}
    golden.approve(drifted, "m1/lift", BY, "accepted")
    assert {one.axis: one.count for one in drift(drifted)} == {"m1/lift": 0, "m2/turn": 1}


@pytest.mark.parametrize("system", ["drive", "si"])
def test_what_goes_on_from_the_last_answer_is_what_a_first_look_tells(
    drifted: Vault, take: Take, export_text: Export, tmp_path: Path, system: str
) -> None:
    """Whatever happens in between, to the axis itself or to what it rests on elsewhere."""
    site = tmp_path / "vault.yaml"
    site.write_text("schema: axisvault/vault/1\nsite: Works (invented)\nexport_every: 30 d\n")
    turn = Address("m2", "turn")
    follower = {"machines/m3/feed/axis.yaml": b"schema: axisvault/axis/1\nfollows: m1/lift\n"}

    def follow() -> None:
        with drifted.writing():
            drifted.write_files(follower, "It follows\n", BY)

    acts: list[Callable[[], object]] = [
        lambda: take(export_text("5"), "2026-03-03", "m3/feed", override_reason="new"),
        follow,
        lambda: golden.approve(drifted, "m1/lift@first", BY, "again"),
        lambda: take(export_text("7"), "2026-02-01", "m1/lift"),  # before all
        lambda: rename_machine(drifted, "m1", "loader", BY, "it is called so"),
        lambda: rename_axis(drifted, turn, "table", BY, "it is called so"),
        lambda: take(export_text("5"), "2026-03-04", "m1/lift"),
        lambda: set_site(drifted, site, BY),
        lambda: retire_axis(drifted, turn, BY, "it is gone"),
    ]
    with reading_in(system):
        for act in acts:
            drift(drifted)
            act()
            drifted.refresh()
            went_on = drift(drifted)
            ANSWERS.forget()
            drifted.index.forget_assessments()
            assert went_on == drift(drifted)
