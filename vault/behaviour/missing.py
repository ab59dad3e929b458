"""Why a question about an axis has no answer."""

from __future__ import annotations


class Missing(Exception):
    """What must be entered before something can be told: roles, and keys of the axis record."""

    def __init__(self, *names: str) -> None:
        super().__init__(", ".join(names))
        self.names = names


class DoesNotApply(Exception):
    """A question that has no sense for this axis: a load that does not hang is not held."""
