"""The changes to try: which a package allows, and a seeded sample of them.

The changes themselves are mutmut's; what is sampled are places (pieces of code that can be changed)
with one change each, since a call with many arguments can be changed in many ways that say little
more than the first.
"""

from __future__ import annotations

import ast
import difflib
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import libcst as cst
from libcst.metadata import MetadataWrapper, PositionProvider
from mutmut.mutation.mutators import OPERATORS_TYPE, mutation_operators

# What only a type checker reads, or what Python needs before any test can run.
_LEFT_ALONE = (cst.Annotation, cst.Decorator, cst.Import, cst.ImportFrom)
_LEFT_ALONE_CALLS = {"len", "isinstance", "cast", "TypeVar"}


@dataclass(frozen=True)
class Mutant:
    """One change to one file: `code` is the whole file as changed."""

    path: Path  # relative to the checkout
    line: int  # of the file as it stands, from 1; as are the next two
    statement: range  # lines of the innermost statement that is changed
    on_import: bool  # run when the module is imported, not when something is called
    before: tuple[str, ...]  # the changed lines
    after: tuple[str, ...]
    code: str


@dataclass(frozen=True)
class Place:
    """A piece of code that can be changed, and what can be made of it."""

    path: Path
    module: cst.Module
    node: cst.CSTNode
    line: int
    changed: tuple[cst.CSTNode, ...]


def modules_of(root: Path, package: str) -> list[Path]:
    """Files of a package or of one module, by its dotted name, relative to the checkout.

    Raises:
        LookupError: there is no such package or module.
    """
    at = Path(*package.split("."))
    if (root / at).is_dir():
        return sorted(path.relative_to(root) for path in (root / at).rglob("*.py"))
    if (root / at).with_suffix(".py").is_file():
        return [at.with_suffix(".py")]
    raise LookupError(f"no package or module {package}")


def places(root: Path, modules: Iterable[Path]) -> list[Place]:
    """Every piece of code that can be changed, file by file and from top to bottom."""
    return [place for path in modules for place in _places(path, (root / path).read_text("utf-8"))]


def sample(among: list[Place], count: int, seed: int) -> list[Mutant]:
    """At most `count` places and one change of each, the same for the same code and seed."""
    choice = random.Random(seed)
    picked = choice.sample(among, min(count, len(among)))
    mutants = (_mutant(place, choice.choice(place.changed)) for place in picked)
    return sorted(mutants, key=lambda mutant: (mutant.path, mutant.line))


def _negated(condition: cst.BaseExpression) -> cst.BaseExpression:
    return cst.UnaryOperation(
        operator=cst.Not(),
        expression=condition.with_changes(lpar=[cst.LeftParen()], rpar=[cst.RightParen()]),
    )


def _turned_round(node: cst.If | cst.While | cst.CompIf) -> Iterator[cst.CSTNode]:
    """`if a` as `if not (a)`, in a comprehension too."""
    yield node.with_changes(test=_negated(node.test))


def _left_out(node: cst.Expr) -> Iterator[cst.CSTNode]:
    """A call that stands for itself, as `pass`."""
    if isinstance(node.value, cst.Call):
        yield cst.Pass()


def _returns_nothing(node: cst.Return) -> Iterator[cst.CSTNode]:
    """`return a` as `return None`."""
    if node.value and not (isinstance(node.value, cst.Name) and node.value.value == "None"):
        yield node.with_changes(value=cst.Name("None"))


_OPERATORS: OPERATORS_TYPE = [
    *mutation_operators,
    (cst.If, _turned_round),
    (cst.While, _turned_round),
    (cst.CompIf, _turned_round),
    (cst.Expr, _left_out),
    (cst.Return, _returns_nothing),
]


class _Visitor(cst.CSTVisitor):
    METADATA_DEPENDENCIES = (PositionProvider,)

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[cst.CSTNode, int, tuple[cst.CSTNode, ...]]] = []

    def on_visit(self, node: cst.CSTNode) -> bool:
        """Collect what can be made of a node; false where nothing below it is to be changed."""
        if isinstance(node, _LEFT_ALONE) or _is_for_types(node) or _is_prose(node):
            return False
        changed = tuple(
            new for kind, change in _OPERATORS if isinstance(node, kind) for new in change(node)
        )
        if changed:
            line = self.get_metadata(PositionProvider, node).start.line
            self.found.append((node, line, changed))
        return True


def _is_for_types(node: cst.CSTNode) -> bool:
    if isinstance(node, cst.Call) and isinstance(node.func, cst.Name):
        return node.func.value in _LEFT_ALONE_CALLS
    return isinstance(node, cst.If) and getattr(node.test, "value", "") == "TYPE_CHECKING"


def _is_prose(node: cst.CSTNode) -> bool:
    """What people read: a test that holds every word of it would be in the way."""
    return isinstance(node, cst.SimpleString) and " " in node.value


def _places(path: Path, code: str) -> Iterator[Place]:
    visitor = _Visitor()
    module = MetadataWrapper(cst.parse_module(code)).visit(visitor)
    for node, line, changed in visitor.found:
        yield Place(path, module, node, line, changed)


def _mutant(place: Place, new: cst.CSTNode) -> Mutant:
    old_code = place.module.code
    new_code = cst.ensure_type(place.module.deep_replace(place.node, new), cst.Module).code
    lines = list(difflib.unified_diff(old_code.splitlines(), new_code.splitlines(), n=0))[2:]
    statement, on_import = _statement(ast.parse(old_code), place.line)
    return Mutant(
        place.path,
        place.line,
        statement,
        on_import,
        before=tuple(line[1:] for line in lines if line.startswith("-")),
        after=tuple(line[1:] for line in lines if line.startswith("+")),
        code=new_code,
    )


def _statement(tree: ast.Module, line: int) -> tuple[range, bool]:
    """Lines of the innermost statement at a line, of a block its head alone; and whether it runs
    on import."""
    around = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.stmt) and node.lineno <= line <= (node.end_lineno or node.lineno)
    ]
    on_import = not any(
        isinstance(node, ast.FunctionDef) and node.body[0].lineno <= line for node in around
    )
    inner = max(around, key=lambda node: node.lineno)
    body: list[ast.stmt] = getattr(inner, "body", [])
    end = body[0].lineno if body else (inner.end_lineno or inner.lineno) + 1
    lines = range(inner.lineno, max(end, inner.lineno + 1))
    return (lines if line in lines else range(line, line + 1)), on_import
