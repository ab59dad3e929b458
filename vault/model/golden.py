"""The golden baseline of an axis: the approved snapshot, and the waivers that allow exceptions."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.model.bounds import MOST_TYPED, OutOfBounds
from vault.model.errors import WrongUsage
from vault.model.quantities import Measure, UnknownUnit, convert, same_kind
from vault.model.written_form import day_text, form, marked

if TYPE_CHECKING:
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

ANY = "any"
_HINT = 'write it like "4.5..6 mm", "..6 mm", "5 mm", a label such as "Ramp down", or any'


@dataclass(frozen=True, slots=True)
class Allowance:
    """What a waiver allows: anything, a range with its bounds, or one text or label.

    A bound without a unit is in the parameter's own. `unknown` is why it allows nothing: one that
    was kept with a number that nobody reckons with.
    """

    text: str
    low: Measure | None = None
    high: Measure | None = None
    unknown: str | None = None

    @property
    def is_any(self) -> bool:
        """Whether any value is allowed, and none too."""
        return self.text == ANY

    @property
    def bounds(self) -> tuple[Measure, ...]:
        """The bounds there are; none where a text is allowed, or anything."""
        return tuple(bound for bound in (self.low, self.high) if bound is not None)

    @classmethod
    def typed(cls, text: str) -> Allowance:
        """Read what a person types, as `parse` does, with the site's decimal mark."""
        found = cls.parse(text, Measure.typed)
        if not found.bounds or form().decimal == "point":
            return found
        ends = ["" if bound is None else str(bound) for bound in (found.low, found.high)]
        return replace(found, text=ends[0] if found.low is found.high else "..".join(ends))

    @property
    def told(self) -> str:
        """What is allowed, for people."""
        if not self.bounds or form().decimal == "point":
            return self.text
        return marked(self.text.replace("..", "\0")).replace("\0", "..")

    @classmethod
    def parse(cls, text: str, read: Callable[[str], Measure] = Measure.parse) -> Allowance:
        """Read `4.5..6 mm`, `..6 mm`, `5 mm`, `any`, or a label. Raises WrongUsage."""
        text = " ".join(text.split())
        if len(text) > MOST_TYPED:
            raise WrongUsage(f"a waiver takes at most {MOST_TYPED} characters", hint=_HINT)
        if not text:
            raise WrongUsage("a waiver must say what it allows", hint=_HINT)
        if text.casefold() == ANY:
            return cls(ANY)
        first, dots, last = text.partition("..")
        try:
            if not dots:
                only = read(text) if text[0] in "+-.0123456789" else None
                return cls(text, only, only)
            low = read(first) if first.strip() else None
            high = read(last) if last.strip() else None
            return cls(text, *_alike(low, high, text))
        except (ValueError, UnknownUnit) as error:
            raise WrongUsage(f"{text!r} allows nothing: {error}", hint=_HINT) from error

    @classmethod
    def kept(cls, text: str) -> Allowance:
        """Read what a vault has, as `parse`; what is out of bounds is unknown and no error."""
        try:
            return cls.parse(text)
        except WrongUsage as error:
            if not isinstance(error.__cause__, OutOfBounds):
                raise
            return cls(text, unknown=f"it allows nothing: {error.__cause__}")

    def fits(self, parameter: Parameter, size: Physical | None) -> bool:
        """Whether bounds and parameter measure the same kind of thing."""
        return all(place(bound, parameter, size) is not None for bound in self.bounds)

    def covers(self, parameter: Parameter | None, size: Physical | None) -> bool:
        """Whether a value is allowed; the bounds themselves are.

        `size` is what the value really amounts to in SI, where that is known; it decides.
        """
        if self.is_any:
            return True
        if parameter is None or self.unknown:
            return False
        if not self.bounds:
            text = parameter.label or parameter.value
            return isinstance(text, str) and text.casefold() == self.text.casefold()
        low = place(self.low, parameter, size) if self.low is not None else 0
        high = place(self.high, parameter, size) if self.high is not None else 0
        return low is not None and high is not None and low >= 0 >= high


def _alike(
    low: Measure | None, high: Measure | None, text: str
) -> tuple[Measure | None, Measure | None]:
    """Bounds with a unit each: one that is written once holds for both."""
    if low is None and high is None:
        raise ValueError("it has no bound")
    if low is None or high is None:
        return low, high
    low = Measure(low.value, low.unit or high.unit)
    if low.unit and not high.unit:
        raise ValueError("the upper bound has no unit")
    if low.unit != high.unit and not (low.unit and high.unit and same_kind(low.unit, high.unit)):
        raise ValueError("its bounds are of different kinds")
    start = convert(low.value, low.unit, high.unit) if low.unit and high.unit else low.value
    if start > high.value:
        raise ValueError("its bounds are the wrong way round")
    return low, high


def place(bound: Measure, parameter: Parameter, size: Physical | None) -> int | None:
    """-1, 0 or 1: a value lies below, on or above a bound; None where they do not compare.

    `size` is what the value really amounts to in SI, where that is known; it decides.
    """
    limit = bound.physical()
    if limit is not None and size is not None:
        return _sign((size - limit).number()) if limit.kind == size.kind else None
    value = parameter.value if parameter.label is None else parameter.raw
    if isinstance(value, str):
        return None
    if bound.unit is None or bound.unit == parameter.unit:
        return _sign(value - bound.value)
    if parameter.unit is None or not same_kind(parameter.unit, bound.unit):
        return None
    return _sign(convert(value, parameter.unit, bound.unit) - Fraction(bound.value))


def _sign(number: Fraction | Decimal | int) -> int:
    return (number > 0) - (number < 0)


@dataclass(frozen=True, slots=True)
class Waiver:
    """An approved, dated exception: `until` is a day, or a moment in RFC 3339."""

    code: str
    allow: Allowance
    until: str
    by: str
    at: datetime
    reason: str

    @property
    def last_day(self) -> str:
        """Until when it holds, for people."""
        try:
            return day_text(date.fromisoformat(self.until))
        except ValueError:
            return self.until


@dataclass(frozen=True, slots=True)
class Approval:
    """Which snapshot was approved, by whom, when and why.

    `vault_at` is the commit of the vault that the approver looked at; `accepted` are the findings
    of `check` that were accepted: sentences by rule. `override_reason` is why a set that is not
    whole was approved all the same.
    """

    snapshot: str
    vault_at: str
    by: str
    at: datetime
    reason: str | None
    accepted: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    override_reason: str | None = None


@dataclass(frozen=True, slots=True)
class Golden:
    """What golden.yaml holds; no approval for an axis that follows another one."""

    approval: Approval | None = None
    waivers: tuple[Waiver, ...] = ()


def same_person(one: str, other: str) -> bool:
    """Whether two `Name <mail>` may be one person: the same mail, or the same name."""
    (name, mail), (name2, mail2) = (_split(person) for person in (one, other))
    return (bool(mail) and mail == mail2) or name == name2


def _split(person: str) -> tuple[str, str]:
    name, _, mail = person.partition("<")
    return " ".join(name.split()).casefold(), mail.rstrip("> ").casefold()
