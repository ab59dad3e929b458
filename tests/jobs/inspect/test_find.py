"""Finding a setting over the fleet. The family hazel is invented; so are the example machines."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.inspect.find import find
from vault.model.errors import WrongUsage
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def fleet(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Three lifts: one was wide once, one is wide now, one never."""
    take(export_text("9"), "2026-03-01", to="m1/lift")
    take(export_text("2"), "2026-03-02", to="m1/lift")
    take(export_text("2"), "2026-03-01", to="m2/lift", override_reason="a twin")
    take(export_text("8"), "2026-03-03", to="m2/lift")
    take(export_text("3"), "2026-03-01", to="m3/lift", override_reason="a twin")
    return vault


def axes(vault: Vault, text: str, value: str | None = None, **more: Any) -> list[str]:
    return [
        f"{entry.axis} {'now' if entry.is_present else 'then'}"
        for entry in find(vault, text, value, **more)
    ]


@pytest.mark.parametrize("text", ["lim/lag", "following_error_window", "Following error"])
def test_a_bad_value_is_found_where_it_is_and_where_it_was(fleet: Vault, text: str) -> None:
    assert axes(fleet, text, "> 5 mm") == ["m2/lift now", "m1/lift then"]
    assert axes(fleet, text, "> 5 mm", only_now=True) == ["m2/lift now"]


@pytest.mark.parametrize(
    ("value", "found"),
    [
        ("> 8 mm", ["m1/lift then"]),
        (">= 8 mm", ["m2/lift now", "m1/lift then"]),
        ("= 0.3 cm", ["m3/lift now"]),
        ("3 mm", ["m3/lift now"]),
        ("0.0075..0.0085 m", ["m2/lift now"]),
        ("< 2.5 mm", ["m1/lift now", "m2/lift then"]),
        ("> 5 kg", []),
        ("> 5", ["m2/lift now", "m1/lift then"]),
    ],
)
def test_a_condition_converts_units(fleet: Vault, value: str, found: list[str]) -> None:
    assert axes(fleet, "lim/lag", value) == found


def test_a_period_ends_with_the_snapshot_that_has_another_value(fleet: Vault) -> None:
    (entry,) = find(fleet, "lim/lag", "9 mm")
    assert entry.until is not None
    assert (f"{entry.since:%m-%d}", f"{entry.until:%m-%d}") == ("03-01", "03-02")


@pytest.mark.parametrize("text", ["no/such", "raw", "%", "_", "following_error_windo_"])
def test_what_was_never_there_is_told(fleet: Vault, text: str) -> None:
    with pytest.raises(WrongUsage, match=f"no axis has, or had, a parameter '{text}'"):
        find(fleet, text)


@pytest.mark.parametrize("value", ["> five mm", "> 5 furlongparsecs", "6..4 mm"])
def test_a_condition_that_means_nothing_is_refused(fleet: Vault, value: str) -> None:
    with pytest.raises(WrongUsage):
        find(fleet, "lim/lag", value)


def test_user_units_are_compared_and_shown_as_what_they_are(works: Path) -> None:
    with Vault.open(works) as vault:
        found = find(vault, "following_error_window", "> 5 mm", only_now=True)
        assert [(entry.axis, entry.text) for entry in found] == [
            ("glaze-line-1/belt-feed", "20 mm")
        ]
        counts = found[0].parameter
        assert (counts.unit, counts.value) == ("user_position", 20000)


def test_a_damaged_index_finds_the_same(fleet: Vault) -> None:
    before = axes(fleet, "lim/lag")
    fleet.close()
    (fleet.state / "index.sqlite").write_bytes(b"not a database" * 100)
    with Vault.open(fleet.repository.path) as again:
        assert axes(again, "lim/lag") == before


def test_a_number_that_stayed_is_found_by_each_size_that_it_had(works: Path) -> None:
    """The encoder was set otherwise on 2025-11-17 for a while: 4 mm * 2^20 / 2^24 is 0.25 mm."""
    with Vault.open(works) as vault:
        lift = [
            entry
            for entry in find(vault, "following_error_window", "< 1 mm")
            if entry.axis == "glaze-line-1/lift"
        ]
        assert [(f"{one.since:%Y-%m-%d}", one.text) for one in lift] == [
            ("2025-11-17", "4 mm, really 0.25 mm")
        ]
        every = [one for one in find(vault, "following_error_window") if one.axis == lift[0].axis]
        assert lift[0].since not in [one.since for one in every]
        assert lift[0].parameter.raw in [one.parameter.raw for one in every]
