"""Plain sentences about a difference of which nothing more is known than its numbers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from vault.behaviour.scaling import UNIT_ROLES
from vault.behaviour.si_units import read_unit_code
from vault.meaning.changes import Change, Comparison, Surrounding
from vault.meaning.reader import for_reader
from vault.model import roles
from vault.model.export import Scalar
from vault.model.parameters import Parameter
from vault.model.quantities import Physical, plain, rounded_decimal
from vault.model.written_form import marked

_UNIT_WORDS = {
    "user_position": "user units",
    "user_velocity": "user units/s",
    "user_acceleration": "user units/s^2",
    "user_jerk": "user units/s^3",
    "permille_rated_torque": "permille of rated torque",
    "percent_rated_torque": "% of rated torque",
    "permille_rated_current": "permille of rated current",
    "percent_rated_current": "% of rated current",
    "percent": "%",
    "um": "µm",
    "um/s": "µm/s",
    "um/s^2": "µm/s^2",
    "um/s^3": "µm/s^3",
    "degC": "°C",
    "ohm": "Ω",
}


_IN_ONE_PIECE = ("identity", "address", "version", "bits")


def number_text(value: Scalar) -> str:
    """A number for people: no exponent, no trailing zeros, thousands apart."""
    if isinstance(value, str):
        return value
    if isinstance(value, int):
        return marked(f"{value:,}")
    return marked(plain(value, ","))


def unit_text(unit: str | None) -> str:
    """A unit for people, with a leading blank where there is one."""
    return f" {_UNIT_WORDS.get(unit, unit)}" if unit else ""


def value_text(parameter: Parameter | None) -> str:
    """Value, unit and meaning of a parameter for people; `-` where there is none."""
    if parameter is None:
        return "-"
    if parameter.label is not None:
        return f"{parameter.label} ({_own_number(parameter)})"
    if parameter.role in UNIT_ROLES and isinstance(parameter.raw, int):
        return unit_code_text(parameter.raw)
    if isinstance(parameter.value, str):
        return f'"{parameter.value}"' if parameter.value else "empty"
    return _own_number(parameter) + unit_text(parameter.unit)


def _own_number(parameter: Parameter) -> str:
    """The number of a parameter: what names something is no amount, and stays in one piece."""
    value = parameter.value
    role = roles.find(parameter.role) if parameter.role else None
    if isinstance(value, int) and role is not None and role.kind in _IN_ONE_PIECE:
        return str(value)
    return number_text(value)


def unit_code_text(raw: int) -> str:
    """A unit code of CiA 303-2 in the form that drives show it in, and the unit it stands for."""
    code = raw & 0xFFFFFFFF
    unit = read_unit_code(code)
    return f"0x{code:08X}" + (f" ({unit_text(unit.text).strip()})" if unit is not None else "")


def sentences(comparison: Comparison, most: int = 1000) -> list[str]:
    """What is news in a comparison, worst first, then what was only restated in one sentence."""
    found = [cause.explanation for cause in comparison.causes if cause.shifts]
    news = [change for change in comparison.news if change.kind != "shifted"]
    found += [change.explanation for change in news[:most]]
    if (more := len(news) - most) > 0:
        found.append(f"and {more} more.")
    found += [cause.explanation for cause in comparison.causes if not cause.shifts]
    found += [around.explanation for around in comparison.surroundings]
    return found


def told_together(changes: Iterable[Change]) -> list[list[Change]]:
    """Changes of one kind in their order, those of which the same is said in one list."""
    found: dict[tuple[str, str], list[Change]] = {}
    for change in changes:
        said = change.explanation.removeprefix(change.shown.name)
        # What does not begin with its name, or is a sentence of its own, stands alone.
        alone = "" if said[:1] in (":", " ") else change.shown.code
        found.setdefault((said, alone), []).append(change)
    return list(found.values())


def together_text(alike: Sequence[Change]) -> str:
    """The sentence of changes of which the same is said, with the names of them all."""
    first, *others = alike
    if not others:
        return first.explanation
    names = ", ".join(change.shown.name for change in alike)
    said = first.explanation.removeprefix(first.shown.name)
    return f"{names}:{said}" if said.startswith(" ") else f"{names}{said}"


def nothing_implausible(parameters: Iterable[Parameter]) -> str:
    """What is said where no check complained: what has no role was not checked."""
    every = list(parameters)
    without = sum(parameter.role is None for parameter in every)
    if every and without == len(every):
        return f"Nothing could be checked: none of {len(every)} parameters has a role."
    if 2 * without > len(every):
        told = f"{without} of {len(every)} parameters have no role and were not looked at"
        return f"Nothing implausible was found; {told}."
    return "Nothing implausible was found."


_MOVE = re.compile(r"moves\.(\d+)")


def in_words(content: object) -> str:
    """What a record says under a key: entries of a list apart by semicolons, keys by commas."""
    if isinstance(content, bool):
        return "yes" if content else "no"
    if isinstance(content, Mapping):
        entries = (f"{key.replace('_', ' ')} {in_words(each)}" for key, each in content.items())
        return ", ".join(entries)
    if isinstance(content, list | tuple):
        return "; ".join(in_words(each) for each in content)
    return str(content)


def surrounding_place(path: str) -> str:
    """A path of a record in words: `moves.0.distance` is `move 1, distance`."""
    place = _MOVE.sub(lambda found: f"move {int(found[1]) + 1}", path)
    return place.replace(".", ", ").replace("_", " ")


def surrounding_sentence(
    around: Surrounding, sides: tuple[str, str] | None = None, *, may_lack: bool = False
) -> str:
    """What differs beside the parameters: over time, or between the two `sides`.

    `may_lack`: the side that has nothing is an export that may not be whole.
    """
    place = surrounding_place(around.path)
    nothing = "not in this export" if may_lack else "nothing"
    before, after = (nothing if v is None else in_words(v) for v in (around.left, around.right))
    if may_lack and sides is None:
        if around.left is None:
            return f"{place} was not in the export before: {after}."
        return f"{place} is not in this export: {before} before."
    if sides is not None:
        return f"{place}: {before} on {sides[0]}, {after} on {sides[1]}."
    return f"{place}: {before} became {after}."


def plain_sentence(
    change: Change,
    before: str = "",
    after: str = "",
    sides: tuple[str, str] | None = None,
    *,
    may_lack: bool = False,
) -> str:
    """What differs, in one sentence: over time, or between the two `sides`.

    `before` and `after` are the values as the reader should see them. `may_lack`: the side without
    the parameter is not known to be a drive's whole set, so nothing is said of the drive.
    """
    name = change.shown.name
    before, after = before or value_text(change.left), after or value_text(change.right)
    before = _unit_once(before, after)
    if may_lack and (change.left is None or change.right is None):
        return _not_in_export(change, before, after, sides)
    if change.left is None:
        return f"{name}: only on {sides[1]}, {after}." if sides else f"{name} is new: {after}."
    if change.right is None:
        return f"{name}: only on {sides[0]}, {before}." if sides else f"{name} is gone: {before}."
    if change.kind == "restated":
        return f"{name} says the same in other words: {before} is {after}."
    if change.kind == "shifted":
        where, how = "drive", "really"
        if change.group == roles.CONTROLLER:  # what is really done, the drive says
            where, how, after = "program", "meant as", value_text(change.right)
        where = f"both {where}s" if sides else f"the {where}"
        said = _really(change, sides, how)
        return f"{name}: {'' if sides else 'still '}{after} in {where}, {said}."
    if sides is not None:
        # A share of two ratings compares nothing, nor what acts on two machines.
        is_own = change.shown.role in _BY_MACHINE or _OF_A_RATING.search(after)
        size = "" if is_own else _size(change, after)
        return f"{name}: {before} on {sides[0]}, {after} on {sides[1]}{size}."
    return f"{name}: {before} became {after}{_size(change, after)}."


def _unit_once(before: str, after: str) -> str:
    """The value before, without a unit of many words that follows with the one after."""
    unit = _OF_A_RATING.search(after)
    return before.removesuffix(unit[0]) if unit is not None else before


_BY_MACHINE = frozenset(
    {
        "velocity_gain", "max_torque", "positive_torque_limit", "negative_torque_limit",
        "max_current",
    }
)  # fmt: skip
"""Roles of which the number says nothing without the machine that it acts on."""
_OF_A_RATING = re.compile(r" (permille|%) of rated \w+$")


def default_sentence(
    change: Change, before: str, after: str, sides: tuple[str, str] | None = None
) -> str:
    """What differs, where a value is its file's default: nothing says that a drive ever had it."""
    name, both = change.shown.name, change.left_default and change.right_default
    not_stated = "the file's default and not stated of the drive"
    if change.left is None or change.right is None:
        value, side = (before, 0) if change.right is None else (after, 1)
        where = f" on {sides[side]}" if sides else " before" if side == 0 else ""
        return f"{name}: {value}{where} is {not_stated}, and there is none beside."
    if both:
        where = f" on {sides[0]}, {after} on {sides[1]}" if sides else f" before, {after} now"
        return f"{name}: {before}{where}; both are {not_stated}."
    if change.left_default:
        here, there = (f" on {sides[1]}", f" on {sides[0]}") if sides else (" now", " before")
        return f"{name}: {after}{here}; {before}{there} is {not_stated}."
    here, there = (f" on {sides[0]}", f" on {sides[1]}") if sides else (" before", "")
    return f"{name}: {before}{here}; {after}{there} is {not_stated}."


def _not_in_export(change: Change, before: str, after: str, sides: tuple[str, str] | None) -> str:
    name = change.shown.name
    if change.left is None:
        if sides is not None:
            return f"{name}: not in this export of {sides[0]}, {after} on {sides[1]}."
        return f"{name} was not in the export before: {after}."
    if sides is not None:
        return f"{name}: {before} on {sides[0]}, not in this export of {sides[1]}."
    return f"{name} is not in this export: {before} before."


def _really(change: Change, sides: tuple[str, str] | None, how: str) -> str:
    before, after = change.left_physical, change.right_physical
    if before is not None and after is not None and before.unit == after.unit and before != after:
        if sides is not None:
            return f"{how} {size_text(before)} on {sides[0]} and {size_text(after)} on {sides[1]}"
        return f"but {how} {size_text(after)} now and {size_text(before)} before"
    if change.ratio is None:
        return "but something else by it"
    ratio = number_text(shortened(rounded_decimal(change.ratio, 12)))
    return f"but {how} {ratio} times {f'that on {sides[0]}' if sides else 'what it was'}"


def size_text(size: Physical) -> str:
    """A quantity for people, in the unit they want for its kind."""
    number, unit = for_reader(size)
    return number_text(shortened(rounded_decimal(number, 12), 5)) + unit_text(unit)


def _size(change: Change, after: str) -> str:
    """The difference in brackets: in its unit where people know that, and as a share.

    Where `after` is told in the reader's unit, another one beside it would only confuse.
    """
    difference = change.difference
    if difference is None or difference.absolute == 0 or names_something(change.shown):
        return ""
    said = []
    unit, relative = difference.unit or "", difference.relative
    told_by_zero = 0 in (change.left and change.left.value, change.right and change.right.value)
    is_plain = not unit.startswith(("user_", "permille_")) and after.endswith(unit_text(unit))
    if is_plain and not told_by_zero:
        sign = "+" if difference.absolute > 0 else "-"
        size = number_text(shortened(abs(difference.absolute)))
        # A difference of two percentages is no percentage: 300 % are a third less, not 100 %.
        said.append(f"{sign}{size}{' points' if unit.startswith('percent') else unit_text(unit)}")
    if relative is not None and _has_share(change.left, unit):
        if relative >= 1:
            said.append(f"{number_text(shortened(1 + relative, 4))} times as much")
        elif relative > -1:
            sign = "+" if relative > 0 else ""
            said.append(f"{sign}{number_text(shortened(relative * 100, 3))} %")
    return f" ({', '.join(said)})" if said else ""


def _has_share(before: Parameter | None, unit: str) -> bool:
    """Whether a share of the value before means something: not below zero, no temperature."""
    start = before.value if before is not None else ""
    return (
        not isinstance(start, str)
        and start > 0
        and unit not in ("bit", "percent", "byte", "degC", "degF")
    )


def names_something(parameter: Parameter) -> bool:
    """Whether a number is a name, such as a serial number or an address."""
    role = roles.find(parameter.role) if parameter.role else None
    return role is not None and role.kind in ("identity", "address")


def shortened(number: Decimal, digits: int = 6) -> Decimal:
    """Round to some digits for people; whole parts are kept."""
    kept = max(digits, number.adjusted() + 1)
    return rounded_decimal(Fraction(f"{number:.{kept - 1}e}"), kept)
