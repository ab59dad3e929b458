"""What a comparison finds, as plain structures; how it is shown is decided elsewhere."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from vault.meaning.consequences import CONSEQUENCES
from vault.meaning.margin_moves import MarginMove
from vault.model.parameters import Parameter
from vault.model.quantities import Physical

Kind = Literal["changed", "restated", "shifted", "only_left", "only_right"]


@dataclass(frozen=True, slots=True)
class Difference:
    """Right less left, in `unit`; `relative` to the left, None where that is zero."""

    absolute: Decimal
    relative: Decimal | None
    unit: str | None


@dataclass(frozen=True, slots=True)
class Finding:
    """A computed figure and what it rests on."""

    quantity: str
    value: str
    unit: str | None
    basis: str


@dataclass(frozen=True, slots=True)
class Change:
    """One parameter that differs. Physical values are in SI; None where they cannot be told.

    `explanation` fits two lines, `more` is the rest of it.
    `cause` names what restated or shifted it; `ratio` is a shifted value's size on the right over
    that on the left. `left_default` and `right_default`: the value of that side is its file's
    default, and not stated of the drive.
    """

    kind: Kind
    consequence: str
    left: Parameter | None
    right: Parameter | None
    left_physical: Physical | None = None
    right_physical: Physical | None = None
    difference: Difference | None = None
    volatile: bool = False
    group: str = "device"
    explanation: str = ""
    more: str = ""
    findings: tuple[Finding, ...] = ()
    cause: str | None = None
    ratio: Fraction | None = None
    left_default: bool = False
    right_default: bool = False

    @property
    def shown(self) -> Parameter:
        """The parameter as the right side has it, else the left."""
        found = self.right or self.left
        if found is None:
            raise ValueError("a change without sides")
        return found

    @property
    def is_news(self) -> bool:
        """Whether a reader wants to see it without asking for everything."""
        return self.kind != "restated" and not self.volatile


@dataclass(frozen=True, slots=True)
class Cause:
    """Why values mean something else, or say the same in other numbers.

    `code` is the parameter behind it, or `nameplate`, `mechanics`; `affects` are codes; `shifts`
    tells whether any value means something else.
    """

    name: str
    code: str
    explanation: str
    affects: tuple[str, ...]
    shifts: bool


@dataclass(frozen=True, slots=True)
class Surrounding:
    """A difference in what is no parameter: nameplate, mechanics, cabinet, controller link."""

    path: str
    left: object
    right: object
    consequence: str = "record"
    explanation: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """All differences, worst first, their causes, and how many parameters are equal.

    `margins` are those that all of it together moves.
    """

    changes: tuple[Change, ...]
    equal: int
    causes: tuple[Cause, ...] = ()
    surroundings: tuple[Surrounding, ...] = ()
    margins: tuple[MarginMove, ...] = ()

    @property
    def news(self) -> tuple[Change, ...]:
        """What differs physically, without live values."""
        return tuple(c for c in self.changes if c.is_news)

    @property
    def differs(self) -> bool:
        """Whether there is anything that a reader wants to see."""
        return bool(self.news or self.surroundings)

    @property
    def is_unchanged(self) -> bool:
        """Whether all settings have the same values; live values do not count."""
        return all(c.volatile for c in self.changes)

    def summary(self) -> dict[str, int]:
        """Counts by consequence of what is news, by kind of everything, and of live values."""
        counts = dict.fromkeys((*CONSEQUENCES, "restated", "shifted", "only_left", "only_right"), 0)
        for change in self.news:
            counts[change.consequence] += 1
        for change in self.changes:
            if not change.volatile and change.kind != "changed":
                counts[change.kind] += 1
        counts["equal"] = self.equal
        counts["volatile"] = sum(c.volatile for c in self.changes)
        return counts
