"""From what an export says to normalised parameters, with the family's dictionary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Context, Decimal, Inexact
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.model import choices, roles
from vault.model.datatypes import BY_NAME, DataType
from vault.model.export import SELF_DESCRIBING, Entry, Listing, Scalar, SkippedLine
from vault.model.numerals import parse_number
from vault.model.parameters import Parameter, ParameterSet, canonical_code
from vault.model.quantities import (
    UnknownUnit,
    canonical_unit,
    convert,
    exact_decimal,
    normal,
    plain,
    same_kind,
    unit_named,
    unit_text,
)
from vault.model.range_remark import range_remark
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.model.families import Family, ParameterDefinition

VERSION = 4
VERSIONS = (1, 2, 3, 4)
"""Raised whenever the same export and dictionary would give other bytes than before.

2: what only says how many entries an object has is no parameter.
3: peak and r.m.s. amperes are two units; a unit that nobody knows is kept as text.
4: an open dictionary takes what it does not know as stated; `0.125` has no thousands.
"""
_UNITS_SINCE_3 = ("PPR", "CPR", "A(rms)", "A(eff)", "A(pk)", "Apeak", "A(peak)", "Ap", "A(p)", "HP")
_AMPERES_UNTIL_2 = {"A_rms": "A", "A_pk": "A"}
_SAME_AMPERES = {("A", "A_rms"), ("A", "A_pk")}  # an export says A, its dictionary which ones

_USER_KINDS = {
    "user_position": ("length", "angle"),
    "user_velocity": ("velocity", "angular_velocity"),
    "user_acceleration": ("acceleration", "angular_acceleration"),
    "user_jerk": ("jerk", "angular_jerk"),
}
_EXACT = Context(prec=60, traps=[Inexact])
_TRUTH = {"true": 1, "on": 1, "yes": 1, "false": 0, "off": 0, "no": 0}


@dataclass(frozen=True, slots=True)
class Definition:
    """What is known about a parameter before its value: from a family, or from the export.

    Not `is_known` is one of an open dictionary that does not have it: nobody said what it is.
    """

    code: str
    name: str
    role: str | None
    data_type: DataType | None
    scale: Decimal
    unit: str | None
    choices: Mapping[int, str]
    low: Decimal | None = None
    high: Decimal | None = None
    default: Scalar | None = None
    access: str = "rw"
    group: str = "device"
    effective: str = "at_once"
    volatile: bool = False
    safety: bool = False
    order: int | None = None
    level: str | None = None
    is_known: bool = True


@dataclass(frozen=True, slots=True)
class Normalised:
    """The parameter set of one export, the lines left out, and remarks for the reader."""

    parameters: ParameterSet
    skipped: tuple[SkippedLine, ...]
    warnings: tuple[str, ...]
    unknown_codes: int


class BadEntry(ValueError):
    """An entry that cannot be taken; the message is the reason."""


def define(code: str, known: ParameterDefinition) -> Definition:
    """Definition of a parameter of a family; what the family leaves open comes from its role."""
    role = roles.find(known.role) if known.role else None
    low, high = known.range
    table = known.choices or (choices.table(role.choices) if role and role.choices else {})
    return Definition(
        code=code,
        name=known.name,
        role=known.role,
        data_type=known.data_type,
        scale=known.scale,
        unit=known.unit,
        choices=table,
        low=low,
        high=high,
        default=known.default,
        access=known.access,
        group=known.group or (role.group if role else "device"),
        effective=known.effective,
        volatile=known.volatile or bool(role and role.volatile),
        safety=known.safety or bool(role and role.safety),
        order=known.order,
        level=known.level,
    )


def describe(entry: Entry) -> Definition:
    """Definition of a parameter that only the export describes (a DCF does so in full)."""
    role = roles.find(entry.role) if entry.role else roles.for_object(entry.code)
    return Definition(
        code=entry.code,
        name=entry.name or (role.title if role else entry.code),
        role=entry.role or (role.name if role else None),
        data_type=BY_NAME.get(entry.data_type) if entry.data_type else None,
        scale=Decimal(1),
        unit=role.unit if role else None,
        choices=choices.of_export(role.choices, entry.written) if role and role.choices else {},
        low=_as_decimal(entry.low),
        high=_as_decimal(entry.high),
        default=entry.default,
        access=entry.access or (role.access if role else "rw"),
        group=entry.group or (role.group if role else "device"),
        volatile=bool(role and role.volatile),
        safety=bool(role and role.safety),
    )


def _as_stated(entry: Entry) -> Definition:
    """Definition of a parameter that an open dictionary does not know: no role, no step of its own.

    Its range and default are in the unit that the export states.
    """
    kind = BY_NAME.get(entry.data_type) if entry.data_type else None
    return Definition(
        code=entry.code,
        name=entry.name or entry.code,
        role=None,
        data_type=None if kind is None or kind.is_number else kind,  # its scale is not known
        scale=Decimal(1),
        unit=_stated_unit(entry.unit),
        choices={},
        low=_as_decimal(entry.low),
        high=_as_decimal(entry.high),
        default=entry.default,
        access=entry.access or "rw",
        is_known=False,
    )


def _stated_unit(spelled: str) -> str | None:
    try:
        return canonical_unit(spelled) if spelled else None
    except UnknownUnit:
        return unit_text(spelled)


def reads_as_today(version: int, family: Family | None) -> bool:
    """Whether a version gives what today's rules give, by a dictionary."""
    is_alike = family is None or not (family.open or family.export.thousands)
    return version == VERSION or (version == 3 and is_alike)


@lru_cache(maxsize=256)
def family_definitions(family: Family, firmware: str | None) -> Mapping[str, Definition]:
    """Definitions of a family's parameters by code, for one firmware version."""
    return {code: define(code, known) for code, known in family.definitions(firmware).items()}


def definitions(
    listing: Listing, family: Family | None, version: int = VERSION
) -> dict[str, Definition]:
    """Definitions of every code in the export: the family's, else the export's own."""
    firmware = listing.nameplate.get("firmware")
    known = family_definitions(family, firmware) if family else {}
    is_open = version >= 4 and family is not None and family.open
    if not is_open or _describes_itself(listing):
        return {e.code: known.get(e.code) or describe(e) for e in listing.entries}
    return {e.code: _known_as(e.code, known) or _as_stated(e) for e in listing.entries}


def _known_as(code: str, known: Mapping[str, Definition]) -> Definition | None:
    """What an open dictionary says of a code, of an object address however an export spells it."""
    found = known.get(code) or known.get(canonical_code(code))
    return found if found is None or found.code == code else replace(found, code=code)


def _describes_itself(listing: Listing) -> bool:
    return listing.format in SELF_DESCRIBING


def normalise(listing: Listing, family: Family | None, version: int = VERSION) -> Normalised:
    """The parameter set of an export by the rules of a version: values stay exact, an entry that
    does not fit its definition is left out with the reason."""
    known = definitions(listing, family, version)
    if version < 3:
        known = {code: _as_until_2(definition) for code, definition in known.items()}
    dialect = family.export if family else None
    spelling = _Spelling(
        listing.holds,
        dialect.decimal if dialect else ".",
        dialect.thousands if dialect else "",
        version,
    )
    parameters: list[Parameter] = []
    lines: dict[str, int] = {}
    skipped = list(listing.skipped)
    warnings: list[str] = []
    of_family = family_definitions(family, listing.nameplate.get("firmware")) if family else {}
    for entry in listing.entries:
        if entry.is_count and version >= 2 and entry.code not in of_family:
            continue
        definition = known[entry.code]
        try:
            if (first := lines.setdefault(entry.code, entry.line)) != entry.line:
                raise BadEntry(f"{entry.code} stands on line {first} already")
            parameter = _parameter(entry, definition, spelling)
        except BadEntry as bad:
            skipped.append(SkippedLine(entry.line, f"{entry.code} {entry.written}", str(bad)))
            continue
        parameters.append(parameter)
        if remark := range_remark(parameter, definition.low, definition.high, definition.unit):
            warnings.append(remark)
    unknown = _unknown_codes(listing, family)
    if unknown and family is not None and not family.open:
        shown = ", ".join(unknown[:3]) + (", …" if len(unknown) > 3 else "")
        count = plural(len(unknown), "code is", "codes are")
        warnings.append(f"{count} not in dictionary {family.name}: {shown}")
    skipped.sort(key=lambda s: s.line)
    return Normalised(ParameterSet(parameters), tuple(skipped), tuple(warnings), len(unknown))


def _unknown_codes(listing: Listing, family: Family | None) -> list[str]:
    if family is None or _describes_itself(listing):
        return []
    known = family_definitions(family, listing.nameplate.get("firmware"))
    spelled = canonical_code if family.open else str
    return [e.code for e in listing.entries if spelled(e.code) not in known]


def _as_decimal(value: Scalar | None) -> Decimal | None:
    return None if value is None or isinstance(value, str) else Decimal(value)


@dataclass(frozen=True, slots=True)
class _Spelling:
    """How an export writes its values, and by which rules they are read."""

    holds: str
    decimal_mark: str
    thousands: str
    version: int


def _parameter(entry: Entry, definition: Definition, spelling: _Spelling) -> Parameter:
    written = entry.written
    kind = definition.data_type
    if kind is not None and not kind.is_number:
        text = entry.text or (written if isinstance(written, str) else plain(written))
        return Parameter(definition.code, definition.name, text, text, definition.role)
    if isinstance(written, str):
        written = _number(written, definition, spelling)
    if isinstance(written, str):  # no type known and no number: text
        return Parameter(definition.code, definition.name, written, written, definition.role)
    unit = _unit(entry.unit, definition.unit, spelling.version)
    if spelling.holds == "raw":
        if unit and definition.unit and same_kind(unit, definition.unit):
            unit = definition.unit  # which the scale leads to, whatever the export shows it in
        raw = _raw(Decimal(written), definition)
        value: Scalar = _tidy(_exact_product(Decimal(raw), definition.scale))
    else:
        value = _tidy(Decimal(written))
        raw = _raw(_unscaled(value, unit, definition), definition)
    label = definition.choices.get(raw) if isinstance(raw, int) else None
    return Parameter(definition.code, definition.name, value, raw, definition.role, unit, label)


def _number(text: str, definition: Definition, spelling: _Spelling) -> Scalar:
    """Read a number, a choice by its name, or a truth value; text only if no type is known."""
    try:
        number = parse_number(text, spelling.decimal_mark, spelling.thousands, spelling.version < 4)
    except ValueError as error:  # Python reads no integer of more than 4,300 digits
        raise BadEntry(f"{text[:20]}… is too long for a number") from error
    if number is not None:
        return number
    wanted = text.casefold()
    folded = [value for value, label in definition.choices.items() if label.casefold() == wanted]
    if len(folded) > 1 and spelling.version >= 4:
        folded = [value for value in folded if definition.choices[value] == text]
        if len(folded) != 1:
            raise BadEntry(f"{text!r} is the name of several choices")
    if folded:
        return folded[0]
    if definition.data_type is None:
        return text
    if definition.data_type.family == "boolean" and wanted in _TRUTH:
        return _TRUTH[wanted]
    raise BadEntry(f"{text!r} is not a number")


def _as_until_2(definition: Definition) -> Definition:
    unit = _AMPERES_UNTIL_2.get(definition.unit or "")
    return replace(definition, unit=unit) if unit else definition


def _unit(spelled: str, defined: str | None, version: int) -> str | None:
    """The unit of the value: the export's where it states one that fits, else the dictionary's.

    What nobody knows is kept as it is spelled, unless the dictionary has a unit that it must fit.
    """
    try:
        if version < 3 and spelled.strip() in _UNITS_SINCE_3:
            raise UnknownUnit(spelled)
        stated = canonical_unit(spelled) if spelled else None
    except UnknownUnit as unknown:
        kept = unit_text(spelled)
        if version < 3 or defined not in (None, kept):
            raise BadEntry(str(unknown)) from unknown
        return kept
    if version < 3:
        stated = _AMPERES_UNTIL_2.get(stated or "", stated)
    if stated is None or stated == defined or (stated, defined) in _SAME_AMPERES:
        return defined
    if defined is None or same_kind(stated, defined):
        return stated
    if unit_named(stated).kind in _USER_KINDS.get(defined, ()):
        return stated
    raise BadEntry(f"unit {stated!r} does not fit: this parameter is in {defined!r}")


def _unscaled(value: int | Decimal, unit: str | None, definition: Definition) -> Decimal:
    """Undo unit and scale: what the drive holds for a value. Exact or refused."""
    in_unit: Decimal | Fraction = Decimal(value)
    defined = definition.unit
    if unit and defined and unit != defined and same_kind(unit, defined):
        in_unit = convert(value, unit, defined)
    raw = _exact_quotient(in_unit, definition.scale)
    whole = definition.data_type is not None and definition.data_type.is_whole
    if raw is None or (whole and raw != raw.to_integral_value()):
        step = f"{plain(definition.scale)} {defined or ''}".strip()
        shown = f"{plain(Decimal(value))} {unit or ''}".strip()
        raise BadEntry(f"{shown} is no multiple of the step {step}")
    return raw


def _exact_product(number: Decimal, scale: Decimal) -> Decimal:
    try:
        return _EXACT.multiply(number, scale)
    except Inexact:
        product = exact_decimal(Fraction(number) * Fraction(scale))
        return Decimal(0) if product is None else product  # never None: both are decimals


def _exact_quotient(number: Decimal | Fraction, scale: Decimal) -> Decimal | None:
    if isinstance(number, Fraction):
        return exact_decimal(number / Fraction(scale))
    if scale == 1:
        return number
    try:
        return _EXACT.divide(number, scale)
    except Inexact:
        return exact_decimal(Fraction(number) / Fraction(scale))


def _raw(number: Decimal, definition: Definition) -> int | Decimal:
    kind = definition.data_type
    if kind is None:
        return _tidy(number)
    if kind.family == "real":
        # A choice whose own type nobody knows is a whole number all the same.
        return _tidy(number) if definition.choices else normal(number)
    if number != number.to_integral_value():
        raise BadEntry(f"{plain(number)} is not a whole number, as {kind.name} needs")
    raw = int(number)
    low, high = kind.low, kind.high
    if low is not None and high is not None and not low <= raw <= high:
        raise BadEntry(f"{raw} lies outside {kind.name} ({low} to {high})")
    return raw


@lru_cache(maxsize=1 << 14)  # bulk loading meets the same numbers over and over
def _tidy(number: Decimal) -> int | Decimal:
    tidy = normal(number)
    return int(tidy) if tidy == tidy.to_integral_value() else tidy
