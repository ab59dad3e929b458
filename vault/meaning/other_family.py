"""Carrying a parameter set over to another drive family: by role, through physical values.

First what scales the others is worked out for the new family, then every other value is expressed
in its units and steps. Sizes are those that the set states: what the machine really does follows
from its encoder, which is the fitted one on both sides.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.scaling import (
    RATING_ROLES,
    TRAVEL_ROLES,
    UNIT_ROLES,
    Scaling,
    Sizes,
    nominal_sizes,
    scaling,
)
from vault.behaviour.si_units import read_unit_code
from vault.meaning.held import hold, parameter_of
from vault.meaning.loading import (
    Prepared,
    consequence_of,
    fitting,
    held_row,
    never_loaded,
    out_of_it,
)
from vault.meaning.sentences import size_text
from vault.model import roles
from vault.model.quantities import Physical, unlike_amperes

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.normalise import Definition
    from vault.model.parameters import Parameter

FEED, FEED_TURNS = "feed_constant_feed", "feed_constant_shaft_revolutions"
MOTOR_TURNS, SHAFT_TURNS = "gear_ratio_motor_revolutions", "gear_ratio_shaft_revolutions"
COUNTS, COUNT_TURNS = "position_encoder_increments", "position_encoder_motor_revolutions"
_UNIT_TEXT = "user_unit_position"

# Fine enough for any axis: a thousandth of a millimetre or of a degree, and its rates (CiA 303-2,
# from memory).
_CODES = {
    "length": (0xFA010000, 0xFA010300, 0xFA015700, 0xFA01A000),
    "angle": (0xFD410000, 0xFD410300, 0xFD415700, 0xFD41A000),
}
_LOOP = "each drive reckons its loops in its own way: set it up there, and watch the axis"
_DECISIONS = {
    "commutation_offset": "each drive measures it in its own way: have it measured there",
    "home_offset": "where zero lies follows from how the drive homes: home it there, and measure",
    "encoder_direction": "which way counts up is the drive's own: see which way the axis moves",
    **dict.fromkeys(
        ("position_gain", "velocity_gain", "velocity_integral_time", "current_gain",
         "current_integral_time", "velocity_feed_forward", "acceleration_feed_forward"), _LOOP,
    ),
}  # fmt: skip
"""What no unit carries over to another family: somebody must decide (common practice)."""
_NO_SCALE = "how far a turn moves the axis is not known: axis.yaml or the unit of the set must say"


def carry_over(view: AxisView, fitted: Mapping[str, Definition]) -> list[Prepared]:
    """Prepare a set for another family: `fitted` are its definitions.

    The nameplate of the view is that of the encoder which is to be driven.
    """
    own = view.scaling
    there = {d.role: d for d in fitted.values() if d.role is not None}
    scaled = list(_scaled(view, own, there))
    loaded = {row.loaded.role: row.loaded for row in scaled if row.loaded is not None}
    ratings = [view.find(role) for role in RATING_ROLES]
    rated = {p.role: p for p in ratings if p is not None}
    sizes = nominal_sizes(scaling((rated | loaded).get, view.nameplate, view.axis))
    done = {row.target.code for row in scaled}
    rest = [
        _carried(view, parameter, there, nominal_sizes(own), sizes)
        for code, parameter in view.parameters.items()
        if code not in done
    ]
    return scaled + rest


def _scaled(view: AxisView, own: Scaling, there: Mapping[str, Definition]) -> Iterator[Prepared]:
    """Rows for what scales the others."""
    wanted: dict[str, Fraction] = {}
    counts = own.encoder_fitted or own.encoder
    if counts is not None:
        wanted[COUNTS], wanted[COUNT_TURNS] = counts, Fraction(1)
    gear = own.gear or Fraction(1)
    if SHAFT_TURNS in there:
        wanted[MOTOR_TURNS], wanted[SHAFT_TURNS] = (
            Fraction(gear.numerator),
            Fraction(gear.denominator),
        )
    else:
        wanted[MOTOR_TURNS] = gear
    way = _way_per_turn(own)
    wanted |= _unit_and_feed(own, way, there)
    if counts is not None and counts.denominator == 1 and counts.numerator.bit_count() == 1:
        wanted["encoder_single_turn_bits"] = Fraction(counts.numerator.bit_length() - 1)
    for role in (*TRAVEL_ROLES, *UNIT_ROLES):
        if (definition := there.get(role)) is None:
            continue
        target = view.find(role)
        if (why := never_loaded(definition)) is not None:
            if target is not None:
                yield out_of_it(target, definition, why)
        elif role in wanted:
            yield _worked_out(target, definition, wanted[role])
        elif target is not None:
            consequence = consequence_of(definition, target)
            yield Prepared(target, "decision", consequence, _NO_SCALE, definition=definition)
    yield from _unit_as_text(view, way, there)


def _worked_out(target: Parameter | None, definition: Definition, wanted: Fraction) -> Prepared:
    held = hold(wanted, definition)
    shown = target or held.parameter
    row = Prepared(shown, "exact", consequence_of(definition, shown), definition=definition)
    return held_row(row, held)


def _way_per_turn(own: Scaling) -> Physical | None:
    """Way that the set states for a turn of the driving shaft."""
    unit = own.nominal_unit
    if own.feed is None or unit is None:
        return own.travel.per_turn if own.travel is not None else None
    return unit * own.feed


def _unit_and_feed(
    own: Scaling, way: Physical | None, there: Mapping[str, Definition]
) -> dict[str, Fraction]:
    """Unit codes, and the feed in the unit that they state or that the parameter has."""
    feed = there.get(FEED)
    if way is None or feed is None or way.kind not in _CODES:
        return {}
    codes = dict(zip(UNIT_ROLES, _CODES[way.kind], strict=True)) if UNIT_ROLES[0] in there else {}
    code = read_unit_code(codes[UNIT_ROLES[0]]) if codes else None
    found = {role: Fraction(_as_held(there[role], c)) for role, c in codes.items() if role in there}
    if (feed.unit or "").startswith("user_"):
        unit = code.size if code is not None else None
    else:
        unit = Sizes("nominal", {}, {}).physical(1, feed.unit, None)
    if unit is None or unit.kind != way.kind:
        return {}
    number = way / unit / Fraction(feed.scale)
    turns = Fraction(number.denominator) if FEED_TURNS in there else Fraction(1)
    found[FEED], found[FEED_TURNS] = number * turns * Fraction(feed.scale), turns
    return found


def _as_held(definition: Definition, code: int) -> int:
    """A unit code as the type of the parameter has it: some drives hold it as a signed number."""
    kind = definition.data_type
    signed = kind is not None and kind.family == "integer" and code >= 2**31
    return code - 2**32 if signed else code


def _unit_as_text(
    view: AxisView, way: Physical | None, there: Mapping[str, Definition]
) -> Iterator[Prepared]:
    definition = there.get(_UNIT_TEXT)
    if definition is None or way is None or never_loaded(definition):
        return
    text = parameter_of(definition, "mm" if way.kind == "length" else "deg")
    target = view.find(_UNIT_TEXT) or text
    yield Prepared(
        target, "exact", consequence_of(definition, text), loaded=text, definition=definition
    )


def _carried(
    view: AxisView,
    target: Parameter,
    there: Mapping[str, Definition],
    sizes: Sizes,
    new_sizes: Sizes,
) -> Prepared:
    """One row that scales nothing."""
    kept = view.definitions.get(target.code)
    definition = there.get(target.role) if target.role is not None else None
    known = definition or kept
    for one in (definition, kept):
        if one is not None and (why := never_loaded(one)):
            return out_of_it(target, known, why)
    consequence = consequence_of(known, target)
    if definition is None:
        return _without_equivalent(target, kept, consequence)
    row = Prepared(target, "decision", consequence, definition=definition)
    role = roles.find(target.role) if target.role else None
    if role is not None and role.kind == "increments":
        return replace(row, reason="it belongs to the encoder and to the drive that read it")
    if role is not None and role.name in _DECISIONS:
        return replace(row, reason=_DECISIONS[role.name])
    wanted = _in_their_unit(view, target, definition, sizes, new_sizes)
    if isinstance(wanted, str):
        return replace(row, reason=wanted)
    return (
        fitting(target, definition, consequence)
        if wanted is None
        else held_row(row, hold(wanted, definition))
    )


def _without_equivalent(target: Parameter, kept: Definition | None, usual: str) -> Prepared:
    if target.role in UNIT_ROLES:
        reason = "the unit there is fixed; all values are converted to it"
        return Prepared(target, "no_equivalent", "record", reason, why_never="unit")
    reason = "its meaning is not known" if target.role is None else "nothing there means the same"
    untouched = kept is not None and kept.default is not None and kept.default == target.value
    if untouched:
        reason += "; here it stands as delivered"
    return Prepared(target, "no_equivalent", usual, reason, was_set=not untouched)


def _in_their_unit(
    view: AxisView, target: Parameter, definition: Definition, sizes: Sizes, new_sizes: Sizes
) -> Fraction | str | None:
    """The size of a value in the unit of a definition; None where sizes do not matter.

    Text tells why it cannot be told.
    """
    if isinstance(target.value, str) or target.label is not None or definition.choices:
        return None
    size = view.physical_of(target, sizes)
    role = roles.find(definition.role) if definition.role else None
    kind = role.kind if role is not None else None
    nought = new_sizes.physical(0, definition.unit, kind)
    one = new_sizes.physical(1, definition.unit, kind)
    if size is None and nought is None and target.unit == definition.unit:
        return None
    if size is None or nought is None or one is None:
        which = "here" if size is None else "there"
        return f"the size of its unit is not known {which}"
    if size.kind != one.kind:
        kinds = f"{_words(size.kind)} here, {_words(one.kind)} there"
        return f"it means {kinds} ({size_text(size)})"
    if unlike_amperes(size.unit, one.unit):
        return f"only {'there' if size.unit == 'A' else 'here'} it says if it is r.m.s. or peak"
    return (size - nought) / (one - nought)


def _words(kind: str) -> str:
    return kind.replace("_", " ")
