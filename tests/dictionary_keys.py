"""Tables of the keys of a dictionary, made from what its schema says of each.

`python -m tests.reference` writes them into the page of the dictionary.
"""

from __future__ import annotations

import re
from pathlib import Path

from pydantic import BaseModel

from vault.model import export_dialect, families

PAGE = Path(__file__).parents[1] / "vault/manual/dictionary.md"
MODELS: dict[str, type[BaseModel]] = {
    model.__name__: model
    for model in (
        families.Family,
        export_dialect.ExportDialect,
        export_dialect.ChannelRule,
        families.ParameterDefinition,
        families.Variant,
        families.Fault,
        families.TraceDialect,
    )
}
_TABLE = re.compile(r"(<!-- keys of (\w+) -->\n).*?(<!-- end of keys -->)", re.DOTALL)


def with_tables(page: str) -> str:
    """The page with its tables as the schema has them."""
    return _TABLE.sub(lambda found: f"{found[1]}\n{table(found[2])}\n{found[3]}", page)


def table(name: str) -> str:
    """The table of one part of a dictionary. Raises KeyError for a key that nobody describes."""
    rows = ["| key | meaning |", "|---|---|"]
    for key, field in MODELS[name].model_fields.items():
        if not field.description:
            raise KeyError(f"{name}.{key} has no description")
        rows.append(f"| `{field.alias or key}` | {field.description.replace('|', chr(92) + '|')} |")
    return "\n".join(rows) + "\n"
