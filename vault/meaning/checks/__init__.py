"""Plausibility of one state: what cannot be right, or will not go well.

A rule is a function that looks at a view and yields complaints. One module per theme; `@rule`
registers, so that adding a rule is adding it to a module here, with no edit elsewhere. Where
something is not known a rule says nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.consequences import rank
from vault.meaning.controller_side import ControllerSide

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing that is not plausible; `look_at` are the codes or places to look at."""

    rule: str
    consequence: str
    sentence: str
    look_at: tuple[str, ...]
    findings: tuple[Finding, ...] = ()


Rule = Callable[["AxisView"], Iterable[Complaint]]
CrossRule = Callable[["AxisView", ControllerSide], Iterable[Complaint]]

_RULES: dict[str, Rule] = {}
_CROSS: set[str] = set()


def rule(function: Rule) -> Rule:
    """Register a rule under its function's name, which people accept findings by: it stays."""
    if function.__name__ in _RULES:
        raise ValueError(f"two rules are called {function.__name__}")
    _RULES[function.__name__] = function
    return function


def cross_rule(function: CrossRule) -> CrossRule:
    """Register a rule that holds the drive's set against the controller's; without one it rests.

    Its name begins with `controller_`.
    """

    def check(view: AxisView) -> Iterable[Complaint]:
        if view.controller is None:
            return ()
        return function(view, ControllerSide(view, view.controller))

    check.__name__ = function.__name__
    check.__doc__ = function.__doc__
    rule(check)
    _CROSS.add(function.__name__)
    return function


@cache
def rules() -> Mapping[str, Rule]:
    """All rules by name, every theme loaded."""
    for module in iter_modules(__path__):
        import_module(f"{__name__}.{module.name}")
    return _RULES


def check(view: AxisView) -> list[Complaint]:
    """Everything that is not plausible about a state, worst first."""
    return _checked(view, rules())


def cross_rules() -> Mapping[str, Rule]:
    """The rules by name that hold the drive's set against the controller's."""
    return {name: function for name, function in rules().items() if name in _CROSS}


def cross_check(view: AxisView) -> list[Complaint]:
    """What does not fit between a drive's state and the controller's beside it, worst first."""
    return _checked(view, cross_rules())


def _checked(view: AxisView, wanted: Mapping[str, Rule]) -> list[Complaint]:
    found: list[Complaint] = []
    for function in wanted.values():
        # Beyond 1e308 nothing is physical, so a rule of motion has no word on it.
        with suppress(OverflowError):
            found += function(view)
    found = [_with_defaults(complaint, view) for complaint in found]
    return sorted(found, key=lambda complaint: rank(complaint.consequence))


def _with_defaults(complaint: Complaint, view: AxisView) -> Complaint:
    """A complaint that says which values nothing states of the drive."""
    codes = [code for code in complaint.look_at if code in view.defaults]
    if not codes:
        return complaint
    verb = "is the file's default" if len(codes) == 1 else "are the file's defaults"
    said = f"{', '.join(codes)} {verb} and not stated of the drive."
    return replace(complaint, sentence=f"{complaint.sentence} {said}")
