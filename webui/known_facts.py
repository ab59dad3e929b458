"""Facts of a page, each by itself: one that cannot be told is a problem, and holds up no other."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from vault.model.internal_errors import told_apart
from webui.errors import error_text

Fact = TypeVar("Fact")


class KnownFacts:
    """Asks for facts; `problems` are those that cannot be told, with why."""

    def __init__(self) -> None:
        self.problems: list[str] = []

    def ask(self, what: str, look: Callable[[], Fact]) -> Fact | None:
        """A fact, None where it cannot be told."""
        with told_apart(lambda error: self.problems.append(f"{what}: {error_text(error)}"), what):
            return look()
        return None
