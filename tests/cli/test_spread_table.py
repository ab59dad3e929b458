"""The spread as people and programs read it. The example machines and hazel are invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from vault.cli import axisvault

Take = Callable[..., Any]
Text = Callable[..., str]
Cli = Callable[..., Any]


def told(works: Path, *words: str) -> list[str]:
    result = CliRunner().invoke(axisvault, ["--vault", str(works), "spread", *words])
    assert result.exit_code == 0, result.output
    return result.output.splitlines()


def found(works: Path, *words: str) -> Any:
    return json.loads("\n".join(told(works, *words, "--json")))


@pytest.mark.parametrize("pattern", ["*/lift", "kiln-loader/[hp]*", "kiln-loader/*", "*/*"])
@pytest.mark.parametrize("units", ["drive", "si", "inch"])
def test_it_fits_a_terminal_however_many_axes_there_are(
    works: Path, pattern: str, units: str
) -> None:
    assert max(map(len, told(works, pattern, "--units", units))) <= 100


def test_few_axes_are_columns_and_rows_their_differences(works: Path) -> None:
    lines = told(works, "*/lift")
    assert lines[0].split() == ["glaze-line-1/lift", "glaze-line-2/lift"]
    place = [lines[0].index(axis) for axis in lines[0].split()]
    cells = {
        line[: place[0]].strip(): (line[place[0] : place[1]].strip(), line[place[1] :].strip())
        for line in lines[1:-1]
    }
    assert cells["Profile acceleration"] == ("1,200 mm/s^2", "1,800 mm/s^2")
    assert cells["Encoder single-turn bits, as found"] == ("24 bit", "20 bit")
    assert "Following error window" not in cells  # 4 mm on both


def test_what_is_the_same_is_counted_and_not_listed(works: Path) -> None:
    document = found(works, "*/lift")
    *rows, last = told(works, "*/lift")
    assert last == f"The same on both axes: {document['same']} parameters."
    assert len(rows) - 1 == len(document["rows"])
    assert document["same"] > 150


def test_many_axes_are_told_row_by_row_with_the_odd_ones_marked(works: Path) -> None:
    lines = told(works, "*/*")
    place = lines.index("Following error time-out: 10 ms (12 of 14)")
    assert lines[place + 1] == "   * 15 ms: glaze-line-1/turntable, glaze-line-2/turntable"


def test_where_there_is_no_majority_nobody_is_marked(works: Path) -> None:
    lines = told(works, "kiln-loader/*")
    place = lines.index("Following error window: no majority")
    assert lines[place + 1 : place + 4] == [
        "   5 mm: kiln-loader/hoist",
        "   4 mm: kiln-loader/pusher, kiln-loader/shuttle",
        "   0.5 deg: kiln-loader/roller-bed",
    ]


def test_families_that_know_no_such_parameter_take_no_part(works: Path) -> None:
    """Only the six alder axes have unit codes, and they agree."""
    assert "si_unit_position" not in {row["key"] for row in found(works, "*/*")["rows"]}


@pytest.mark.parametrize(
    ("units", "one", "other"),
    [
        ("drive", "20 mm", "2 mm"),
        ("si", "0.02 m", "0.002 m"),
        ("inch", "0.7874 in", "0.07874 in"),  # 20 / 25.4
    ],
)
def test_sizes_are_told_in_the_unit_of_the_reader(
    works: Path, units: str, one: str, other: str
) -> None:
    words = ("*/belt-feed", "--parameter", "following_error_window", "--units", units)
    _, line = told(works, *words)
    cells = [cell.strip() for cell in line.split("  ") if cell.strip()]
    assert cells == ["Following error window", one, other]
    (row,) = found(works, *words)["rows"]
    assert [cell["text"] for cell in row["values"].values()] == [one, other]
    assert [cell["physical"]["value"] for cell in row["values"].values()] == ["0.02", "0.002"]


@pytest.mark.parametrize("parameter", ["0x6065:00", "0x6065", "following_error_window"])
def test_one_parameter_by_code_or_role(works: Path, parameter: str) -> None:
    (row,) = found(works, "glaze-line-?/belt-feed", "--parameter", parameter)["rows"]
    assert (row["key"], row["group"]) == ("following_error_window", "limits")


def test_one_parameter_is_shown_even_where_all_agree(works: Path) -> None:
    _, line = told(works, "*/lift", "--parameter", "following_error_window")
    assert line.split("  ")[0] == "Following error window"
    assert line.count("4 mm") == 2


def test_json_names_reference_basis_and_the_odd_ones(works: Path) -> None:
    rows = {row["key"]: row for row in found(works, "*/*")["rows"]}
    row = rows["following_error_time_out"]
    assert (row["reference"], row["basis"]) == ("10 ms", "majority")
    assert row["odd"] == ["glaze-line-1/turntable", "glaze-line-2/turntable"]
    assert row["values"]["glaze-line-1/turntable"]["text"] == "15 ms"
    assert len(row["values"]) == 14
    assert rows["following_error_window"]["reference"] is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["*/nothing"], "0 axes fit '*/nothing'; it takes two"),
        (["glaze-line-1/lift"], "1 axis fits 'glaze-line-1/lift'; it takes two"),
        (["*/lift", "--parameter", "no/such"], "none of these axes has a parameter 'no/such'"),
    ],
)
def test_a_question_that_makes_no_sense_is_wrong_usage(
    works: Path, cli: Cli, words: list[str], said: str
) -> None:
    done = cli("--vault", works, "spread", *words)
    assert (done.code, done.stdout) == (2, "")
    assert said in done.stderr


def test_three_twins_with_one_odd(take: Take, cli: Cli, export_text: Text) -> None:
    for machine, lag in (("m1", "2,5"), ("m2", "2,5"), ("m3", "4,5")):
        take(export_text(lag=lag), to=f"{machine}/lift")
    done = cli("spread", "*/lift")
    assert done.code == 0
    assert done.stdout.splitlines() == [
        "~~ odd: m3/lift: Following error window 4.5 mm, the other 2: 2.5 mm",
        "",
        "                        m1/lift  m2/lift  m3/lift",
        "Following error window  2.5 mm   2.5 mm   * 4.5 mm",
        "The same on all 3 axes: 22 parameters.",
    ]


def test_an_axis_without_a_snapshot_is_left_out(
    take: Take, cli: Cli, export_text: Text, tmp_path: Path
) -> None:
    take(export_text(), to="m1/lift")
    take(export_text(), to="m2/lift")
    (tmp_path / "m3.yaml").write_text("schema: axisvault/axis/1\n")
    assert cli("axis", "set", "m3/lift", "m3.yaml").code == 0
    assert cli("spread", "*/lift", "--json").json["axes"] == ["m1/lift", "m2/lift"]
