"""Words that follow a number or a name: plurals, articles, capitals at the head of a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.written_form import marked

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import timedelta


def plural(count: int, noun: str, many: str | None = None) -> str:
    """A number of things in words, thousands apart; `many` where an s does not do.

    A verb goes along with its noun: `plural(n, "axis differs", "axes differ")`.
    """
    return f"{marked(f'{count:,}')} {noun if count == 1 else many or noun + 's'}"


def with_article(noun: str) -> str:
    """The noun with `a`, or with `an` before a vowel."""
    return f"{'an' if noun[:1] in 'aeiou' else 'a'} {noun}"


def capitalised(text: str) -> str:
    """The text with a capital first; names further on stay as they are written."""
    return text[:1].upper() + text[1:]


def listed(names: Sequence[str]) -> str:
    """The names one after the other, `and` before the last."""
    *others, last = names or ("",)
    return f"{', '.join(others)} and {last}" if others else last


def span_text(span: timedelta) -> str:
    """How long, in the largest unit of which there are two or more, rounded down."""
    seconds = int(span.total_seconds())
    for noun, size in (("day", 86400), ("hour", 3600), ("minute", 60)):
        if seconds >= 2 * size:
            return plural(seconds // size, noun)
    return plural(seconds, "second") if seconds else "less than a second"
