"""One parameter over time, by each snapshot's own scaling. Families and machines are invented.

What a parameter became is held against comparing whole sets; on the example machines, also against
git's own files, in test_history_story.py.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.meaning.drives import MM, UM, Drive, Machine, Number, drives, machines, pairs
from tests.sweeps import part_of
from vault.behaviour.scaling import SCALING_ROLES
from vault.jobs.inspect.history import ParameterStep, parameter_history
from vault.jobs.records.edit import add_family
from vault.jobs.state.selectors import State, view_of
from vault.meaning.compare import compare
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.normalise import VERSION
from vault.model.snapshots import SnapshotRecord
from vault.store.files.snapshot_text import digest
from vault.store.recorder import recording
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
WINDOW, LIMIT, FEED, UNIT = "0x6065:00", "0x607D:02", "0x6092:01", "0x60A8:00"
EXPORT = b"[2001]\r\nParameterName=Any\r\nDataType=5\r\nParameterValue=1\r\n"
Take = Callable[..., Any]
Text = Callable[..., str]


def keep(vault: Vault, days: Sequence[tuple[int, Drive, Machine]]) -> None:
    """Records sets of the lift as taken on these days of March 2026, in this order."""
    for day, drive, machine in days:
        with vault.writing():
            if machine.axis_text is not None:
                vault.write_files({"machines/m1/lift/axis.yaml": machine.axis_text}, "Axis\n", BY)
            record = SnapshotRecord(
                taken_at=datetime(2026, 3, day, tzinfo=UTC),
                occasion="routine",
                by=BY,
                export_name="lift.dcf",
                export_sha256=digest(EXPORT),
                normalisation=VERSION,
                nameplate={"encoder_single_turn_bits": str(machine.bits)},
            )
            with recording(vault) as recorder:
                recorder.record(LIFT, record, drive.text, EXPORT, None)


def steps(vault: Vault, name: str, address: Address = LIFT) -> list[ParameterStep]:
    return list(parameter_history(vault, address, name))


def kinds(vault: Vault, name: str, address: Address = LIFT) -> list[str | None]:
    return [step.kind for step in steps(vault, name, address)]


def held(vault: Vault, name: str) -> list[tuple[str, Any] | None]:
    """Code and value at each snapshot."""
    found = [step.parameter for step in steps(vault, name)]
    return [None if p is None else (p.code, p.value) for p in found]


def by_sets(vault: Vault, address: Address) -> dict[str, list[str | None]]:
    """What became of every code, by comparing whole sets one by one."""
    snapshots = list(vault.index.snapshots(address))
    views = [view_of(State(s.id[:10], vault, address, s)) for s in snapshots]
    found = [
        {change.shown.code: change.kind for change in compare(one, other).changes}
        for one, other in pairwise(views)
    ]
    codes = sorted({code for side in views for code in side.parameters})
    return {code: [None, *(changes.get(code) for changes in found)] for code in codes}


# What became of a parameter.

NAMES = pytest.mark.parametrize("name", ["lim/lag", "following_error_window"])


@NAMES
def test_another_value_is_changed_and_the_same_one_is_nothing(
    vault: Vault, take: Take, export_text: Text, name: str
) -> None:
    for day, lag in enumerate(("2,5", "2,5", "4"), 1):
        take(export_text(lag, speed=str(day)), f"2026-03-0{day}")
    assert kinds(vault, name) == [None, None, "changed"]
    assert [step.changed for step in steps(vault, name)] == [True, False, True]


def test_the_same_length_in_another_unit_is_another_number_only(
    vault: Vault, take: Take, export_text: Text
) -> None:
    take(export_text("2,5"), "2026-03-01")
    take(export_text("2,5").replace("2,5;mm", "0,25;cm"), "2026-03-02")
    assert kinds(vault, "lim/lag") == [None, "restated"]
    assert [step.reading.own for step in steps(vault, "lim/lag") if step.reading] == [
        "2.5 mm",
        "0.25 cm",
    ]


@NAMES
def test_a_parameter_comes_and_goes(vault: Vault, take: Take, export_text: Text, name: str) -> None:
    without = export_text("2").replace("lim/lag;Following error window;2;mm\r\n", "")
    for day, text in enumerate((without, export_text("2"), without, without), 1):
        take(text, f"2026-03-0{day}", override_reason="the window was taken away")
    assert kinds(vault, name) == [None, "only_right", "only_left", None]
    assert held(vault, name) == [None, ("lim/lag", 2), None, None]
    assert not steps(vault, name)[0].changed


def test_a_snapshot_that_comes_while_it_is_told_is_told_by_its_own_value_or_not_at_all(
    vault: Vault, take: Take, export_text: Text, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text("2"), "2026-03-01")
    with Vault.open(vault.repository.path) as other:

        def then(asked: Callable[..., Any]) -> Callable[..., Any]:
            def ask(*what: Any) -> Any:
                answer = asked(*what)
                if other.index.count() == 1:
                    take(export_text("4"), "2026-03-02", into=other)
                return answer

            return ask

        for name in ("snapshots", "value_changes_on"):
            monkeypatch.setattr(vault.index, name, then(getattr(vault.index, name)))
        assert held(vault, "lim/lag") in ([("lim/lag", 2)], [("lim/lag", 2), ("lim/lag", 4)])
        assert other.index.count() == 2


@pytest.mark.parametrize("name", ["lim/nothing", "0x6065", "motor_rated_torque", "raw"])
def test_a_parameter_that_no_snapshot_has_is_named(
    vault: Vault, take: Take, export_text: Text, name: str
) -> None:
    take(export_text())
    with pytest.raises(WrongUsage, match=f"no snapshot of m1/lift has a parameter '{name}'"):
        steps(vault, name)


@pytest.mark.parametrize("name", ["now/place", "position_actual_value"])
def test_a_live_value_that_the_index_leaves_out_is_read_from_the_sets(
    vault: Vault, take: Take, export_text: Text, name: str
) -> None:
    for day, place in enumerate(("5", "5", "17"), 1):
        take(export_text(place=place), f"2026-03-0{day}")
    assert vault.index.value_changes(["now/place"]) == []
    assert held(vault, name) == [("now/place", 5), ("now/place", 5), ("now/place", 17)]
    assert kinds(vault, name) == [None, None, "changed"]


@pytest.fixture
def no_sets(monkeypatch: pytest.MonkeyPatch) -> None:
    """Has whoever reads a whole set fail."""

    def unwanted(state: State) -> bytes:
        raise AssertionError(f"{state.name} was read")

    monkeypatch.setattr(State, "parameters_text", property(unwanted))


@pytest.mark.usefixtures("no_sets")
def test_a_setting_is_answered_without_reading_any_whole_set(
    vault: Vault, take: Take, export_text: Text
) -> None:
    for day, lag in enumerate(("2", "3"), 1):
        take(export_text(lag), f"2026-03-0{day}")
    assert kinds(vault, "lim/lag") == [None, "changed"]


@pytest.mark.usefixtures("no_sets")
def test_an_index_that_was_deleted_is_filled_before_it_is_asked(
    vault: Vault, take: Take, export_text: Text
) -> None:
    for day, lag in enumerate(("2", "3"), 1):
        take(export_text(lag), f"2026-03-0{day}")
    vault.index.rebuild()
    assert vault.index.value_changes(["lim/lag"]) == []
    assert kinds(vault, "lim/lag") == [None, "changed"]


def other_family(family_text: str, *renamed: tuple[str, str]) -> str:
    """The dictionary of hazel as that of maple, with some of it spelled otherwise."""
    text = family_text.replace("name: hazel", "name: maple").replace("^HZ-", "^MP-")
    for old, new in renamed:
        assert old in text
        text = text.replace(old, new)
    return text


def test_a_role_that_another_family_has_elsewhere_is_followed(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    maple = tmp_path / "maple.yaml"
    maple.write_text(other_family(family_text, ("lim/lag:", "win/err:")))
    add_family(vault, maple, BY)
    take(export_text("2"), "2026-03-01")
    theirs = export_text("2").replace("HZ-", "MP-").replace("lim/lag", "win/err")
    take(theirs, "2026-03-02", override_reason="another drive")
    take(theirs.replace(";2;mm", ";3;mm"), "2026-03-03")
    assert held(vault, "following_error_window") == [("lim/lag", 2), ("win/err", 2), ("win/err", 3)]
    assert kinds(vault, "following_error_window") == [None, None, "changed"]
    assert held(vault, "lim/lag") == [("lim/lag", 2), None, None]


def test_a_role_that_a_firmware_moved_to_another_code_is_followed(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    newer = tmp_path / "newer.yaml"
    lag = "name: Lag, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm"
    moved = f"    lim/lag: {{absent: true}}\n    lim/new: {{{lag}}}\n"
    text = family_text.replace("Saved: taken_at", "Saved: taken_at, Firmware: firmware")
    newer.write_text(f'{text}variants:\n- firmware: ">=2"\n  parameters:\n{moved}')
    add_family(vault, newer, BY)
    take("Firmware;1.4;;\r\n" + export_text("2"), "2026-03-01")
    theirs = "Firmware;2.0;;\r\n" + export_text("3").replace("lim/lag", "lim/new")
    take(theirs, "2026-03-02")
    assert held(vault, "following_error_window") == [("lim/lag", 2), ("lim/new", 3)]
    assert kinds(vault, "following_error_window") == [None, "changed"]
    assert kinds(vault, "lim/lag") == [None, "only_left"]


def test_a_code_that_is_live_in_one_family_and_a_setting_in_another_is_read_from_the_sets(
    vault: Vault, take: Take, export_text: Text, family_text: str, tmp_path: Path
) -> None:
    live = "Actual position, role: position_actual_value, type: INTEGER32, unit: mm, volatile: true"
    maple = tmp_path / "maple.yaml"
    maple.write_text(other_family(family_text, (live, "Setting 0, type: INTEGER32")))
    add_family(vault, maple, BY)
    take(export_text(place="5"), "2026-03-01")
    theirs = export_text().replace("HZ-", "MP-").replace("Actual position;0;mm", "Setting 0;8;")
    take(theirs, "2026-03-02", override_reason="another drive")
    assert held(vault, "now/place") == [("now/place", 5), ("now/place", 8)]


# By each snapshot's own scaling.

SCREW = Drive({WINDOW: Number(5), LIMIT: Number(600)})
AXIS = Machine()


def test_an_encoder_that_was_changed_and_then_set_shifts_there_and_back(vault: Vault) -> None:
    fine = replace(AXIS, bits=24)
    keep(vault, [(1, SCREW, AXIS), (2, SCREW, fine), (3, replace(SCREW, counts=2**24), fine)])
    assert kinds(vault, WINDOW) == [None, "shifted", "shifted"]
    sizes = [step.reading.physical for step in steps(vault, WINDOW) if step.reading]
    # 2^20 counted of the 2^24 that a turn has: a sixteenth of 5 mm.
    assert [size.number() for size in sizes if size is not None] == [
        Fraction(5, 1000),
        Fraction(5, 16_000),
        Fraction(5, 1000),
    ]


def test_a_machine_that_was_built_otherwise_shifts_what_was_set_for_the_old_one(
    vault: Vault,
) -> None:
    longer = replace(AXIS, lead=20)
    keep(vault, [(1, SCREW, AXIS), (2, SCREW, longer), (3, SCREW, longer)])
    assert kinds(vault, WINDOW) == [None, "shifted", None]


def test_a_late_entry_is_told_at_its_place_by_its_own_scaling(vault: Vault) -> None:
    fine = replace(AXIS, bits=24)
    keep(vault, [(1, SCREW, AXIS), (3, SCREW, AXIS)])
    assert kinds(vault, WINDOW) == [None, None]
    keep(vault, [(2, SCREW, fine)])
    assert [f"{step.snapshot.record.taken_at:%d}" for step in steps(vault, WINDOW)] == [
        "01",
        "02",
        "03",
    ]
    assert kinds(vault, WINDOW) == [None, "shifted", "shifted"]


def test_a_late_entry_before_all_others_is_the_first(
    vault: Vault, take: Take, export_text: Text
) -> None:
    take(export_text("3"), "2026-03-03")
    assert held(vault, "lim/lag") == [("lim/lag", 3)]
    take(export_text("2"), "2026-03-01")
    assert held(vault, "lim/lag") == [("lim/lag", 2), ("lim/lag", 3)]
    assert [step.is_first for step in steps(vault, "lim/lag")] == [True, False]


def test_an_index_that_was_deleted_makes_no_difference(
    vault: Vault, take: Take, export_text: Text
) -> None:
    for day, lag in ((1, "2"), (4, "3"), (2, "9")):
        take(export_text(lag), f"2026-03-0{day}")
    before = steps(vault, "lim/lag")
    assert [step.kind for step in before] == [None, "changed", "changed"]
    vault.close()
    for file in vault.state.glob("index.sqlite*"):
        file.unlink()
    with Vault.open(vault.repository.path) as again:
        after = steps(again, "lim/lag")
    assert [(s.snapshot.id, s.parameter, s.kind) for s in after] == [
        (s.snapshot.id, s.parameter, s.kind) for s in before
    ]


@st.composite
def lives(draw: st.DrawFn) -> list[tuple[int, Drive, Machine]]:
    """Three sets of an axis, in any order, on a machine that may get another encoder."""
    one, other = draw(pairs())
    last, machine = draw(st.just(one) | drives()), draw(machines)
    bits = draw(st.sampled_from([machine.bits, 22]))
    sets = [(1, one, machine), (2, other, machine), (3, last, replace(machine, bits=bits))]
    return list(draw(st.permutations(sets)))


@settings(max_examples=part_of(12), deadline=None)
@given(lives())
def test_what_is_said_of_a_parameter_is_what_comparing_whole_sets_says(
    days: list[tuple[int, Drive, Machine]],
) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        Vault.create(Path(folder) / "plant", "Works", BY) as vault,
    ):
        keep(vault, days)
        for code, expected in by_sets(vault, LIFT).items():
            found = steps(vault, code)
            # Rows that scale others are looked at alone: see the two tests below.
            if not any(s.parameter and s.parameter.role in SCALING_ROLES for s in found):
                assert [step.kind for step in found] == expected, code


def test_a_feed_constant_with_which_all_values_were_rewritten_is_another_number_only(
    vault: Vault,
) -> None:
    """Where no unit is stated, only the values tell that the user unit became a smaller one."""
    coarse = replace(SCREW, position=None)
    fine = Drive({WINDOW: Number(5000), LIMIT: Number(600_000)}, position=None)
    fine = replace(fine, feed=coarse.feed * 1000)
    keep(vault, [(1, coarse, AXIS), (2, fine, AXIS)])
    assert by_sets(vault, LIFT)[FEED] == [None, "restated"]
    assert kinds(vault, FEED) == [None, "restated"]


@pytest.mark.parametrize("code", [FEED, UNIT])
def test_a_user_unit_for_which_no_value_was_rewritten_is_no_other_number_only(
    vault: Vault, code: str
) -> None:
    """From mm to µm with the numbers left: every way is a thousandth of what it was."""
    assert SCREW.position == MM
    keep(vault, [(1, SCREW, AXIS), (2, replace(SCREW, position=UM, feed=Fraction(16_000)), AXIS)])
    assert by_sets(vault, LIFT)[code] == [None, "changed"]
    assert kinds(vault, code) == [None, "changed"]
