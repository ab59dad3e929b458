"""JSON schemas of documents, made from their types: what OpenAPI publishes, and tests hold to."""

from __future__ import annotations

import ast
import inspect
import sys
import typing
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import pairwise
from types import UnionType
from typing import Any, Literal, Union

from pydantic import TypeAdapter
from typing_extensions import get_original_bases, is_typeddict

Schema = dict[str, Any]
"""A schema in JSON Schema's own words (2020-12), as OpenAPI 3.1 takes it."""

REFERENCE = "#/components/schemas/{model}"


def schemas(documents: Iterable[object]) -> dict[str, Schema]:
    """Schemas of documents and of all that is in them, by the name of the type.

    Keys may be added to an answer later, so they allow others, but for the empty document.
    """
    found = sorted(documents_within(documents), key=lambda document: document.__name__)
    mode: Literal["serialization"] = "serialization"
    adapters = [(each.__name__, mode, TypeAdapter[Any](each)) for each in found]
    _, whole = TypeAdapter.json_schemas(adapters, ref_template=REFERENCE)
    by_name: dict[str, Schema] = whole["$defs"]
    return {each.__name__: _described(by_name[each.__name__], each) for each in found}


def schema_of(document: object) -> Schema:
    """Where a document's schema is to be found; of a union, where each of them is."""
    members = typing.get_args(document) if _is_union(document) else (document,)
    found = [{"$ref": REFERENCE.format(model=_name(member))} for member in members]
    return found[0] if len(found) == 1 else {"anyOf": found}


def documents_within(documents: Iterable[object]) -> set[type]:
    """The typed documents that some types are made of, themselves included."""
    found: set[type] = set()
    waiting = list(documents)
    while waiting:
        one = waiting.pop()
        if isinstance(one, type) and is_typeddict(one):
            if one not in found:
                found.add(one)
                waiting += typing.get_type_hints(one).values()
        else:
            waiting += typing.get_args(one)
    return found


def _is_union(document: object) -> bool:
    return typing.get_origin(document) in (Union, UnionType)


def _name(document: object) -> str:
    if not (isinstance(document, type) and is_typeddict(document)):
        raise TypeError(f"{document!r} is no typed document")
    return document.__name__


def _described(schema: Schema, document: type) -> Schema:
    """A schema with the meaning of each key, as it is written below the key."""
    properties = schema.get("properties", {})
    meanings = dict(_meanings_of_keys(document))
    for key, value in properties.items():
        value.pop("title", None)
        if key in meanings:
            value["description"] = meanings[key]
    found: Schema = {"type": "object", "description": _meaning(document), "properties": properties}
    if required := schema.get("required"):
        found["required"] = required
    return found if properties else {**found, "additionalProperties": False}


def _meaning(document: type) -> str:
    texts = _texts(document.__module__)
    return _one_line(texts.get(document.__name__, ""))


def _meanings_of_keys(document: type) -> Iterator[tuple[str, str]]:
    for base in get_original_bases(document):
        if isinstance(base, type) and is_typeddict(base):
            yield from _meanings_of_keys(base)
    texts = _texts(document.__module__)
    for key in typing.get_type_hints(document):
        if text := texts.get(f"{document.__name__}.{key}"):
            yield key, _one_line(text)


def _one_line(text: str) -> str:
    return " ".join(text.split())


@cache
def _texts(module: str) -> dict[str, str]:
    """Texts below the names that a module defines, and below the keys of its documents."""
    try:
        tree = ast.parse(inspect.getsource(sys.modules[module]))
    except OSError:  # it was installed without its sources
        return {}
    found = dict(_texts_below(tree.body, ""))
    for statement in tree.body:
        if isinstance(statement, ast.ClassDef):
            found[statement.name] = ast.get_docstring(statement) or ""
            found |= _texts_below(statement.body, f"{statement.name}.")
    return found


def _texts_below(body: list[ast.stmt], prefix: str) -> Iterator[tuple[str, str]]:
    for statement, following in pairwise(body):
        match statement, following:
            case (
                ast.AnnAssign(target=ast.Name(id=name)) | ast.Assign(targets=[ast.Name(id=name)]),
                ast.Expr(value=ast.Constant(value=str(text))),
            ):
                yield prefix + name, text
