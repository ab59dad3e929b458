"""Two machines on the command line. The example machines are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take

Cli = Callable[..., Outcome]
Text = Callable[..., str]
LINES = ("glaze-line-1", "glaze-line-2")


def compare(cli: Cli, works: Path, *words: str) -> Outcome:
    return cli("--vault", works, "compare", *words)


def test_a_pair_is_a_line_with_counts_and_the_worst_of_it(cli: Cli, works: Path) -> None:
    lines = compare(cli, works, *LINES).stdout.splitlines()
    assert lines[:4] == [
        "glaze-line-1 and glaze-line-2",
        "",
        "!! turntable: 1 hazard, 2 travel, 6 dynamics, 2 record",
        "     Input 4 inverted: No (0) on glaze-line-1, Yes (1) on glaze-line-2. Negative "
        "over-travel acts on",
    ]
    heads = [line for line in lines if line[:1].strip()]
    assert [line.split()[1].rstrip(":") for line in heads[1:6]] == [
        "turntable", "belt-feed", "spray-carriage", "lift", "slurry-pump",
    ]  # fmt: skip
    assert heads[6].startswith("Folded away is what must differ between machines: 50 on 5 pairs: ")


@pytest.mark.parametrize("more", [(), ("--all",), ("--units", "inch")])
def test_it_fits_a_terminal(cli: Cli, works: Path, more: tuple[str, ...]) -> None:
    assert max(map(len, compare(cli, works, *LINES, *more).stdout.splitlines())) <= 100


def test_with_all_everything_is_listed_and_what_must_differ_too(cli: Cli, works: Path) -> None:
    text = compare(cli, works, *LINES, "--all").stdout
    assert "   -- Home offset: 118.4 mm on glaze-line-1, 121.05 mm on glaze-line-2" in text
    assert "   ~~ Torque filter time: 0.8 ms on glaze-line-1" in text
    assert "Folded away" not in text


def test_json_has_the_keys_of_the_contract(cli: Cli, works: Path) -> None:
    found = compare(cli, works, *LINES, "--json").json
    assert found.keys() >= {"pairs", "only_left", "only_right", "expected"}
    worst = found["pairs"][0]
    assert worst.keys() >= {"left", "right", "summary", "worst", "address"}
    assert worst["address"] == "/compare?left=glaze-line-1/turntable&right=glaze-line-2/turntable"
    assert (worst["worst"], worst["summary"]["hazard"]) == ("hazard", 1)
    assert sum(pair["summary"]["expected"] for pair in found["pairs"]) == len(found["expected"])


def test_axes_of_two_names_are_paired_where_that_is_said(cli: Cli, works: Path) -> None:
    done = compare(cli, works, "glaze-line-1", "kiln-loader", "--pair", "lift=hoist")
    assert "!! lift and hoist: " in done.stdout
    assert "Only kiln-loader has pusher, roller-bed, shuttle." in done.stdout


def test_equal_twins_leave_with_0_and_unequal_ones_with_1(
    take: Take, cli: Cli, export_text: Text
) -> None:
    take(export_text(serial="HZ-1"), to="m1/lift")
    take(export_text(serial="HZ-2"), to="m2/lift")
    done = cli("compare", "m1", "m2", "--exit-code")
    assert (done.code, done.stdout.splitlines()[2]) == (
        0, "ok lift: nothing differs but what must (1)",
    )  # fmt: skip
    take(export_text(serial="HZ-2", lag="3"), "2026-04-01T08:00:00+00:00", to="m2/lift")
    assert cli("compare", "m1", "m2").code == 0
    assert cli("compare", "m1", "m2", "--exit-code").code == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("glaze-line-1", "glaze-line-9"), "there is no machine 'glaze-line-9'"),
        (("glaze-line-1", "glaze-line-2/lift"), "'glaze-line-1' names no axis"),
        ((*LINES, "--fault", "8611h"), "of machines, only"),
        ((*LINES, "--pair", "lift"), "'lift' is no pair"),
        (
            ("glaze-line-1/lift", "glaze-line-2/lift", "--pair", "a=b"),
            "--pair goes with two machines",
        ),
    ],
)
def test_a_question_that_machines_have_no_answer_to_is_wrong_usage(
    cli: Cli, works: Path, words: tuple[str, ...], said: str
) -> None:
    done = compare(cli, works, *words)
    assert (done.code, done.stdout) == (2, "")
    assert said in done.stderr


def test_a_retired_partner_is_no_absent_one(take: Take, cli: Cli, export_text: Text) -> None:
    for axis in ("m1/lift", "m1/pump", "m2/lift", "m2/pump"):
        take(export_text(), to=axis)
    assert cli("axis", "retire", "m1/pump", "--reason", "scrapped").code == 0
    text = cli("compare", "m1", "m2").stdout
    assert "m2/pump stands alone: pump is retired on m1." in text
    assert "Only m2" not in text
    assert cli("compare", "m1", "m2", "--json").json["retired"] == ["m1/pump"]
