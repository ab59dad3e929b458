"""Paths by which a dictionary names places in XML and JSON: of a record, and within one.

A path is names with `/` between them. Of XML a name is that of an element without its namespace,
`@name` an attribute, and the first is the root element; of JSON it is a key, or the number of an
item of a list, from 0. `*` is any name, `.` the place itself, `~key` the name that a place goes
by, and `..` at the begin what is around it (a list is no level). `Field[@name=Serial]` is the one
that says so. In a path from the root `[]` behind a name stands for each item of a list, `{}` for
each member of an object. A name with a `/` has `~1` for it, one with a `~` has `~0` (RFC 6901).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

_MOST_STEPS = 50
_KEY = "~key"
# A slash within brackets parts no names: `Speed [m/s]`.
_PART = re.compile(r"((?:\[[^\]]*\]|[^/])*)(/|$)")
_STEP = re.compile(
    r"(?P<name>.*?)(?P<where>\[(?P<path>[^\[\]=]+)=(?P<text>[^\[\]]*)\])?(?P<into>(?:\[\]|\{\})*)",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Step:
    """From a place to those that it holds under a name.

    `where` is a path from there and the text it has to lead to; `into` are `[]` and `{}`.
    """

    name: str
    where: tuple[RecordPath, str] | None = None
    into: tuple[str, ...] = ()

    @property
    def is_key(self) -> bool:
        """Whether this leads to the name that the place itself goes by."""
        return self.name == _KEY


@dataclass(frozen=True, slots=True)
class RecordPath:
    """A path: first so many levels up, then down the steps; neither is the place itself."""

    up: int
    steps: tuple[Step, ...]


@lru_cache(maxsize=512)
def root_path(path: str) -> RecordPath:
    """Path of records or of texts, from the root. Raises ValueError with what is wrong."""
    found = _parsed(path)
    if found.up or not found.steps:
        raise ValueError(f"{path!r} does not begin at the root")
    return found


@lru_cache(maxsize=512)
def place_path(path: str) -> RecordPath:
    """Path of one text, from a record. Raises ValueError with what is wrong."""
    found = _parsed(path)
    if any(step.into for step in found.steps):
        raise ValueError(f"{path!r} leads to many places: [] and {{}} belong to the record's path")
    return found


def _parsed(path: str) -> RecordPath:
    parts = [found[1] for found in _PART.finditer(path) if found[1] or found[2]]
    if not parts or path.endswith("/") or len(parts) > _MOST_STEPS:
        raise ValueError(f"{path!r} is no path such as Drive/Parameters/P")
    up = next((n for n, part in enumerate(parts) if part != ".."), len(parts))
    rest = parts[up:]
    if rest == ["."]:
        rest = []
    return RecordPath(up, tuple(_step(part, path, is_first=not n) for n, part in enumerate(rest)))


def _step(part: str, path: str, *, is_first: bool) -> Step:
    found = _STEP.fullmatch(part)
    name, into = (found["name"], found["into"]) if found else ("", "")
    if not name and not (is_first and into):
        raise ValueError(f"{path!r} has a step without a name")
    if name in (".", ".."):
        raise ValueError(f"{path!r} has {name} within it, which may only stand at its begin")
    where = (place_path(found["path"]), found["text"]) if found and found["where"] else None
    if name != _KEY:
        name = name.replace("~1", "/").replace("~0", "~")
    return Step(name, where, tuple(re.findall(r"\[\]|\{\}", into)))
