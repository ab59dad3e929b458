"""What a request carries in its address and its form, as plain texts."""

from __future__ import annotations

from flask import request

from vault.meaning.reader import SYSTEMS
from vault.model.errors import WrongUsage
from vault.model.typed_text import required_text, text_or_none

_LONGEST_COUNT = 9


def units() -> str:
    """The units that the reader asked for. Raises WrongUsage."""
    wanted = request.args.get("units", "drive")
    if wanted not in SYSTEMS:
        raise WrongUsage(f"there are no units {wanted!r}", hint=", ".join(SYSTEMS))
    return wanted


def query_arg(name: str) -> str | None:
    """What was asked for in the address, None for nothing."""
    return text_or_none(request.args.get(name))


def count_arg(name: str) -> int:
    """A count that was asked for in the address, 0 for none. Raises WrongUsage."""
    text = request.args.get(name, "0")
    if not (text.isascii() and text.isdigit() and len(text) <= _LONGEST_COUNT):
        raise WrongUsage(f"{text!r} is no count", hint=f"{name}=50")
    return int(text)


def form_field(name: str) -> str | None:
    """What was typed into a field of a form, None for nothing."""
    return text_or_none(request.form.get(name))


def required_field(name: str) -> str:
    """What was typed into a field that must be filled. Raises WrongUsage."""
    return required_text(request.form.get(name), name.replace("_", " "))


def selector(text: str) -> str:
    """A selector that a visitor may use: states of the vault, no files of the server."""
    if text.startswith("file:"):
        raise WrongUsage("a file cannot be named here", hint="MACHINE/AXIS[@WHEN]")
    return text
