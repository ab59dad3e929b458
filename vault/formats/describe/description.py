"""What a device description says of a kind of device, whatever file it stands in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from vault.model.export import Access, Scalar, SkippedLine
from vault.model.quantities import exact_decimal

_HAS = "what a drive has, not what it holds"
_BESIDE = "read for what it says of the drive, its values aside"
KINDS = {
    "eds": f"a device description after CiA 306 (EDS): {_HAS}",
    "xdd": f"a device description after CiA 311 (XDD): {_HAS}",
    "esi": f"a device description for EtherCAT (ESI, ETG.2000): {_HAS}",
    "cip-eds": f"a device description for CIP networks (EDS): {_HAS}",
    "dcf": f"a device configuration after CiA 306 (DCF): {_BESIDE}",
    "xdc": f"a device configuration after CiA 311 (XDC): {_BESIDE}",
}
"""What a file is, in words for people, by the name of its kind."""


@dataclass(frozen=True, slots=True)
class Scaling:
    """From what the device holds to the unit, exactly: (content + offset) x factor.

    `decimals` is how many decimal places are to be shown, None where the file does not say.
    """

    factor: Fraction
    offset: Fraction = Fraction(0)
    decimals: int | None = None

    def value(self, content: int | Decimal) -> Fraction:
        """A content in the unit."""
        return (Fraction(content) + self.offset) * self.factor


@dataclass(frozen=True, slots=True)
class DescribedParameter:
    """One parameter as a description has it; None and empty where it says nothing.

    `code` is spelled as our codes are: `0x6065:00`, or the number of a CIP parameter. `low`,
    `high`, `default` and the numbers of `choices` are what the device holds; by `scaling` they are
    in `unit`, which is spelled as in the file. `group` is what the file places it under: a group,
    or the record or array that it is part of. `is_mappable` says that it can be process data;
    `is_count` marks what only says how many entries an object has.
    """

    code: str
    name: str
    line: int
    data_type: str | None = None
    unit: str | None = None
    scaling: Scaling | None = None
    low: Scalar | None = None
    high: Scalar | None = None
    default: Scalar | None = None
    choices: Mapping[int, str] = field(default_factory=dict)
    access: Access | None = None
    group: str = ""
    help: str = ""
    is_mappable: bool = False
    is_count: bool = False

    @property
    def scale(self) -> Decimal | None:
        """How many units one count is.

        None where there is no scaling, and where no decimal number above 0 says it: `scaling` has
        an offset, a third, a sign.
        """
        if self.scaling is None or self.scaling.offset or self.scaling.factor <= 0:
            return None
        return exact_decimal(self.scaling.factor)


@dataclass(frozen=True, slots=True)
class Description:
    """A device description: its kind, the device it is of, and its parameters, as in the file.

    `kind` is a key of `KINDS`. `skipped` are lines that could not be understood, or of which
    something was left out.
    """

    kind: str
    title: str
    vendor: str
    product: str
    version: str
    parameters: tuple[DescribedParameter, ...]
    skipped: tuple[SkippedLine, ...] = ()

    @property
    def what(self) -> str:
        """What the file is, with its article, in words for people."""
        return KINDS[self.kind]


def without_bad_ranges(description: Description) -> Description:
    """Leave out, and tell, each range whose lower end lies above its upper one."""
    told, kept = [*description.skipped], []
    for one in description.parameters:
        low, high = one.low, one.high
        if isinstance(low, int | Decimal) and isinstance(high, int | Decimal) and low > high:
            reason = f"its range is left out: from {low} to {high}"
            told.append(SkippedLine(one.line, f"{one.code} {one.name}"[:80], reason))
            one = replace(one, low=None, high=None)
        kept.append(one)
    ordered = tuple(sorted(told, key=lambda bad: bad.line))
    return replace(description, parameters=tuple(kept), skipped=ordered)
