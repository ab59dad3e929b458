"""How far long work is: on a terminal, and nowhere else."""

from __future__ import annotations

import sys
from io import StringIO

import pytest

from vault.cli.long_work import progress


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def shown(monkeypatch: pytest.MonkeyPatch, stderr: StringIO) -> str:
    monkeypatch.setattr(sys, "stderr", stderr)
    with progress("Verifying") as update:
        for done in (10, 30, 40):
            update(done, 40)
    return stderr.getvalue()


def test_a_terminal_shows_title_and_share(monkeypatch: pytest.MonkeyPatch) -> None:
    text = shown(monkeypatch, Terminal())
    assert "Verifying" in text
    shares = [text.index(f"{share}%") for share in (25, 75, 100)]
    assert shares == sorted(shares)


def test_what_is_no_terminal_gets_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    assert shown(monkeypatch, StringIO()) == ""
