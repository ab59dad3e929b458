"""Margins of many axes are reckoned once, and anew where what they rest on is another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from tests.jobs.inspect.test_margins import set_record
from vault.jobs.inspect import kept_margins
from vault.jobs.inspect.kept_margins import KeptMargins
from vault.jobs.inspect.spread import margin_spread
from vault.jobs.state.selectors import State, resolve
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
LIFT, BELT = "glaze-line-1/lift", "glaze-line-1/belt-feed"


@pytest.fixture
def reckoned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Names of the states that were reckoned."""
    found: list[str] = []
    view_of = kept_margins.view_of

    def noted(state: State) -> object:
        found.append(state.name)
        return view_of(state)

    monkeypatch.setattr(kept_margins, "view_of", noted)
    return found


def test_an_axis_that_is_the_same_is_not_reckoned_again(
    plant: Vault, reckoned: list[str], tmp_path: Path
) -> None:
    kept = KeptMargins()
    states = [resolve(plant, name) for name in (LIFT, BELT)]
    first = kept.of(plant, states)
    assert kept.of(plant, states) == first
    assert reckoned == [LIFT, BELT]
    set_record(plant, tmp_path, LIFT, ("max_speed: 400 mm/s", "max_speed: 200 mm/s"))
    again = kept.of(plant, [resolve(plant, name) for name in (LIFT, BELT)])
    assert reckoned == [LIFT, BELT, LIFT]
    assert again[0]["machine_speed"] != first[0]["machine_speed"]
    assert again[1] == first[1]


def test_with_more_axes_than_it_keeps_it_answers_all_the_same(
    plant: Vault, reckoned: list[str]
) -> None:
    kept = KeptMargins(most=1)
    states = [resolve(plant, name) for name in (LIFT, BELT)]
    assert kept.of(plant, states) == kept.of(plant, states)
    assert reckoned == [LIFT, BELT, BELT]


def test_the_last_answer_goes_with_the_tip(plant: Vault, tmp_path: Path) -> None:
    before = margin_spread(plant, "glaze*")
    assert margin_spread(plant, "glaze*") is before
    assert margin_spread(plant, "*/lift").axes != before.axes
    set_record(plant, tmp_path, LIFT, ("max_speed: 400 mm/s", "max_speed: 200 mm/s"))
    (row,) = (row for row in margin_spread(plant, "glaze*").rows if row.name == "machine_speed")
    assert row.short == (LIFT,)
