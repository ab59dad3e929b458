"""The reference of JSON for people, made from the types of the documents.

`python -m tests.reference` writes it, and adds keys that are new to those that are never taken away
(`frozen_keys`); the pages of margins (`margins_page`), commands (`commands_page`) and settings
(`settings_page`) too. Tests hold that all are up to date.
"""

from __future__ import annotations

import re
import tempfile
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests import checks_page, commands_page, dictionary_keys, margins_page, settings_page
from tests.frozen_keys import frozen_keys, grown, keys_of, write_keys
from vault.cli.documents import DOCUMENTS
from vault.jobs.demo.demo import build_demo
from vault.jobs.state.document_parts import ErrorDocument
from webui.documents import HttpErrorDocument
from webui.routes import ROUTES
from webui.schemas import schemas

REFERENCE = Path(__file__).parents[1] / "vault/manual/json.md"
_HEAD = """\
# JSON

Each of these commands prints one JSON document on standard output with `--json`, and nothing else
there; `watch` prints one a line. The viewer gives the same documents below `/api/v1`, and describes
them for programs in `/api/v1/openapi.json`.

- Numbers that must be exact are strings: `"2.5"`. Counts and line numbers are numbers.
- Times are written as RFC 3339 has it, with an offset.
- An axis is named `machine/axis`, a snapshot by its whole id, which is the commit that records it.
- Keys may be added later; none is taken away. A program should pass over what it does not know.
- A key is always there unless it is said that it may be missing; without a value it is `null`.

This page is made from the types that the program itself uses: `python -m tests.reference`.
"""


def reference() -> str:
    """The whole page."""
    every = every_schema()
    parts = [_HEAD, "## Commands\n", *_commands(), "\n## Addresses\n", *_addresses()]
    parts.append("\n## Documents\n\nEach is followed by its parts, where it comes first.\n")
    for name in _in_reading_order(every):
        parts += [f"### {name}\n", f"{every[name]['description']}\n"]
        parts += [*_keys(every[name]), ""]
    return "\n".join(parts).rstrip() + "\n"


def every_schema() -> dict[str, Any]:
    """Schemas of all documents that there are, by name."""
    return schemas(answers())


def answers() -> list[object]:
    """The documents of all commands and addresses."""
    of_routes = [document for route in ROUTES for document in route.documents]
    return [*DOCUMENTS.values(), *of_routes, ErrorDocument, HttpErrorDocument]


def _in_reading_order(every: dict[str, Any]) -> list[str]:
    """Names of documents, each followed by those of its parts."""
    found: dict[str, None] = {}

    def add(name: str) -> None:
        if name not in found:
            found[name] = None
            for part in re.findall(r"schemas/(\w+)", str(every[name])):
                add(part)

    for document in answers():
        for member in typing.get_args(document) or (document,):
            add(member.__name__)
    return list(found)


def _commands() -> Iterator[str]:
    for command, document in DOCUMENTS.items():
        yield f"- `{command}`: {_links(document)}"
    yield f"- any command that fails: {_links(ErrorDocument)}"


def _addresses() -> Iterator[str]:
    for route in ROUTES:
        for method, document in zip(route.offered, route.documents, strict=True):
            yield f"- `{method} /api/v1{route.rule}`: {_links(document)}"
    yield f"- any address that fails: {_links(HttpErrorDocument)}"


def _links(document: object) -> str:
    members = typing.get_args(document) or (document,)
    return " or ".join(_link(member.__name__) for member in members)


def _link(name: str) -> str:
    return f"[{name}](#{name.lower()})"


def _keys(schema: dict[str, Any]) -> Iterator[str]:
    required = schema.get("required", ())
    for key, value in schema["properties"].items():
        may_miss = "" if key in required else ", may be missing"
        meaning = f": {value['description']}" if "description" in value else ""
        yield f"- `{key}` ({_kind(value)}{may_miss}){meaning}"


def _kind(schema: dict[str, Any]) -> str:
    """What a value is, in words."""
    if "$ref" in schema:
        return _link(schema["$ref"].rpartition("/")[2])
    if "anyOf" in schema:
        return " or ".join(map(_kind, schema["anyOf"]))
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        return ", ".join(f"`{one}`" for one in schema["enum"])
    match schema.get("type"):
        case "array":
            return f"list of {_kind(schema['items'])}"
        case "object":
            values = schema.get("additionalProperties")
            return f"object of {_kind(values)} by key" if isinstance(values, dict) else "object"
        case None:
            return "anything"
        case str(name):
            return name
        case other:
            raise ValueError(f"no words for {other!r}")


def main() -> None:
    """Write them all."""
    REFERENCE.write_text(reference(), encoding="utf-8")
    page = dictionary_keys.PAGE.read_text(encoding="utf-8")
    dictionary_keys.PAGE.write_text(dictionary_keys.with_tables(page), encoding="utf-8")
    checks_page.write()
    commands_page.write()
    settings_page.write()
    write_keys(grown(frozen_keys(), keys_of(answers())))
    with tempfile.TemporaryDirectory() as folder:
        build_demo(Path(folder) / "works", lambda done, wanted: None)
        margins_page.write(Path(folder) / "works")


if __name__ == "__main__":
    main()
