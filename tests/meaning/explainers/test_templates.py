"""The wording of the explainers: templates at the top of each theme's module, collected and read.

A template is a constant in capitals, or an entry of one that is a table. A part `{instead}` is
filled from the module's template INSTEAD where there is one, else with a figure.
"""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from importlib import import_module
from pkgutil import iter_modules
from string import Formatter
from types import ModuleType
from typing import NamedTuple

import pytest

from vault.meaning import (
    causes,
    checks,
    explainers,
    joint,
    judging,
    surrounding_consequences,
    surrounding_effects,
)
from vault.meaning.judging import SENTENCE, TWO_LINES

pytestmark = pytest.mark.sweep(4)

MODULES = [
    *(
        import_module(f"{package.__name__}.{one.name}")
        for package in (explainers, checks)
        for one in iter_modules(package.__path__)
    ),
    explainers,
    judging,
    joint,
    causes,
    surrounding_effects,
    surrounding_consequences,
]
FIGURE = "1,184.5 mm/s^2"
"""What stands for a part that is no template; long for a figure."""
WORDS = {
    "category": "at most like a controlled stop with power kept, category 2 of IEC 60204-1",
    "event": "a fault has gone",
    "instead": " instead of 1,184.5 mm/s^2",
    "function": "positive over-travel",
    "places": "0.5 mm at the profile speed of 200 mm/s and 1 mm at the maximum speed of 433.3 mm/s",
    "lower": "-1,184.5 mm",
    "upper": "1,184.5 mm",
    "label": "stop on the quick-stop ramp, then hold with power on",
    "mode": "cyclic synchronous position",
    "before": "cyclic synchronous velocity",
    "way": "; at the profile speed of 433.3 mm/s the axis makes 1,184.5 mm in that time",
    "shortage": ", but between software limit and hard stop at the positive end there are only 45 "
    "mm",
    "parts": "a stop from the highest speed gives back up to 124.7 J, lowering the load over the "
    "stroke gives back 1,333 J, at up to 586.8 W",
    "why": "From 433.3 mm/s a quick stop takes up to 122.3 mm, but between software limit and hard "
    "stop there are only 45 mm.",
}  # fmt: skip
"""Parts that are words."""


class Template(NamedTuple):
    """A template, its constant, and its key where that is a table."""

    module: ModuleType
    name: str
    key: object
    text: str

    def __str__(self) -> str:
        place = f"{self.module.__name__.rpartition('.')[2]}.{self.name}"
        return place if self.key is None else f"{place}[{self.key!r}]"


def tree_of(module: ModuleType) -> ast.Module:
    return ast.parse(inspect.getsource(module))


def collected(module: ModuleType) -> Iterator[Template]:
    """Templates that a module itself has: a text with a blank is wording, one without a name."""
    for node in tree_of(module).body:
        if not isinstance(node, ast.Assign) or not isinstance(node.targets[0], ast.Name):
            continue
        name = node.targets[0].id
        value = vars(module)[name]
        entries = value if isinstance(value, dict) else {None: value}
        texts = [text for text in entries.values() if isinstance(text, str)]
        if name.isupper() and any(" " in text for text in texts):
            for key, text in entries.items():
                yield Template(module, name, key, text)


TEMPLATES = [template for module in MODULES for template in collected(module)]
each = pytest.mark.parametrize("template", TEMPLATES, ids=str)
each_module = pytest.mark.parametrize(
    "module", MODULES, ids=lambda m: m.__name__.rpartition(".")[2]
)


def parts(text: str) -> list[str]:
    """Names of a template's parts."""
    return [name for _, name, _, _ in Formatter().parse(text) if name is not None]


def filled(template: Template, within: frozenset[str] = frozenset()) -> str:
    """A template with its parts filled, from tables with the longest entry."""
    values, within = {}, within | {template.name}
    for part in parts(template.text):
        known = vars(template.module).get(part.upper())
        if part in WORDS or not isinstance(known, str | dict) or part.upper() in within:
            values[part] = WORDS.get(part, FIGURE)
            continue
        texts = known.values() if isinstance(known, dict) else [known]
        found = [filled(Template(template.module, part.upper(), None, t), within) for t in texts]
        values[part] = max(found, key=len)
    return template.text.format(**values)


def test_every_theme_that_says_something_has_templates() -> None:
    silent = set(MODULES) - {template.module for template in TEMPLATES}
    assert {module.__name__.rpartition(".")[2] for module in silent} <= SAY_NOTHING


@each
def test_a_template_has_named_parts_alone(template: Template) -> None:
    fields = [field for _, *field in Formatter().parse(template.text) if field[0] is not None]
    assert all(name.isidentifier() and not spec and not sign for name, spec, sign in fields)


@each
def test_no_sentence_is_longer_than_two_lines(template: Template) -> None:
    assert max(map(len, SENTENCE.split(filled(template)))) <= TWO_LINES


# Units are those of `vault.model.unit_table`; words those of the design's vocabulary.
SPELLED_OTHERWISE = re.compile(
    r"\b(Nm|N·m|rpm|RPM|RMS|rms|secs?|msec|degrees?|millimetres?|per mille|percent|"
    r"[Oo]vertravel|[Oo]ver-?speed|[Oo]vervoltage|[Tt]imeout|[Ss]et-?points?|"
    r"brake resistor)\b|[°‰μ]"
)
SAYS_WHEN = re.compile(r"\b(became|now|no longer|again)\b")
"""Of two axes nothing is later; `judging` and `joint` tell both."""
OF_ONE_AXIS = {"causes.FITTED['counted anew']"}
"""What is said of one axis over time alone."""


@each
def test_units_and_terms_are_spelled_one_way(template: Template) -> None:
    assert not SPELLED_OTHERWISE.search(template.text)


@each
def test_no_template_says_when(template: Template) -> None:
    assert str(template) in OF_ONE_AXIS or not SAYS_WHEN.search(template.text)


@each
def test_what_begins_as_a_sentence_ends_as_one(template: Template) -> None:
    text = template.text
    assert text[0].islower() or not text[0].isalpha() or text.endswith((".", "{why}"))
    assert "  " not in text
    assert ".." not in text


# ----- how the modules use them

BESIDE_PHYSICS = ("figure", "_figure", "Figure", "finding", "Finding")
"""How calls begin whose words are names of figures and formulas, and no sentences."""
SAY_NOTHING = {"floors", "margins"}
"""Checks whose words are those of the margins."""


@each_module
def test_every_template_is_used(module: ModuleType) -> None:
    used = {
        node.id if isinstance(node, ast.Name) else node.name
        for other in MODULES
        for node in ast.walk(tree_of(other))
        if (isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load))
        or (isinstance(node, ast.alias) and other is not module)
    }
    assert not {template.name for template in collected(module)} - used


@each_module
def test_every_entry_of_a_table_is_used(module: ModuleType) -> None:
    """Of tables whose entries are picked by a key that stands there."""
    picked: dict[str, list[ast.expr]] = {}
    for node in ast.walk(tree_of(module)):
        if isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name):
            picked.setdefault(node.value.id, []).append(node.slice)
    unused = []
    for name, slices in picked.items():
        if any(not isinstance(one, ast.Constant | ast.IfExp) for one in slices):
            continue
        keys = {n.value for one in slices for n in ast.walk(one) if isinstance(n, ast.Constant)}
        entries = [template for template in collected(module) if template.name == name]
        unused += [str(template) for template in entries if template.key not in keys]
    assert not unused


@each_module
def test_every_template_is_filled_with_its_parts_and_no_more(module: ModuleType) -> None:
    for function in tree_of(module).body:
        filled_in = dict(fillings(function))
        chosen_first = [names for value, names in filled_in.items() if not parts_of(module, value)]
        for node in ast.walk(function):
            if not isinstance(node, ast.Name | ast.Subscript) or not isinstance(node.ctx, ast.Load):
                continue
            wanted, where = parts_of(module, node), f"{ast.unparse(node)}, line {node.lineno}"
            if node in filled_in:
                assert not wanted or filled_in[node] in (wanted, {None}), where
            elif wanted:  # one of several is chosen, and filled by another name
                assert any(wanted <= names or None in names for names in chosen_first), where


def fillings(function: ast.stmt) -> Iterator[tuple[ast.expr, set[str | None]]]:
    """What is filled in a function, and the parts that are given; None for a mapping of them."""
    for node in ast.walk(function):
        match node:
            case ast.Call(
                func=ast.Attribute(value=value, attr="format"), args=args, keywords=named
            ):
                assert not args, ast.unparse(node)
                yield value, {keyword.arg for keyword in named}


def parts_of(module: ModuleType, value: ast.expr) -> set[str]:
    """Names of the parts of the templates that an expression may be."""
    match value:
        case ast.Name(id=name) if name.isupper() and isinstance(vars(module).get(name), str):
            texts = [vars(module)[name]]
        case ast.Subscript(value=ast.Name(id=name), slice=picked) if name.isupper():
            keys = {n.value for n in ast.walk(picked) if isinstance(n, ast.Constant)}
            table = vars(module).get(name)
            entries = table.items() if isinstance(table, dict) else ()
            texts = [str(text) for key, text in entries if not keys or key in keys]
        case _:
            texts = []
    return {part for text in texts for part in parts(text)}


@each_module
def test_no_wording_stands_in_a_function(module: ModuleType) -> None:
    assert not [
        text
        for node in tree_of(module).body
        if isinstance(node, ast.FunctionDef)
        for text in wording(node)
    ]


_WORDS = re.compile(r"^[^=|/^]*[a-z],? [a-z][^=|/^]*$")
"""More than one word, and no formula."""


def wording(node: ast.AST) -> Iterator[str]:
    """Texts of two words and more in a function.

    But for docstrings, defaults, figures, keys and names.
    """
    for child in ast.iter_child_nodes(node):
        match child:
            case ast.Expr(value=ast.Constant()) | ast.Raise() | ast.Subscript() | ast.Compare():
                continue
            case ast.arguments():
                continue
            case ast.Call(func=ast.Name(id=name)) if name.startswith(BESIDE_PHYSICS):
                continue
            case ast.Constant(value=str(text)) if _WORDS.search(text):
                yield text
            case _:
                yield from wording(child)
