"""Whatever shows or uses a set says what it has; what a part lacks is "not in this export".

The objects are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from tests.dcf_texts import OBJECT, TUNING, UNREADABLE_TUNING, WINDOW, dcf
from vault.jobs.baseline.assess import Assessment
from vault.jobs.baseline.assessment_text import assessment_text, read_assessment
from vault.jobs.baseline.axis_drift import counted_axes
from vault.model.coverage import KINDS, Coverage
from vault.model.export import SkippedLine
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
Send = Callable[..., Outcome]
OTHER = OBJECT.format("2011", "Other")
WHOLE, PART = dcf(WINDOW, TUNING), dcf(WINDOW, UNREADABLE_TUNING)
SAID = "Not the whole set: A part of the set: 1 line was left out."
LACKING = "Tuning is not in this export: 6 before."
EVEN_SO = ("--even-so", "for the test")


@pytest.fixture
def send(vault: Vault, cli: Cli, tmp_path: Path) -> Send:
    """Takes a text in as an export, dated by a counter."""
    days = iter(range(1, 28))

    def run(text: str, *options: str, to: str = "m1/lift") -> Outcome:
        path = tmp_path / "lift.dcf"
        path.write_text(text)
        when = f"2026-03-{next(days):02}T08:00:00Z"
        done = cli("ingest", path, "--to", to, "--taken-at", when, *options)
        assert done.code == 0, done.stderr
        return done

    return run


@pytest.fixture
def part_after_whole(send: Send, cli: Cli) -> Outcome:
    """An approved whole set, then a part of it; what taking that in printed."""
    send(WHOLE)
    assert cli("golden", "approve", "m1/lift", "--reason", "as set up").code == 0
    return send(PART, "--partial", *EVEN_SO)


def words(text: str) -> str:
    return " ".join(text.split())


def test_check_says_what_it_checked(send: Send, cli: Cli) -> None:
    send(WHOLE)
    assert SAID not in words(cli("check", "m1/lift").stdout)
    assert cli("check", "m1/lift", "--json").json["coverage"]["kind"] == "complete"
    send(PART, "--partial", *EVEN_SO)
    assert f"!! {SAID}" in words(cli("check", "m1/lift").stdout)
    assert cli("check", "m1/lift", "--json").json["coverage"]["kind"] == "partial"


def test_spread_says_of_which_axis(send: Send, cli: Cli) -> None:
    send(WHOLE, to="m1/lift")
    send(PART, "--partial", to="m2/lift")
    told = words(cli("spread", "*/lift").stdout)
    assert f"!! m2/lift: {SAID}" in told
    assert "m1/lift: Not" not in told
    assert "not in this export" in told
    found = cli("spread", "*/lift", "--json").json["coverage"]
    assert {axis: held["kind"] for axis, held in found.items()} == {
        "m1/lift": "complete",
        "m2/lift": "partial",
    }


def test_drift_says_of_which_snapshot(part_after_whole: Outcome, cli: Cli) -> None:
    told = words(cli("drift", "m1/lift").stdout)
    assert f"!! Latest snapshot: {SAID}" in told
    assert "Golden baseline:" not in told
    (axis,) = cli("drift", "--json").json["axes"]
    assert axis["coverage"]["golden"]["kind"] == "complete"
    assert axis["coverage"]["latest"]["kind"] == "partial"


def test_drift_says_that_the_baseline_is_a_part(send: Send, cli: Cli) -> None:
    send(PART, "--partial")
    approve = ("golden", "approve", "m1/lift", "--reason", "as set up", *EVEN_SO)
    assert cli(*approve).code == 0
    told = words(cli("drift", "m1/lift").stdout)
    assert f"!! Golden baseline: {SAID}" in told
    assert f"!! Latest snapshot: {SAID}" in told
    send(WHOLE)
    told = words(cli("drift", "m1/lift").stdout)
    assert f"!! Golden baseline: {SAID}" in told
    assert "Latest snapshot: Not" not in told
    assert "Tuning was not in the export before: 6." in told
    (axis,) = cli("drift", "--json").json["axes"]
    assert [axis["coverage"][one]["kind"] for one in ("golden", "latest")] == [
        "partial",
        "complete",
    ]


def test_axes_in_line_are_counted_where_their_sets_are_no_whole_ones(send: Send, cli: Cli) -> None:
    for machine in ("m1", "m2"):
        send(PART, "--partial", to=f"{machine}/lift")
        approve = ("golden", "approve", f"{machine}/lift", "--reason", "as set up", *EVEN_SO)
        assert cli(*approve).code == 0
    told = cli("drift").stdout
    assert "2 other axes rest on sets that are not whole, or may not be: --all says which" in told
    assert words(cli("drift", "--all").stdout).count(SAID) == 4


def test_of_axes_and_sets_of_controllers_each_are_counted() -> None:
    lift, side = "m1/lift", "m1/lift:controller"
    assert counted_axes([lift], "other", ("rests", "rest")) == "1 other axis rests"
    assert counted_axes([side], "other", ("rests", "rest")) == "1 other controller's set rests"
    both = "1 other axis and 1 other controller's set rest"
    assert counted_axes([lift, side], "other", ("rests", "rest")) == both
    assert counted_axes([lift, lift], "retired") == "2 retired axes"
    assert counted_axes([]) == counted_axes([], of=[lift, side]) == "0 axes"
    assert counted_axes([], of=[side]) == "0 controllers' sets"


def test_without_a_snapshot_or_a_baseline_there_is_no_coverage(send: Send, cli: Cli) -> None:
    send(dcf(WINDOW))
    (axis,) = cli("drift", "--json").json["axes"]
    assert axis["coverage"]["golden"] is None
    assert axis["coverage"]["latest"]["kind"] == "complete"


@pytest.mark.parametrize(
    "coverage", [None, *(Coverage(k, (SkippedLine(3, "a", "b"),), ("c",), ("d",)) for k in KINDS)]
)
def test_an_assessment_is_kept_with_its_coverage(coverage: Coverage | None) -> None:
    found = Assessment(golden_coverage=coverage, latest_coverage=Coverage())
    assert read_assessment(assessment_text(found)) == found


@pytest.mark.parametrize("what", ["ingest", "compare", "drift", "history", "audit"])
def test_what_a_part_lacks_is_not_in_this_export_and_never_gone(
    part_after_whole: Outcome, cli: Cli, what: str
) -> None:
    told = {
        "ingest": lambda: part_after_whole,
        "compare": lambda: cli("compare", "m1/lift@previous", "m1/lift"),
        "drift": lambda: cli("drift", "m1/lift"),
        "history": lambda: cli("history", "m1/lift"),
        "audit": lambda: cli("audit", "m1/lift", "--from", "2026-01-01"),
    }[what]()
    text = words(told.stdout)
    assert LACKING in text, told.stderr
    assert not {"gone", "gone:", "removed", "removed:"} & set(text.split())


def test_a_restore_check_tells_what_an_incomplete_export_lacks(
    send: Send, cli: Cli, tmp_path: Path
) -> None:
    whole = dcf(WINDOW, TUNING, OTHER)
    send(whole)
    left = tmp_path / "left.dcf"
    left.write_text(whole.replace(TUNING, ""))
    done = cli("restore", "check", "m1/lift", left, "--taken-at", "2026-03-09T08:00:00Z")
    assert done.code == 1, done.stderr
    assert LACKING in words(done.stdout)


def test_what_a_part_lacked_before_is_not_new(send: Send, cli: Cli) -> None:
    send(PART, "--partial")
    text = words(send(WHOLE).stdout)
    assert "Tuning was not in the export before: 6." in text
    assert "is new" not in text


def test_what_a_whole_set_lacks_is_gone(send: Send, cli: Cli) -> None:
    send(dcf(WINDOW, TUNING, OTHER))
    assert "Tuning is gone: 6." in words(send(dcf(WINDOW, OTHER), *EVEN_SO).stdout)


@pytest.mark.parametrize("turned", [False, True])
def test_two_axes_tell_whose_export_lacks_it(send: Send, cli: Cli, turned: bool) -> None:
    send(WHOLE, to="m1/lift")
    send(PART, "--partial", to="m2/lift")
    sides = ("m2/lift", "m1/lift") if turned else ("m1/lift", "m2/lift")
    text = words(cli("compare", *sides).stdout)
    side = "Left" if turned else "Right"
    assert f"!! {side}: {SAID}" in text
    wanted = (
        "not in this export of m2, 6 on m1." if turned else "6 on m1, not in this export of m2."
    )
    assert f"Tuning: {wanted}" in text
    assert "only on" not in text


def test_one_parameter_over_time_was_not_in_the_export(part_after_whole: Outcome, cli: Cli) -> None:
    told = cli("history", "m1/lift", "--parameter", "0x2010:00").stdout
    assert "not in this export" in told
    assert "gone" not in told


def test_history_says_what_each_snapshot_has(part_after_whole: Outcome, cli: Cli) -> None:
    assert words(cli("history", "m1/lift").stdout).count(SAID) == 1


def test_a_few_missing_parameters_are_told(send: Send, cli: Cli) -> None:
    objects = [OBJECT.format(f"2{n:03}", f"Setting {n}") for n in range(30)]
    send(dcf(*objects))
    done = send(dcf(*objects[:-1]))
    assert "1 parameter of the snapshot before is not in this export: 0x2029:00" in done.stderr
    assert "not in this export" not in send(dcf(*objects)).stderr


def test_a_plate_that_a_part_has_not_is_not_nothing(send: Send, cli: Cli) -> None:
    plate = "[DeviceInfo]\nOrderCode=IN-5\n"
    send(plate + WHOLE)
    send(PART, "--partial", *EVEN_SO)
    text = words(cli("compare", "m1/lift@previous", "m1/lift").stdout)
    assert "nameplate, drive is not in this export: IN-5 before." in text
    text = words(cli("compare", "m1/lift", "m1/lift@previous").stdout)
    assert "nameplate, drive was not in the export before: IN-5." in text
    send(plate + WHOLE, to="m2/lift")
    text = words(cli("compare", "m2/lift", "m1/lift").stdout)
    assert "nameplate, drive: IN-5 on m2, not in this export on m1." in text
    send(WHOLE, "--even-so", "for the test")
    text = words(cli("compare", "m2/lift", "m1/lift").stdout)
    assert "nameplate, drive: IN-5 on m2, nothing on m1." in text
