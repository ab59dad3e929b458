"""`axisvault manual` shows the contents, a topic, or where words stand; no vault is needed."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Outcome

Cli = Callable[..., Outcome]


def test_without_a_topic_the_contents_are_shown(cli: Cli) -> None:
    done = cli("manual")
    assert done.code == 0
    assert done.stdout.startswith("Manual\n======\n")
    assert "glossary: words of drives and ours" in done.stdout


def test_a_topic_is_shown_as_plain_text(cli: Cli) -> None:
    done = cli("manual", "glossary")
    assert done.stdout.startswith("Glossary\n========\n")
    assert "](" not in done.stdout


@pytest.mark.parametrize("words", [["--search", "dc link"], ["dc", "link"]])
def test_words_that_are_no_topic_are_looked_for_in_all(words: list[str], cli: Cli) -> None:
    done = cli("manual", *words)
    assert done.code == 0
    assert "glossary: Words of drives\n" in done.stdout
    assert done.stdout.splitlines()[-1].startswith("Read one: axisvault manual ")


def test_a_name_of_a_topic_can_be_looked_for_too(cli: Cli) -> None:
    assert "names" in cli("manual", "--search", "golden").stdout


def test_words_that_stand_nowhere_are_wrong_usage(cli: Cli) -> None:
    done = cli("manual", "xyzzy")
    assert done.code == 2
    assert done.stderr == (
        "axisvault: the manual says nothing of 'xyzzy' (its topics: axisvault manual)\n"
    )


def test_the_text_of_a_topic_in_json_is_markdown(cli: Cli) -> None:
    told = cli("manual", "names", "--json").json
    assert told["topic"] == "names"
    assert told["text"].startswith("# Names and marks\n")
    assert told["topics"][0] == {"topic": "contents", "title": "Manual"}
