"""Texts that people typed into an option or a form: what was left empty, what must be filled."""

from __future__ import annotations

from vault.model.errors import WrongUsage

_MOST_DIGITS = 6


def text_or_none(text: str | None) -> str | None:
    """What was typed, without blanks around it; None for nothing."""
    return (text or "").strip() or None


def required_text(text: str | None, field: str) -> str:
    """What was typed into a field that must be filled. Raises WrongUsage naming it."""
    typed = text_or_none(text)
    if typed is None:
        raise WrongUsage(f"the field {field!r} is empty")
    return typed


def whole_number(text: str | None, field: str, hint: str | None = None) -> int | None:
    """A number without sign that was typed into a field, None for nothing.

    Raises WrongUsage naming the field.
    """
    typed = text_or_none(text)
    if typed is None:
        return None
    if not (typed.isascii() and typed.isdecimal()) or len(typed) > _MOST_DIGITS:
        raise WrongUsage(f"{field}: {typed[:20]!r} is no such number", hint=hint)
    return int(typed)
