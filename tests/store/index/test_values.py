"""Values by change only, against a plain reading of every snapshot from git.

The family hazel and its exports are invented.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from itertools import groupby
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.parameters_text import read_parameters
from vault.store.vault import Vault

LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Take = Callable[..., Any]
Export = Callable[..., str]


def by_reading(vault: Vault, address: Address) -> list[tuple[str, str, str | None]]:
    """Snapshot, code and value wherever a parameter changes, from git alone."""
    before: dict[str, Any] = {}
    found = []
    for snapshot in vault.index.snapshots(address):
        text = vault.read_required(layout.parameters_file(address), snapshot.id)
        now = dict(read_parameters(text, "x"))
        now.pop("now/place", None)  # a live value
        for code in sorted({*before, *now}):
            if before.get(code) != now.get(code):
                value = now.get(code)
                found.append((snapshot.id, code, None if value is None else str(value.value)))
        before = now
    return sorted(found)


def by_index(vault: Vault, address: Address) -> list[tuple[str, str, str | None]]:
    vault.index.fill_values(address)
    codes = [row[0] for row in vault.index._database.execute("SELECT code FROM codes")]
    return sorted(
        (t.snapshot, t.code, None if t.parameter is None else str(t.parameter.value))
        for t in vault.index.value_changes(codes)
        if t.address == address
    )


@pytest.fixture
def filled(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Snapshots in and out of order, one with fewer parameters, one of another axis."""
    take(export_text("2"), "2026-03-05")
    take(export_text("3"), "2026-03-09")
    take(export_text("4"), "2026-03-01")  # before all
    take(export_text("2", speed="7"), "2026-03-07")  # between two
    short = export_text("5").replace("set/4;Setting 4;11;\r\n", "")
    take(short, "2026-03-08")
    take(export_text("9"), "2026-03-08", to="m1/belt", override_reason="another one")
    return vault


def test_changes_are_what_reading_every_snapshot_tells(filled: Vault) -> None:
    for address in (LIFT, BELT):
        assert by_index(filled, address) == by_reading(filled, address)


def test_values_are_entered_when_an_export_is_taken_in(filled: Vault) -> None:
    from vault.store.index import values

    assert values.axes_behind(filled.index._database) == []


def test_an_index_that_followed_later_has_the_same_changes(filled: Vault) -> None:
    before = [by_index(filled, address) for address in (LIFT, BELT)]
    filled.close()
    shutil.rmtree(filled.state)
    with Vault.open(filled.repository.path) as again:
        assert [by_index(again, address) for address in (LIFT, BELT)] == before


def test_a_late_entry_is_caught_up_too(filled: Vault, take: Take, export_text: Export) -> None:
    filled.index._database.execute("DELETE FROM filled")
    filled.index._database.execute("DELETE FROM value_changes")
    take(export_text("6"), "2026-03-06")
    assert by_index(filled, LIFT) == by_reading(filled, LIFT)


def test_only_what_changed_is_kept(filled: Vault, take: Take, export_text: Export) -> None:
    def rows() -> int:
        return int(
            filled.index._database.execute("SELECT count(*) FROM value_changes").fetchone()[0]
        )

    by_index(filled, LIFT)
    before = rows()
    take(export_text("3"), "2026-03-10")
    take(export_text("3.5".replace(".", ",")), "2026-03-11")
    assert rows() == before + 1


def test_what_is_not_recorded_in_the_end_leaves_no_values(
    filled: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = by_index(filled, LIFT)

    def fails(*_: object) -> None:
        raise RuntimeError("power cut")

    with monkeypatch.context() as patched:
        patched.setattr(filled.repository, "advance", fails)
        with pytest.raises(RuntimeError):
            take(export_text("8"), "2026-03-20")
    assert by_index(filled, LIFT) == before


_MOMENTS = st.lists(
    st.tuples(st.integers(1, 28), st.integers(0, 3), st.integers(0, 2), st.booleans()),
    min_size=1, max_size=8,
)  # fmt: skip


@settings(
    max_examples=8, deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(visits=_MOMENTS)
def test_any_order_of_visits_gives_the_same_changes_as_reading(
    vault: Vault, take: Take, export_text: Export, visits: list[tuple[int, int, int, bool]]
) -> None:
    for day, lag, speed, short in visits:
        text = export_text(str(lag), speed=str(speed))
        text = text.replace("set/9;Setting 9;16;\r\n", "") if short else text
        take(text, f"2026-04-{day:02}")
    assert by_index(vault, LIFT) == by_reading(vault, LIFT)
    keys = [(t.address, t.code) for t in vault.index.value_changes(["lim/lag", "set/9"])]
    assert len([key for key, _ in groupby(keys)]) == len(set(keys))


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE lines SET numbers = '2.1 210' WHERE numbers = '2 200'",
        "UPDATE lines SET numbers = '2' WHERE numbers = '2 200'",
        "UPDATE shapes SET text = replace(text, 'Following', 'Fallow')",
        "UPDATE shapes SET role = 'profile_velocity' WHERE role = 'following_error_window'",
        "DELETE FROM shapes WHERE role = 'following_error_window'",
        "DELETE FROM value_changes WHERE seq = 5",
        "UPDATE value_changes SET line = 0 WHERE code = 2",
        "UPDATE codes SET code = 'set/99' WHERE code = 'set/9'",
        "DELETE FROM filled WHERE axis = 'lift'",
    ],
)
def test_verify_names_an_axis_whose_values_in_the_index_are_not_those_in_git(
    filled: Vault, damage: str
) -> None:
    assert verify(filled).ok
    changed = filled.index._database.execute(damage).rowcount
    assert changed > 0
    found = verify(filled).problems
    assert {problem.kind for problem in found} == {"index"}
    assert "m1/lift" in {problem.where for problem in found}
    filled.reindex()
    assert verify(filled).ok
