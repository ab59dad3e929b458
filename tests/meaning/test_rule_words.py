"""Names of rules in words."""

from __future__ import annotations

from vault.meaning.checks import rules
from vault.meaning.rule_words import WORDS, rule_words


def test_only_rules_that_there_are_have_words_of_their_own() -> None:
    assert WORDS.keys() <= rules().keys()


def test_no_two_rules_go_by_the_same_words() -> None:
    assert len({rule_words(rule) for rule in rules()}) == len(rules())


def test_a_name_that_says_enough_is_said_without_its_underscores() -> None:
    assert rule_words("torque_limit") == "torque limit"
