"""What a margin says: each has a sentence and places to look at, whatever is added."""

from __future__ import annotations

from math import inf

import pytest

from tests.behaviour.axes import axis
from vault.behaviour.behave import load_themes, margins_of
from vault.behaviour.facts import MARGINS
from vault.meaning.checks import margins as checks
from vault.meaning.margin_sentences import BELOW, amount, below

load_themes()


@pytest.mark.parametrize("name", MARGINS)
def test_every_margin_has_a_sentence_and_a_place(name: str) -> None:
    assert BELOW[name].endswith(".")
    assert name in checks.LOOK_AT or name in checks._ELSEWHERE


def test_what_may_be_less_is_told_as_up_to() -> None:
    # The torque limit decides the way, and friction may help.
    limits = ("max_torque", "positive_torque_limit", "negative_torque_limit")
    weak = axis("lift", **dict.fromkeys(limits, 340))
    margin = margins_of(weak.state)["stop_room"]
    assert margin.bound == "at_least"
    assert "a quick stop takes up to" in below(margin, weak.state)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0.045, "m", "45 mm"), (0.5, "s", "500 ms"), (58.63, "deg", "58.63 deg"),
     (2.0, "N*m", "2 N*m"),
     (inf, "m", "a way without end"), (None, "m", "unknown"), (3.14159265, "rad", "180 deg")],
)  # fmt: skip
def test_a_figure_is_told_in_the_reader_s_unit(value: float | None, unit: str, text: str) -> None:
    assert amount(value, unit) == text
