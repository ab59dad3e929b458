"""What a chosen number means, and a value only if it measures what is asked for.

No explainers of its own: what several themes need to read a view.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.choices import chosen
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

SPEED = ("velocity", "angular_velocity")
RAMP = ("acceleration", "angular_acceleration")
JERK = ("jerk", "angular_jerk")
WAY = ("length", "angle")

INSTEAD = " instead of {before}"
"""Part of many sentences: what the left side has."""
FALLS = "It hangs: until the brake closes the load falls."
NO_MEANING = "The standard gives this number no meaning."


def chosen_in(view: AxisView, role: str) -> int | None:
    """Like `chosen`, for the role of a view."""
    return chosen(view.find(role))


def sized(view: AxisView, role: str, kinds: tuple[str, ...]) -> Physical | None:
    """The value of a role in SI if it is of one of the kinds, else None."""
    return of_kind(view.physical(role), kinds)


def of_kind(size: Physical | None, kinds: tuple[str, ...]) -> Physical | None:
    """A quantity if it is of one of the kinds, else None."""
    return size if size is not None and size.kind in kinds else None


def instead_of(before: str | None, after: str) -> str:
    """The part that gives the left side; empty where there is none, or where it reads the same."""
    return "" if before is None or before == after else INSTEAD.format(before=before)


def lower_first(text: str) -> str:
    """A label in the middle of a sentence."""
    return text[:1].lower() + text[1:]


def upper_first(text: str) -> str:
    """The start of a sentence."""
    return text[:1].upper() + text[1:]
