"""Axes side by side by margin, as text, JSON and page; the works are invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from statistics import median

import pytest

from tests.conftest import Outcome
from tests.jobs.inspect.test_margins import set_record
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]


@pytest.fixture
def slow_lift(plant: Vault, tmp_path: Path) -> Vault:
    """The works with a lift that is built for half the speed that its set allows, 400 mm/s."""
    change = ("max_speed: 400 mm/s", "max_speed: 200 mm/s")
    set_record(plant, tmp_path, "glaze-line-1/lift", change)
    return plant


def test_ratios_are_those_of_each_axis(plant: Vault, cli: Cli) -> None:
    found = cli("spread", "*/lift", "--margins", "--json").json
    assert found["axes"] == ["glaze-line-1/lift", "glaze-line-2/lift"]
    for axis in found["axes"]:
        own = {row["name"]: row["ratio"] for row in cli("margins", axis, "--json").json["margins"]}
        told = {
            r["name"]: r["values"][axis]["ratio"] for r in found["margins"] if axis in r["values"]
        }
        assert told == own


def test_who_is_short_or_far_from_the_others_is_odd(plant: Vault, cli: Cli) -> None:
    rows = cli("spread", "glaze*", "--margins", "--json").json["margins"]
    (room,) = (row for row in rows if row["name"] == "stop_room")
    ratios = {axis: float(one["ratio"]) for axis, one in room["values"].items()}
    middle = median(ratios.values())
    assert float(room["median"]) == pytest.approx(middle)
    assert room["short"] == [axis for axis, ratio in ratios.items() if ratio < 1]
    far = [a for a, r in ratios.items() if r > middle * 1.25 or r * 1.25 < middle]
    assert len(far) < len(ratios) / 2
    assert room["odd"] == [axis for axis in ratios if axis in room["short"] or axis in far]
    odd = [row for row in rows if row["odd"]]
    assert odd
    assert rows[: len(odd)] == odd


def test_the_text_tells_the_odd_ones_of_each_margin_and_counts_the_rest(
    slow_lift: Vault, cli: Cli
) -> None:
    """6000 r/min through a gear of 4 on a screw of 16 mm are 400 mm/s, of which 320 are asked."""
    out = cli("spread", "glaze*", "--margins").stdout
    assert "spray-carriage: 400 mm/s against 320 mm/s" not in out, "it holds, and few are alike"
    assert "!! 0.5  glaze-line-1/lift: 200 mm/s against 400 mm/s, far from the others\n" in out
    assert (
        "ok at least 2.08  glaze-line-1/belt-feed: 500 ms against 240 ms, far from the others\n"
    ) in out
    (rest,) = re.findall(r"^(\d+) margins have no odd axis; --all lists them\.$", out, re.MULTILINE)
    every = cli("spread", "glaze*", "--margins", "--all").stdout
    assert "no odd axis" not in every
    names = re.compile(r"^(\w+): [a-z0-9]", re.MULTILINE)
    assert len(names.findall(every)) == len(names.findall(out)) + int(rest)


def test_of_axes_of_all_kinds_few_are_odd_and_no_line_is_too_wide(plant: Vault, cli: Cli) -> None:
    rows = cli("spread", "*", "--margins", "--json").json["margins"]
    assert [row["name"] for row in rows if 2 * len(row["odd"]) > len(row["values"]) > 2] == []
    out = cli("spread", "*", "--margins").stdout
    assert [line for line in out.splitlines() if len(line) > 100] == []
    assert "?! at least 0.707  kiln-loader/shuttle: 230 mm against 325.4 mm" in out


def test_margins_and_one_parameter_do_not_go_together(plant: Vault, cli: Cli) -> None:
    done = cli("spread", "*/lift", "--margins", "--parameter", "0x6065:00")
    assert done.code == 2
    assert "do not go together" in done.stderr
    assert cli("spread", "*/nothing", "--margins").code == 2


def test_the_page_marks_them_in_words(slow_lift: Vault, cli: Cli) -> None:
    client = create_app(slow_lift.repository.path, is_local=True).test_client()
    address = "/spread?pattern=glaze*&margins=1"
    text = client.get(address).text
    (row,) = re.findall(
        r"<tr>(<th scope=\"row\">What the machine is built for.*?)</tr>",
        text,
        re.DOTALL,
    )
    cells = [" ".join(re.sub(r"<[^>]+>", " ", one).split()) for one in row.split("<td")[2:]]
    assert len(cells) == 10
    assert cells[0].startswith('data-head="glaze-line-1/lift"'), "who is short comes first"
    assert "0.5 ▼ short" in cells[0]
    assert (
        client.get(f"/api/v1{address}").json == cli("spread", "glaze*", "--margins", "--json").json
    )
