"""The manual names all that the program takes and gives: commands, options, keys, settings."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from dataclasses import is_dataclass
from pathlib import Path
from typing import Any

import click
import pytest
from pydantic import BaseModel

from tests import commands_page, dictionary_keys, settings_page
from tests.reference import every_schema
from vault.model.axis import AxisRecord
from vault.model.machine import MachineRecord
from vault.model.site import SiteRecord
from vault.model.watch_rules import WatchRules

MANUAL = Path(__file__).parents[1] / "vault/manual"


def page(name: str) -> str:
    return (MANUAL / f"{name}.md").read_text(encoding="utf-8")


def test_the_pages_of_commands_and_settings_are_up_to_date() -> None:
    anew = "write them anew: python -m tests.reference"
    assert commands_page.commands_page() == page("commands"), anew
    assert settings_page.settings_page() == page("settings"), anew


def test_every_command_and_every_option_is_on_the_page_of_commands() -> None:
    text = page("commands")
    for path, command in commands_page.commands():
        assert f"\n## {path}\n" in text
        section = text.partition(f"\n## {path}\n")[2].partition("\n## ")[0]
        options = [one for one in command.params if isinstance(one, click.Option)]
        names = [name for one in options for name in (*one.opts, *one.secondary_opts)]
        assert [name for name in names if name not in section] == [], path


def test_every_key_of_every_answer_is_on_the_page_of_json() -> None:
    text = page("json")
    for name, schema in every_schema().items():
        section = text.partition(f"\n### {name}\n")[2].partition("\n### ")[0]
        assert [key for key in schema["properties"] if f"- `{key}` (" not in section] == [], name


def test_every_key_of_a_dictionary_is_on_its_page() -> None:
    text = page("dictionary")
    models = dictionary_keys.MODELS.values()
    keys = {field.alias or name for one in models for name, field in one.model_fields.items()}
    assert [key for key in sorted(keys) if f"`{key}`" not in text] == []


def schemas(kind: Any) -> Iterator[Any]:
    """Every schema within a type, however deep."""
    if is_dataclass(kind) and kind.__module__ == "vault.model.hazard_policy":
        yield kind
    elif isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
        for field in kind.model_fields.values():
            yield from schemas(field.annotation)
    for inner in typing.get_args(kind):
        yield from schemas(inner)


@pytest.mark.parametrize("file", [SiteRecord, AxisRecord, MachineRecord, WatchRules])
def test_every_key_of_a_file_that_people_write_is_on_the_page_of_settings(file: Any) -> None:
    text = page("settings")
    found = {*schemas(file)}
    assert found
    for model in found:
        if is_dataclass(model):
            keys = [key for key, _, _ in settings_page.fields_of(model)]
        else:
            keys = [field.alias or name for name, field in model.model_fields.items()]
        told = [f"`{key}`" in text or f"\n### {key}\n" in text for key in keys]
        assert all(told), (model.__name__, keys)
