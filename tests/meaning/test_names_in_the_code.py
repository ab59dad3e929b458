"""Names that the code speaks of exist: a misspelled role, fact or key would be found nowhere, and
silently so.

A name is a text of lower words with `_` or `.` between them. Held against the tables of roles,
units, facts, margins and rules, the keys of the axis record, and the types that list words.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from dataclasses import fields
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType
from typing import Any, Literal, get_args, get_origin

import pytest
from pydantic import BaseModel

import vault.behaviour
import vault.meaning
import vault.meaning.checks
import vault.meaning.explainers
import vault.model
from vault.behaviour.facts import FACTS, MARGINS
from vault.behaviour.scaling import Scaling
from vault.meaning.checks import rules
from vault.meaning.consequences import CONSEQUENCES
from vault.model import roles
from vault.model.axis import AxisRecord
from vault.model.export_dialect import NAMEPLATE_FIELDS
from vault.model.unit_table import SI_UNIT, UNITS

OURS = [
    import_module(f"{package.__name__}.{one.name}")
    for package in (vault.meaning, vault.meaning.checks, vault.meaning.explainers)
    for one in iter_modules(package.__path__)
]
BENEATH = [
    import_module(f"{package.__name__}.{one.name}")
    for package in (vault.behaviour, vault.model)
    for one in iter_modules(package.__path__)
]
OWN = {
    "axis.yaml", "choice_numbers", "controller_unit", "doubled_address", "feed_constant",
    "gear_ratio", "hard_stop", "light_curtain", "multi_turn", "over_travel", "process_data_in",
    "process_data_out", "read_only", "same_ratio", "single_turn", "user_unit",
}  # fmt: skip
"""Names that stand in one module alone: of causes, of rules of a machine, of parts of a name."""
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9]*([._][A-Za-z0-9]+)+")


def keys_of(model: type[BaseModel], before: str = "") -> Iterator[str]:
    """Keys of a record, alone and with their sections before them, and the words they take."""
    for name, field in model.model_fields.items():
        yield from (name, before + name)
        for kind in parts_of(field.annotation):
            if isinstance(kind, type) and issubclass(kind, BaseModel):
                yield from keys_of(kind, f"{before}{name}.")
            elif isinstance(kind, str):
                yield kind


def parts_of(annotation: Any) -> Iterator[Any]:
    """A type and all that it is made of."""
    yield annotation
    for part in get_args(annotation):
        yield from parts_of(part)


def listed(module: ModuleType) -> Iterator[str]:
    """Words of the types of a module that list words."""
    for value in vars(module).values():
        if get_origin(value) is Literal:
            yield from get_args(value)


ROLES = {role.name for role in roles.all_roles()}
KNOWN = {
    *ROLES, *UNITS, *SI_UNIT, *FACTS, *MARGINS, *rules(), *keys_of(AxisRecord), *OWN,
    *NAMEPLATE_FIELDS,
    *(field.name for field in fields(Scaling)),
    *(word for module in (*OURS, *BENEATH) for word in listed(module)),
}  # fmt: skip
each_module = pytest.mark.parametrize("module", OURS, ids=lambda m: m.__name__[14:])


def is_known(name: str) -> bool:
    """Whether a name exists, or begins or ends names of roles."""
    return name in KNOWN or any(
        role.startswith(f"{name}_") or role.endswith(f"_{name}") for role in ROLES
    )


def tree_of(module: ModuleType) -> ast.Module:
    return ast.parse(inspect.getsource(module))


@each_module
def test_every_name_in_a_text_exists(module: ModuleType) -> None:
    texts = {
        node.value
        for node in ast.walk(tree_of(module))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    assert {text for text in texts if _NAME.fullmatch(text) and not is_known(text)} == set()


@each_module
def test_no_constant_is_nothing(module: ModuleType) -> None:
    assert [name for name, value in vars(module).items() if name.isupper() and value is None] == []


_PLACES = {"Explanation": 1, "Complaint": 1, "Surrounding": 3}
"""Where the class stands among the arguments."""


def classes_in(tree: ast.Module) -> Iterator[ast.expr]:
    """Expressions that give a class, or are held against one."""
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name), args=args, keywords=named):
                yield from args[_PLACES[name] : _PLACES[name] + 1] if name in _PLACES else ()
                yield from (one.value for one in named if one.arg == "consequence")
            case ast.Compare(left=left, comparators=[other]) if "consequence" in ast.unparse(left):
                yield other


@each_module
def test_every_class_is_one_of_those_that_are_told(module: ModuleType) -> None:
    for given in classes_in(tree_of(module)):
        chosen = [given.body, given.orelse] if isinstance(given, ast.IfExp) else [given]
        words = {one.value for one in chosen if isinstance(one, ast.Constant)}
        assert words <= {*CONSEQUENCES, None}, ast.unparse(given)
