"""The manual's page of checks says what the register of rules says."""

from __future__ import annotations

import re

from tests.checks_page import PAGE, checks_page
from vault.meaning.checks import cross_rules, rules


def test_the_page_is_up_to_date() -> None:
    assert PAGE.read_text("utf-8") == checks_page(), "write it: python -m tests.reference"


def test_every_rule_has_one_line_that_says_what_it_looks_at() -> None:
    lines = re.findall(r"^\| `(\w+)` \| (.+) \|$", PAGE.read_text("utf-8"), re.MULTILINE)
    assert sorted(name for name, _ in lines) == sorted(rules())
    assert all(said.endswith(".") for _, said in lines)


def test_rules_across_both_sides_stand_in_their_own_section() -> None:
    section = PAGE.read_text("utf-8").partition("## Drive and controller")[2].partition("\n## ")[0]
    assert set(re.findall(r"^\| `(\w+)`", section, re.MULTILINE)) == cross_rules().keys()
