"""A comparison begins with the margins that moved, on the invented tile works."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Outcome
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
LIFT, HOIST = "glaze-line-1/lift", "kiln-loader/hoist"


def ratios(cli: Cli, selector: str) -> dict[str, str | None]:
    return {row["name"]: row["ratio"] for row in cli("margins", selector, "--json").json["margins"]}


def test_margins_that_moved_are_those_of_both_sides(plant: Vault, cli: Cli) -> None:
    left, right = f"{LIFT}@~2", f"{LIFT}@previous"
    found = cli("compare", left, right, "--all", "--json").json["margins"]
    before, after = ratios(cli, left), ratios(cli, right)
    told = {row["name"] for row in found}
    moved = {name for name in before | after if before.get(name) != after.get(name)}
    assert told == moved
    for row in found:
        assert (row["left"], row["right"]) == (before.get(row["name"]), after.get(row["name"]))
        if row["ratio"] is not None:
            quotient = float(row["right"]) / float(row["left"])
            assert float(row["ratio"]) == pytest.approx(quotient)


def test_a_margin_that_the_total_moves_across_1_is_always_told(plant: Vault, cli: Cli) -> None:
    found = cli("compare", f"{LIFT}@~2", f"{LIFT}@previous", "--json").json["margins"]
    (delay,) = (row for row in found if row["name"] == "safe_stop_delay")
    assert float(delay["left"]) > 1 > float(delay["right"])
    crossed = [float(row["left"]) >= 1 > float(row["right"]) for row in found]
    assert crossed == sorted(crossed, reverse=True), "what fell below 1 comes first"


def test_what_hardly_moved_is_told_on_request(plant: Vault, cli: Cli) -> None:
    left, right = f"{HOIST}@first", HOIST
    few = cli("compare", left, right, "--json").json["margins"]
    every = cli("compare", left, right, "--all", "--json").json["margins"]
    assert all(abs(float(row["ratio"]) - 1) > 0.01 for row in few)
    assert [row for row in every if row in few] == few


def test_the_text_begins_with_what_is_short_then_the_cause_then_what_merely_moved(
    plant: Vault, cli: Cli
) -> None:
    out = cli("compare", f"{LIFT}@~2", f"{LIFT}@previous").stdout
    short, cause = out.index("Margins short of 1, or across it"), out.index("## nameplate: ")
    assert short < out.index("?! at least 0.118, was at least 1.57  stop_room") < cause
    assert cause < out.index("Other margins that moved: machine_speed 16, was 1; ")
    every = cli("compare", f"{LIFT}@~2", f"{LIFT}@previous", "--all").stdout
    assert "ok 16, was 1  machine_speed: what the machine is built for against the" in every


def test_no_line_of_it_is_wider_than_a_terminal(plant: Vault, cli: Cli) -> None:
    for right in (f"{LIFT}@previous", HOIST):
        out = cli("compare", f"{LIFT}@~2", right).stdout
        assert [line for line in out.splitlines() if len(line) > 100] == []


def test_each_of_two_axes_has_its_own_mark(plant: Vault, cli: Cli) -> None:
    out = cli("compare", "kiln-loader/shuttle", "kiln-loader/pusher").stdout
    assert "\n?! shuttle at least 0.707, ok pusher at least 1.42  stop_room\n" in out
    other = cli("compare", "kiln-loader/pusher", "kiln-loader/shuttle").stdout
    assert "\nok pusher at least 1.42, ?! shuttle at least 0.707  stop_room\n" in other


def test_two_axes_that_hold_their_margins_are_said_to(plant: Vault, cli: Cli) -> None:
    out = cli("compare", LIFT, HOIST).stdout
    assert "margins differ: they hold on both axes, or cannot be told; --all lists them." in out


def test_two_axes_are_held_side_by_side(plant: Vault, cli: Cli) -> None:
    short = cli("compare", "glaze-line-1/lift", "glaze-line-2/lift").stdout
    assert "brake_apply" not in short  # on both it holds
    out = cli("compare", "glaze-line-1/lift", "glaze-line-2/lift", "--all").stdout
    assert "ok glaze-line-1 1.5, ok glaze-line-2 1.4  brake_apply" in out
    assert ", was " not in out[out.index("Other margins that moved") :]


def test_a_comparison_without_moves_says_nothing_of_margins(plant: Vault, cli: Cli) -> None:
    done = cli("compare", LIFT, LIFT)
    assert "Margins" not in done.stdout
    assert cli("compare", LIFT, LIFT, "--json").json["margins"] == []
