"""Pages that people print or carry on a phone: one self-contained HTML file each."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from vault.model.visible_text import visible
from vault.model.wording import plural
from vault.model.written_form import day_text, offset_text

if TYPE_CHECKING:
    from datetime import datetime

    from jinja2 import Environment


def render(template: str, **content: Any) -> bytes:
    """Fill in a template, named by its place below `vault/jobs`.

    Everything put into it is text, never markup.
    """
    return _environment().get_template(template).render(**content).encode()


def moment_text(moment: datetime) -> str:
    """A time for people, by the clock where it was noted."""
    return f"{day_text(moment)} {moment:%H:%M} ({offset_text(moment)})"


def grouped(text: str, size: int = 8) -> str:
    """A checksum in groups, to be read out."""
    return " ".join(text[start : start + size] for start in range(0, len(text), size))


def _shown(value: Any) -> Any:
    return visible(value) if type(value) is str else value  # markup was seen to where it was made


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("vault.jobs", "."),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_shown,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"moment": moment_text, "grouped": grouped, "counted": plural}
    return environment
