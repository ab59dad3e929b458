"""Axes side by side by margin, as text, JSON and page; the works are invented."""

from __future__ import annotations

import re
from collections.abc import Callable
from statistics import median

import pytest

from tests.conftest import Outcome
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]


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
    assert room["odd"] == [axis for axis in ratios if axis in room["short"] or axis in far]
    assert "glaze-line-1/spray-carriage" in room["odd"]  # 1.31 among 0.85 to 0.91
    assert "glaze-line-1/spray-carriage" not in room["short"]


def test_the_text_tells_the_odd_ones_of_each_margin_and_counts_the_rest(
    plant: Vault, cli: Cli
) -> None:
    out = cli("spread", "glaze*", "--margins").stdout
    assert (
        "ok 1.31  glaze-line-1/spray-carriage: 30 mm against 22.89 mm, far from the others" in out
    )
    assert "!! 0.872  glaze-line-1/lift: 25 mm against 28.67 mm\n" in out
    (rest,) = re.findall(r"^(\d+) margins have no odd axis; --all lists them\.$", out, re.MULTILINE)
    every = cli("spread", "glaze*", "--margins", "--all").stdout
    assert "no odd axis" not in every
    names = re.compile(r"^(\w+): [a-z0-9]", re.MULTILINE)
    assert len(names.findall(every)) == len(names.findall(out)) + int(rest)


def test_margins_and_one_parameter_do_not_go_together(plant: Vault, cli: Cli) -> None:
    done = cli("spread", "*/lift", "--margins", "--parameter", "0x6065:00")
    assert done.code == 2
    assert "do not go together" in done.stderr
    assert cli("spread", "*/nothing", "--margins").code == 2


def test_the_page_marks_them_in_words(plant: Vault, cli: Cli) -> None:
    client = create_app(plant.repository.path, is_local=True).test_client()
    address = "/spread?pattern=glaze*&margins=1"
    text = client.get(address).text
    (row,) = re.findall(
        r"<tr>(<th scope=\"row\">Room behind the software limits against a quick.*?)</tr>",
        text,
        re.DOTALL,
    )
    cells = [" ".join(re.sub(r"<[^>]+>", " ", one).split()) for one in row.split("<td")[2:]]
    assert len(cells) == 10
    assert "0.872 ▼ short" in cells[1]
    assert "1.31 far off" in cells[3]
    assert (
        client.get(f"/api/v1{address}").json == cli("spread", "glaze*", "--margins", "--json").json
    )
