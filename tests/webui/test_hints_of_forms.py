"""Hints of the command line in the words of a page."""

from __future__ import annotations

import pytest

from vault.model.errors import WrongUsage
from webui.errors import hint_text


@pytest.mark.parametrize(
    "hint",
    [
        "--reason TEXT",
        "axisvault axis list",
        "axisvault axis list shows what is retired",
        "axisvault ingest FILE --to M/A",
    ],
)
def test_no_hint_on_a_page_speaks_of_the_command_line(hint: str) -> None:
    told = hint_text(WrongUsage("no", hint=hint))
    assert told
    assert "axisvault" not in told
    assert "--" not in told
