"""What an input of a block gets: a constant, what it begins with, or what only the running knows.

A literal, a constant, and a variable that has an initial value and that nothing in the project
writes are constants. One that is written somewhere, or that keeps its value over a restart, has an
initial value alone. Everything else is known at run time only: no expression is worked out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Literal as OneOf

from vault.formats.iec_blocks import element_named
from vault.formats.iec_literals import literal
from vault.formats.iec_project import Pou, Project, Variable
from vault.formats.iec_writes import Write, Writes
from vault.model.export import Scalar

Kind = OneOf["constant", "initial", "at run time"]
_DEEPEST = 16
_ELSEWHERE = "(written elsewhere)"
_NOWHERE = Pou("", "program", 1)
_PATH = re.compile(r"[A-Za-z_][A-Za-z0-9_]*(?:\[[^\]]*\]|\.[A-Za-z_0-9]+|#[A-Za-z_0-9]+)*")


@dataclass(frozen=True, slots=True)
class Resolved:
    """What is known of a value: an element of an enumeration is its name.

    `value` of what is known at run time is the expression.
    """

    kind: Kind
    value: Scalar
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Argument:
    """An expression that an input is given, and the program that it stands in."""

    path: str
    expression: str
    line: int
    scope: Scope


@dataclass(slots=True)
class Scope:
    """A program, or a function block within one: `path` is where, `arguments` what it is given."""

    path: str
    pou: Pou
    arguments: list[Argument] = field(default_factory=list)
    _by_input: dict[str, list[Argument]] = field(init=False, default_factory=dict)
    _resolved: dict[str, Resolved] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        for one in self.arguments:
            self._by_input.setdefault(one.path.casefold(), []).append(one)

    def given_to(self, name: str) -> list[Argument]:
        """What an input of it is given from outside."""
        return self._by_input.get(name.casefold(), [])

    def once(self, name: str, resolve: Callable[[], Resolved]) -> Resolved:
        """What an input gets, asked for once: calls within calls would ask again and again."""
        if name not in self._resolved:
            self._resolved[name] = resolve()
        return self._resolved[name]

    def given(self) -> list[Argument]:
        """All that it gives to what is in it, its own and what reaches in from outside."""
        own = [Argument(one.target, one.expression, one.line, self) for one in self.pou.given]
        return own + self.arguments


class Values:
    """Looks values up in one project."""

    def __init__(self, project: Project) -> None:
        self._project = project
        self._writes = Writes(project)

    def given_elsewhere(self, path: str, scope: Scope, known: Iterable[Argument]) -> list[Argument]:
        """What an input of an instance is given beside the places that are known."""
        seen = {_place(one) for one in known}
        found = []
        for one in self._writes.reaching(path, scope.pou, scope.path):
            is_known = (one.pou.name, one.line, one.expression) in seen
            if not is_known and not ("." not in path and _is_of_another(one)):
                expression = one.expression or _ELSEWHERE
                whose = scope if one.pou is scope.pou else Scope(one.pou.name, one.pou)
                found.append(Argument(path, expression, one.line, whose))
        return found

    def one_of(self, arguments: Iterable[Argument]) -> Resolved:
        """What an input gets that several places give something: what all of them agree on."""
        found = [self.resolve(one.expression, one.scope) for one in arguments]
        if all(one == found[0] for one in found):
            return found[0]
        texts = dict.fromkeys(str(one.value) for one in found)
        return Resolved("at run time", " or ".join(texts))

    def resolve(self, expression: str, scope: Scope, depth: int = 0) -> Resolved:
        """What an expression gives in a program."""
        text = _bare(expression)
        if (found := literal(text)) is not None:
            return Resolved("constant", found.value, found.unit)
        if (element := element_named(text)) is not None:
            return Resolved("constant", element)
        if text.startswith("-") and depth < _DEEPEST:
            return _negated(self.resolve(text[1:], scope, depth + 1), text)
        if _PATH.fullmatch(text) is None or depth >= _DEEPEST:
            return Resolved("at run time", text)
        return self._variable(text, scope, depth)

    def _variable(self, path: str, scope: Scope, depth: int) -> Resolved:
        name, *members = path.casefold().split(".")
        own = scope.pou.variables.get(name)
        if own is not None and own.section != "external":
            if members:
                return Resolved("at run time", path)
            if own.section in ("input", "inout") and (given := scope.given_to(name)):
                return scope.once(name, lambda: self._given(name, scope, given, depth))
            return self._initial(own, path, scope, depth)
        last = members[-1] if members else name
        if members:
            found_global = self._project.listed.get(((name, *members)[-2], last))
        else:
            is_one = name not in self._project.twins
            found_global = self._project.globals.get(name) if is_one else None
        if found_global is None:
            return Resolved("at run time", path)
        return self._initial(found_global, path, Scope("", _NOWHERE, []), depth, last)

    def _given(self, name: str, scope: Scope, given: Iterable[Argument], depth: int) -> Resolved:
        """What an input of a function block gets, where all that it is given is the same."""
        found = [self.resolve(one.expression, one.scope, depth + 1) for one in given]
        alike = all(one == found[0] for one in found)
        alike = alike and not self.given_elsewhere(name, scope, given)
        return found[0] if alike else Resolved("at run time", name)

    def _initial(
        self, variable: Variable, path: str, scope: Scope, depth: int, name: str = ""
    ) -> Resolved:
        if variable.initial is None:
            return Resolved("at run time", path)
        writes = self._writes.reaching(name or path, scope.pou, scope.path)
        is_written = next(iter(writes), None) is not None
        found = self.resolve(variable.initial, scope, depth + 1)
        if found.kind == "at run time":
            return Resolved("at run time", path)
        if not variable.is_constant and (is_written or variable.is_held):
            return Resolved("initial", found.value, found.unit)
        return found

    def axis_names(self, expression: str, scope: Scope, depth: int = 0) -> tuple[str, ...]:
        """Names of an axis reference; of an input the names of what it is given."""
        text = _bare(expression)
        own = scope.pou.variables.get(text.casefold())
        names = [text]
        if own is not None and own.section in ("input", "inout") and depth < _DEEPEST:
            for one in scope.given_to(text)[-1:]:
                names = [*self.axis_names(one.expression, one.scope, depth + 1)]
        return tuple(dict.fromkeys(names))


def _bare(text: str) -> str:
    text = text.strip()
    while text.startswith("(") and text.endswith(")") and text.count("(") == text.count(")") == 1:
        text = text[1:-1].strip()
    return text


def _negated(found: Resolved, text: str) -> Resolved:
    if found.kind == "at run time" or isinstance(found.value, str):
        return Resolved("at run time", text)
    return Resolved(found.kind, -found.value, found.unit)


def _is_of_another(write: Write) -> bool:
    """Whether a program gives something to an instance of its own, by its name and no index.

    What the holder of a block gives to it is known; any other gives it to one that is called alike.
    """
    first = write.pou.variables.get(write.steps[0])
    return first is not None and first.section == "local" and bool(write.expression)


def _place(argument: Argument) -> tuple[str, int, str]:
    return argument.scope.pou.name, argument.line, argument.expression
