"""Keys of JSON that others may rely on: those that ever were, by the name of their document.

`json_keys.json` holds them. `python -m tests.reference` adds keys that are new and takes none away;
a test holds the types against it. A document that gets another name keeps its keys in answers, so
move its line by hand then.
"""

from __future__ import annotations

import json
import typing
from collections.abc import Iterable
from pathlib import Path

from webui.schemas import documents_within

KEYS_FILE = Path(__file__).with_name("json_keys.json")
Keys = dict[str, list[str]]
"""Keys in order of the alphabet, by the name of a document."""


def keys_of(documents: Iterable[object]) -> Keys:
    """The keys that some documents, and all that is in them, have by their types."""
    found = sorted(documents_within(documents), key=lambda one: one.__name__)
    return {each.__name__: sorted(typing.get_type_hints(each)) for each in found}


def frozen_keys() -> Keys:
    """The keys that there ever were."""
    found: Keys = json.loads(KEYS_FILE.read_text(encoding="utf-8"))
    return found


def grown(frozen: Keys, present: Keys) -> Keys:
    """What was frozen, and what is new."""
    return {
        name: sorted({*frozen.get(name, ()), *present.get(name, ())})
        for name in sorted({*frozen, *present})
    }


def taken_away(frozen: Keys, present: Keys) -> list[str]:
    """Documents, and keys of them, that were frozen and are not there any more."""
    gone = [name for name in frozen if name not in present]
    return gone + [
        f"{name}.{key}"
        for name, keys in frozen.items()
        for key in keys
        if name in present and key not in present[name]
    ]


def write_keys(keys: Keys) -> None:
    """Write the file, a line for each document."""
    lines = ",\n".join(f" {json.dumps(name)}: {json.dumps(each)}" for name, each in keys.items())
    KEYS_FILE.write_text(f"{{\n{lines}\n}}\n", encoding="utf-8")
