"""`golden approve` and `golden waive` with a pattern. The family hazel is invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome

AXES = ("m1/belt", "m1/lift", "m2/lift")
REASON = ("--reason", "accepted")
WAIVER = ("lim/lag", "--until", "2099-12-31", "--reason", "worn screw")
Cli = Callable[..., Outcome]


@pytest.fixture
def three(cli: Cli, take: Callable[..., Any], export_text: Callable[..., str]) -> Cli:
    for axis in AXES:
        take(export_text(serial=axis), to=axis)
    return cli


def test_a_pattern_approves_all_that_fit_as_json(three: Cli) -> None:
    done = three("golden", "approve", "m1/*", *REASON, "--json")
    assert done.code == 0
    assert [axis["axis"] for axis in done.json["approved"]] == ["m1/belt", "m1/lift"]
    assert (done.json["refused"], done.json["already"]) == ([], [])
    again = three("golden", "approve", "*", *REASON, "--json").json
    assert [axis["axis"] for axis in again["approved"]] == ["m2/lift"]
    assert again["already"] == ["m1/belt", "m1/lift"]


def test_who_is_refused_comes_first_with_why(
    three: Cli, take: Callable[..., Any], export_text: Callable[..., str], tmp_path: Path
) -> None:
    other = "Pavo Drostmaa <pavo@tileworks.example>"
    lines = ["schema: axisvault/vault/1", "site: Tile works", "approval: {second_person: true}"]
    take(export_text(), "2026-03-02", to="m2/lift", by=other)
    (tmp_path / "site.yaml").write_text("\n".join([*lines, ""]))
    assert three("site", "set", "site.yaml").code == 0
    done = three("golden", "approve", "*/lift", *REASON, "--by", other)
    assert done.code == 0, "one was approved"
    first, *_, last = done.stdout.splitlines()
    assert first == "refused  m2/lift"
    assert "took this snapshot and cannot approve it" in done.stdout
    assert last == "1 axis approved, 1 refused."


def test_where_all_are_refused_it_leaves_with_3(three: Cli) -> None:
    done = three("golden", "approve", "m1/*", "--json")
    assert done.code == 3
    assert [axis["axis"] for axis in done.json["refused"]] == ["m1/belt", "m1/lift"]
    assert {axis["why"] for axis in done.json["refused"]} == {"an approval needs a reason here"}
    assert three("golden", "waive", "m1/*", *WAIVER).code == 3


def test_where_all_are_golden_already_it_leaves_with_0(three: Cli) -> None:
    three("golden", "approve", "*", *REASON)
    done = three("golden", "approve", "*", *REASON)
    assert done.code == 0
    assert done.stdout == "0 axes approved, 3 golden already.\n"


def test_looking_writes_nothing_also_for_one_axis(three: Cli, git: Callable[..., str]) -> None:
    before = git("rev-parse", "main")
    done = three("golden", "approve", "m1/lift", *REASON, "--only-look", "--json")
    assert done.json["looked_only"] is True
    assert [axis["axis"] for axis in done.json["approved"]] == ["m1/lift"]
    assert (
        "3 axes would be approved."
        in three("golden", "approve", "*", *REASON, "--only-look").stdout
    )
    three("golden", "waive", "*", *WAIVER, "--only-look")
    assert git("rev-parse", "main") == before


def test_one_axis_answers_as_before(three: Cli) -> None:
    done = three("golden", "approve", "m1/lift", *REASON, "--json")
    assert done.json["baseline"]["reason"] == "accepted"


def test_a_pattern_waives_on_all_that_have_a_baseline(three: Cli) -> None:
    three("golden", "approve", "m1/*", *REASON)
    done = three("golden", "waive", "*", *WAIVER, "--json")
    assert done.code == 0
    assert [axis["axis"] for axis in done.json["waived"]] == ["m1/belt", "m1/lift"]
    assert [axis["axis"] for axis in done.json["refused"]] == ["m2/lift"]
    assert "2 axes waived, 1 refused." in three("golden", "waive", "*", *WAIVER).stdout


@pytest.mark.parametrize("command", ["approve", "waive"])
def test_the_help_says_what_it_leaves_with(cli: Cli, command: str) -> None:
    text = " ".join(cli("golden", command, "--help").stdout.split())
    assert "Leaves with 3 where all were refused" in text


def test_an_error_about_all_of_them_is_one_error(three: Cli) -> None:
    done = three("golden", "approve", "m9/*", *REASON, "--json")
    assert done.code == 2
    assert "no axis fits" in json.loads(done.stdout)["error"]["message"]
