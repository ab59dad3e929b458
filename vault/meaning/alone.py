"""The right state as it were without one change: what the effect of that one is measured from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from vault.meaning.substitution import atom_of

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change


class Alone:
    """The right state without one change at a time; changes that are one thing go together."""

    def __init__(
        self, changes: Iterable[Change], left: AxisView, right: AxisView, *, applies: bool
    ) -> None:
        self._left, self._right = left, right
        self._atoms: dict[str, list[str]] = {}
        self._views: dict[str, AxisView] = {}
        for change in changes if applies else ():
            role = change.shown.role
            if role is not None and change.is_news and left.find(role) and right.find(role):
                self._atoms.setdefault(atom_of(role), []).append(role)

    def without(self, change: Change) -> AxisView | None:
        """The right state without a change; None where it is the left one, or cannot be told."""
        role = change.shown.role
        atom = atom_of(role) if role is not None else ""
        if len(self._atoms) < 2 or role not in self._atoms.get(atom, ()):
            return None
        if atom not in self._views:
            others = {one: self._left.find(one) for one in self._atoms[atom]}
            self._views[atom] = self._right.with_others(others)
        return self._views[atom]
