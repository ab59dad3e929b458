"""What device descriptions add to the parameters of a dictionary: only what is certain of each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.formats.describe.description import DescribedParameter, Description, Scaling
from vault.model.datatypes import BY_NAME, DECIMAL, DataType
from vault.model.export import Scalar
from vault.model.parameters import canonical_code
from vault.model.quantities import UnknownUnit, canonical_unit, exact_decimal

if TYPE_CHECKING:
    from vault.model.families import Family, ParameterDefinition

_AS_IT_IS = Scaling(Fraction(1))


@dataclass(frozen=True, slots=True)
class Seen:
    """What is known of a parameter before: its name and unit, empty where it has none.

    `unit` is in our spelling. `numbers` and `words` are the values that exports hold. `held` leads
    from what the drive holds to the unit where a dictionary says that.
    """

    code: str
    name: str = ""
    unit: str | None = None
    numbers: Sequence[int | Decimal] = ()
    words: Sequence[str] = ()
    held: Scaling | None = None


@dataclass(frozen=True, slots=True)
class Said:
    """What a description adds: None and empty where it says nothing, or nothing that is certain.

    `low`, `high` and `default` are in the unit of the parameter; `remarks` say what was left out
    and why.
    """

    name: str = ""
    unit: str | None = None
    type: str | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    default: Scalar | None = None
    choices: Mapping[int, str] = field(default_factory=dict)
    access: str | None = None
    remarks: tuple[str, ...] = ()


def described_by_code(descriptions: Iterable[Description]) -> dict[str, DescribedParameter]:
    """What is described, by code, object addresses spelled one way; the first one counts."""
    found: dict[str, DescribedParameter] = {}
    for description in descriptions:
        for one in description.parameters:
            if not one.is_count:
                found.setdefault(canonical_code(one.code), one)
    return found


def additions(
    family: Family,
    descriptions: Iterable[Description],
    numbers: Mapping[str, Sequence[int | Decimal]] | None = None,
) -> dict[str, Said]:
    """What descriptions add to a dictionary, by code: only to keys that it leaves open.

    `numbers` are values that exports hold, by code, in the units of the dictionary. Without them
    less is certain: whether a number without a unit is what the drive holds, nobody knows then.
    """
    described = described_by_code(descriptions)
    found = {}
    for code, known in family.parameters.items():
        if (one := described.get(code)) is None:
            continue
        is_held = known.data_type is not DECIMAL and known.type == one.data_type
        seen = Seen(
            code,
            name="" if known.name == code else known.name,
            unit=known.unit,
            numbers=(numbers or {}).get(code, ()),
            held=Scaling(Fraction(known.scale)) if is_held else None,
        )
        said = _left_open(known, said_of(one, seen))
        if said != Said():
            found[code] = said
    return found


def _left_open(known: ParameterDefinition, said: Said) -> Said:
    """What of it a dictionary does not say itself."""
    stated = known.model_fields_set
    has_type = known.data_type is not DECIMAL or known.scale != 1
    if "range" in stated:
        said = replace(said, low=None, high=None)
    if "default" in stated:
        said = replace(said, default=None)
    if "access" in stated:
        said = replace(said, access=None)
    if known.choices or (said.type != known.type and has_type):
        said = replace(said, choices={})
    return replace(said, type=None) if has_type else said


def said_of(one: DescribedParameter, seen: Seen) -> Said:
    """What a description adds to a parameter, by all that is known of it."""
    kind = BY_NAME.get(one.data_type or "")
    name = one.name if not seen.name else ""
    said = Said(name=name, access=one.access)
    if kind is not None and not kind.is_number:
        is_text = kind.family == "text" and not seen.numbers
        return replace(said, default=one.default if is_text else None)
    if seen.words:
        return _by_words(one, kind, seen, said)
    scaling, unit, remark = _scaling(one, kind, seen)
    if scaling is None:
        return replace(said, remarks=(remark,) if remark else ())
    is_whole = kind is not None and kind.is_whole and _holds(kind, seen.numbers)
    is_known = bool(seen.numbers) or seen.held is not None
    said = replace(said, unit=unit if seen.unit is None else None)
    if kind is not None and is_known and is_whole and _is_plain(scaling):
        choices = one.choices if unit is None and seen.unit is None else {}
        said = replace(said, type=kind.name, choices=choices)
    return _with_bounds(said, one, scaling)


def _by_words(one: DescribedParameter, kind: DataType | None, seen: Seen, said: Said) -> Said:
    """Choices where each word that was seen is one of them, and each of them has its own word."""
    labels = {label.casefold(): number for number, label in one.choices.items()}
    are_theirs = not seen.numbers and {word.casefold() for word in seen.words} <= labels.keys()
    is_plain = one.scaling is None or _is_plain(one.scaling)
    if kind is None or not (kind.is_whole and are_theirs and is_plain):
        return said
    if len(labels) < len(one.choices):
        remark = "its choices are left out: two of them have one name"
        return replace(said, remarks=(remark,))
    return _with_bounds(replace(said, type=kind.name, choices=one.choices), one, _AS_IT_IS)


def _scaling(
    one: DescribedParameter, kind: DataType | None, seen: Seen
) -> tuple[Scaling | None, str | None, str]:
    """What leads from a described content to the unit of the parameter, and that unit.

    None where that is not certain, with a remark where people should know.
    """
    if seen.held is not None:
        return seen.held, None, ""
    scaling = one.scaling or _AS_IT_IS
    try:
        unit = canonical_unit(one.unit) if one.unit else None
    except UnknownUnit:
        return None, None, f"the description has it in {one.unit!r}, which nobody knows"
    if unit is not None and unit == seen.unit:
        return scaling, unit, ""
    if seen.unit is not None:
        told = f"the description has it in {unit}: its range is left out" if unit else ""
        return None, None, told
    # Without a unit, the numbers alone tell whether they are what the drive holds.
    if _is_plain(scaling):
        fits = bool(seen.numbers) and _lies_in(one, kind, seen.numbers)
    else:
        fits = kind is not None and kind.is_whole and not all(map(_is_whole, seen.numbers))
    if fits:
        return scaling, unit, ""
    return None, None, f"the description has it in {unit}: the export does not say" if unit else ""


def _is_plain(scaling: Scaling) -> bool:
    return scaling.factor == 1 and not scaling.offset


def _is_whole(number: int | Decimal) -> bool:
    return number == int(number)


def _holds(kind: DataType, numbers: Iterable[int | Decimal]) -> bool:
    """Whether numbers are whole and lie in a type."""
    low, high = kind.low, kind.high
    return all(
        _is_whole(number) and (low is None or high is None or low <= number <= high)
        for number in numbers
    )


def _lies_in(
    one: DescribedParameter, kind: DataType | None, numbers: Iterable[int | Decimal]
) -> bool:
    """Whether numbers can be what the drive holds, by type and range."""
    if kind is None or (kind.is_whole and not _holds(kind, numbers)):
        return False
    low = one.low if isinstance(one.low, int | Decimal) else Decimal("-Infinity")
    high = one.high if isinstance(one.high, int | Decimal) else Decimal("Infinity")
    return all(low <= number <= high for number in numbers)


def _with_bounds(said: Said, one: DescribedParameter, scaling: Scaling) -> Said:
    """Range and default in the unit; one that no decimal number says is left out, and told."""
    low, high, default = (_in_unit(end, scaling) for end in (one.low, one.high, one.default))
    if scaling.factor < 0:
        low, high = high, low
    stated = (one.low, one.high, one.default)
    told: tuple[str, ...] = ()
    if sum(end is not None for end in (low, high, default)) < sum(map(_is_number, stated)):
        told = ("of its range and default, what no decimal number says is left out",)
    return replace(said, low=low, high=high, default=default, remarks=(*said.remarks, *told))


def _is_number(content: Scalar | None) -> bool:
    return isinstance(content, int | Decimal)


def _in_unit(content: Scalar | None, scaling: Scaling) -> Decimal | None:
    return exact_decimal(scaling.value(content)) if isinstance(content, int | Decimal) else None
