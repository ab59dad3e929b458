"""An export made by hand: its content and what it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Wanted = tuple[str, str | None]
"""A value as text, a label where it is a choice, and its unit in our spelling."""


@dataclass(frozen=True, slots=True)
class HandMade:
    """What is read of an export by its draft; `axes` has the values of each where it has several.

    `refused` are texts that must be told as left out; `asks` is a key of the dialect of which
    nobody can be sure; `plate` is part of the nameplate.
    """

    title: str
    content: bytes
    wanted: Mapping[str, Wanted] = field(default_factory=dict)
    file: str = "export.txt"
    axes: Mapping[int, Mapping[str, Wanted]] = field(default_factory=dict)
    refused: tuple[str, ...] = ()
    asks: str = ""
    plate: Mapping[str, str] = field(default_factory=dict)


def text(title: str, lines: str, wanted: Mapping[str, Wanted], **more: object) -> HandMade:
    """An export that is text, in UTF-8 unless `encoding` says another one."""
    encoding = str(more.pop("encoding", "utf-8"))
    content = lines.lstrip("\n").encode(encoding)
    return HandMade(title, content, wanted, **more)  # type: ignore[arg-type]
