"""The page of the dictionary names every key that a dictionary may have, and its example is one."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from tests import dictionary_keys
from vault.formats import records
from vault.model import export_dialect, roles
from vault.model.family_doubts import doubts
from vault.store.files import yaml_text
from vault.store.files.edited_files import read_family

PAGE = (Path(__file__).parents[1] / "vault/manual/dictionary.md").read_text(encoding="utf-8")
EXAMPLE, OF_JSON = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)
MODELS = tuple(dictionary_keys.MODELS.values())


def test_the_tables_of_keys_are_up_to_date() -> None:
    assert dictionary_keys.with_tables(PAGE) == PAGE, "write them anew: python -m tests.reference"


@pytest.mark.parametrize("model", MODELS)
def test_every_key_is_on_the_page(model: type[BaseModel]) -> None:
    keys = [field.alias or name for name, field in model.model_fields.items()]
    assert [key for key in keys if f"`{key}`" not in PAGE] == []


def test_no_other_key_is_on_the_page() -> None:
    rows = re.findall(r"^\| (`[^|]+) \|", PAGE, re.MULTILINE)
    named = {key for row in rows for key in re.findall(r"`(\w+)`", row)}
    known = {f.alias or n for model in MODELS for n, f in model.model_fields.items()}
    assert named - known == set()


def test_every_usual_group_is_on_the_page() -> None:
    assert [name for name, _ in roles.GROUPS if f"`{name}`" not in PAGE] == []


def test_the_example_is_a_dictionary_without_a_doubt() -> None:
    family = read_family(EXAMPLE.encode(), "hazel.yaml")
    assert [*doubts(family)] == []
    assert family.parameters["jog/fast"].role is None
    assert "jog/fast" not in family.definitions("2.4")


def test_the_example_of_json_reads_what_stands_below_it() -> None:
    dialect = export_dialect.ExportDialect.model_validate(yaml_text.load(OF_JSON.encode(), "a"))
    (content,) = re.findall(r"^This reads `(.*)`", PAGE, re.MULTILINE)
    found = records.read(content.encode(), file="a", dialect=dialect, channel=1)
    (entry,) = found.entries
    assert (entry.code, str(entry.written), entry.unit) == ("lim/lag", "2.50", "mm")
    assert found.nameplate == {"drive": "HZ-4", "motor": "M-7"}
    assert records.matches(content.encode(), dialect)
