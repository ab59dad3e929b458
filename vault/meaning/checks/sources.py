"""What rules rest on: the places to look at. No rules of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


def codes(view: AxisView, *roles: str) -> tuple[str, ...]:
    """Codes of the parameters that have these roles."""
    found = (view.find(role) for role in roles)
    return tuple(parameter.code for parameter in found if parameter is not None)
