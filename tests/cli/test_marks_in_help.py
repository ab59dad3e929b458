"""What the marks before lines mean stands in the help of the commands that print them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Outcome
from vault.cli.printing import MARKS
from vault.cli.printing_margin_moves import MARKS as MARGIN_MARKS

Cli = Callable[..., Outcome]


@pytest.mark.parametrize("command", ["compare", "check", "history", "drift"])
def test_every_consequence_has_its_mark_in_the_help(command: str, cli: Cli) -> None:
    told = " ".join(cli(command, "--help").stdout.split())
    assert [mark for name, mark in MARKS.items() if f"{mark} {name}" not in told] == []


@pytest.mark.parametrize("command", ["margins", "compare", "spread"])
def test_every_mark_of_a_margin_is_in_the_help(command: str, cli: Cli) -> None:
    told = " ".join(cli(command, "--help").stdout.split())
    assert [mark for mark in MARGIN_MARKS.values() if f"{mark} " not in told] == []


def test_an_unknown_command_is_told_with_one_hint(cli: Cli) -> None:
    said = cli("duty").stderr
    assert said == "axisvault: there is no command 'duty' (axisvault --help)\n"
    assert "did you mean drift?" in cli("drit").stderr
