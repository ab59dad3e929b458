"""Floors of an axis record: margins that must at least be so much, and those not shown to be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from vault.behaviour.behave import load_themes
from vault.behaviour.facts import MARGINS
from vault.meaning.consequences import OF_THEME
from vault.meaning.margin_text import is_below, ratio_text, title_of
from vault.meaning.missing_words import to_enter
from vault.model.near_names import did_you_mean
from vault.model.quantities import plain
from vault.model.wording import capitalised, plural

if TYPE_CHECKING:
    from vault.behaviour.facts import Bound, Margin

Why = Literal["below", "untold", "senseless", "no_margin"]


@dataclass(frozen=True, slots=True)
class UnkeptFloor:
    """A floor under a margin that is not shown to be kept, and why not.

    `below` it, be it only that no more can be shown · `untold`: it cannot be told, or is no more
    than so much · `senseless`: the axis as it is set has no such margin · `no_margin`: there is
    none of that name.
    """

    name: str
    floor: Decimal
    why: Why
    consequence: str
    ratio: float | None = None
    bound: Bound = "unknown"
    missing: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """It in words."""
        if self.why == "no_margin":
            near = did_you_mean(self.name, MARGINS) or "."
            return f"The axis record puts a floor under {self.name!r}, which is no margin{near}"
        title, wanted = capitalised(title_of(self.name)), f"the floor is {plain(self.floor)}"
        if self.why == "senseless":
            return f"{title}: the axis as it is set has no such margin, and {wanted}."
        if self.ratio is None:
            enter = "; ".join(to_enter(name).text for name in self.missing)
            return f"{title}: cannot be told, and {wanted}. Missing: {enter}."
        ratio = ratio_text(self.ratio, self.bound)
        if self.why == "untold":
            return f"{title}: {ratio}, so that nobody can tell whether it is kept; {wanted}."
        return f"{title}: {ratio}, and {wanted}."


def unkept(floors: Mapping[str, Decimal], margins: Mapping[str, Margin]) -> list[UnkeptFloor]:
    """Floors that are not shown to be kept, by the margins of a state."""
    load_themes()
    found = (_unkept(name, floor, margins.get(name)) for name, floor in floors.items())
    return [one for one in found if one is not None]


def no_margins(floors: Mapping[str, Decimal]) -> list[str]:
    """Names under floors that no margin has."""
    load_themes()
    return [name for name in floors if name not in MARGINS]


def _unkept(name: str, floor: Decimal, margin: Margin | None) -> UnkeptFloor | None:
    if name not in MARGINS:
        return UnkeptFloor(name, floor, "no_margin", "record")
    kind = MARGINS[name].kind if margin is None else margin.kind
    consequence = "hazard" if kind == "protects" else OF_THEME[MARGINS[name].theme]
    if margin is None:
        return UnkeptFloor(name, floor, "senseless", consequence)
    ratio, bound = margin.ratio, margin.bound
    if ratio is None:
        return UnkeptFloor(name, floor, "untold", consequence, missing=margin.missing)
    below = is_below(ratio, floor)
    if not below and bound in ("exact", "at_least"):
        return None
    return UnkeptFloor(name, floor, "below" if below else "untold", consequence, ratio, bound)


def counted(floors: tuple[UnkeptFloor, ...]) -> str:
    """How many are not kept, in words: `2 margins below their floors, 1 not known to keep it`."""
    below = sum(one.why == "below" for one in floors)
    rest = len(floors) - below
    told = []
    if below:
        told.append(plural(below, "margin below its floor", "margins below their floors"))
    if rest:
        told.append(plural(rest, "floor not known to be kept", "floors not known to be kept"))
    return ", ".join(told)
