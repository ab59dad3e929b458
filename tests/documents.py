"""Holds an answer against the type of its document: every key that must be there, and no other."""

from __future__ import annotations

import typing
from collections.abc import Iterable, Iterator
from types import NoneType, UnionType
from typing import Any, Literal, NotRequired, Union

from typing_extensions import is_typeddict

from webui.schemas import documents_within


class Seen:
    """Which documents, and which keys of them, answers had."""

    def __init__(self) -> None:
        self._keys: dict[type, set[str]] = {}

    def note(self, document: type, keys: Iterable[str]) -> None:
        self._keys.setdefault(document, set()).update(keys)

    def missing(self, documents: Iterable[object]) -> list[str]:
        """Documents within some, and keys of them, that no answer had."""
        found = []
        for each in sorted(documents_within(documents), key=lambda one: one.__name__):
            keys = set(typing.get_type_hints(each)) - self._keys.get(each, set())
            if each not in self._keys:
                found.append(each.__name__)
            else:
                found += [f"{each.__name__}.{key}" for key in sorted(keys)]
        return found


def problems(value: Any, kind: Any, seen: Seen, where: str = "") -> Iterator[str]:
    """What about a value of JSON is not as a type says."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if kind is object:
        return
    if origin in (Union, UnionType):
        yield from _of_any(value, arguments, seen, where)
    elif is_typeddict(kind):
        yield from _of_document(value, kind, seen, where)
    elif origin is Literal:
        if value not in arguments:
            yield f"{where}: {value!r} is none of {arguments}"
    elif not _is_a(value, NoneType if kind is None else origin or kind):
        yield f"{where}: {value!r} is no {kind}"
    elif origin is list:
        for number, each in enumerate(value):
            yield from problems(each, arguments[0], seen, f"{where}[{number}]")
    elif origin is dict:
        for key, each in value.items():
            yield from problems(each, arguments[1], seen, f"{where}[{key!r}]")


def _of_any(value: Any, kinds: Iterable[Any], seen: Seen, where: str) -> Iterator[str]:
    """The problems with the kind that fits best; none where one of them fits."""
    tried = [(list(problems(value, kind, Seen(), where)), kind) for kind in kinds]
    fewest, kind = min(tried, key=lambda one: len(one[0]))
    yield from fewest or problems(value, kind, seen, where)


def _of_document(value: Any, kind: Any, seen: Seen, where: str) -> Iterator[str]:
    name = kind.__name__
    if not isinstance(value, dict):
        yield f"{where}: {value!r} is no {name}"
        return
    known = typing.get_type_hints(kind)
    seen.note(kind, value.keys())
    yield from (f"{where}: {name} has no key {key}" for key in value.keys() - known.keys())
    yield from (f"{where}: {name} misses {key}" for key in _required(kind) - value.keys())
    for key in value.keys() & known.keys():
        yield from problems(value[key], known[key], seen, f"{where}.{key}")


def _required(kind: Any) -> set[str]:
    """Keys that must be there; `__required_keys__` cannot tell where annotations are texts."""
    hints = typing.get_type_hints(kind, include_extras=True)
    return {key for key, hint in hints.items() if typing.get_origin(hint) is not NotRequired}


def _is_a(value: Any, kind: type) -> bool:
    return isinstance(value, kind) and (kind is bool or not isinstance(value, bool))
