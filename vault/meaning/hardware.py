"""Does the hardware that is fitted fit the set that is to be loaded, and what would change?

Every line says what was there, what is fitted and what follows from it. Corrections keep what a
value does on the machine; nothing is corrected here, only proposed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from vault.behaviour.position import range_of, stroke, way_of_motor_turn
from vault.behaviour.refit import counting_ratio, rating_ratio, same_size
from vault.meaning.findings import digits, finding, in_words
from vault.meaning.held import hold
from vault.meaning.loading import LOADED, Prepared, consequence_of, held_row, never_loaded
from vault.meaning.sentences import number_text, size_text, value_text
from vault.model.firmware import is_version
from vault.model.quantities import physical
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Finding
    from vault.model.normalise import Definition
    from vault.model.parameters import Parameter
    from vault.model.quantities import Measure, Physical
    from vault.model.replacement import Replacement

COUNTS_ALREADY = "The set counts as many increments already."
COUNTS_OTHERWISE = (
    "The set counts {counted} increments a turn, the encoder gives {fitted}: every commanded way "
    "would really be {times} times what it says, until the resolution is set."
)
READS_ITSELF = "The drive reads the resolution of the encoder itself."
REFERENCE = "The absolute position of another encoder is another one: reference the axis anew."
RANGE = "The encoder knows its place over {distance}."
RANGE_AND_STROKE = "The encoder knows its place over {distance}; the stroke is {stroke}."
RANGE_SHORT = (
    "The encoder knows its place over {distance}, less than the stroke of {stroke}: after "
    "power-off it may report a wrong place."
)
OTHER_RATING = (
    "Its rated {name} is {new} instead of {old}: limits in permille of it would come to {times} "
    "times what they were."
)
RATING_UNKNOWN = (
    "Its rated torque and current are not told: what limits in permille of them come to cannot be "
    "said. Read them off its plate."
)
CHECK_MOTOR = "Loop gains, brake and thermal data belong to the motor: have them checked."
DRIVE_TOO_SMALL = (
    "The drive is rated {drive}, the motor {motor}: it cannot load the motor to its rating for "
    "long."
)
LACKS = "It lacks {count}: {names}."
ADDS = "It adds {count}, which stay as delivered: {names}."
NARROWER = "{count} beyond its narrower range: {names}."
OTHER_STEP = "{count} in another step, written anew: {names}."
ALL_ALIKE = "It has the same parameters, in the same ranges and steps."
FIRMWARE_UNKNOWN = (
    "Not known to the dictionary: no rule of it names {firmware}, and no export of the family in "
    "the vault had it. What it lacks or holds otherwise cannot be said: compare its notes of "
    "changes and what the drive lists."
)
NO_VERSION = "Not known to the dictionary: {firmware!r} is no version. Read it off the drive."

Verdict = Literal["same", "not_told", "compatible", "unknown", "not_compatible"]
_ORDER: tuple[Verdict, ...] = ("same", "not_told", "compatible", "unknown", "not_compatible")
_WORDS: dict[Verdict, str] = {
    "same": "same",
    "not_told": "to be read off",
    "compatible": "compatible",
    "unknown": "not known",
    "not_compatible": "does not fit",
}
_CORRECTED, _REFERENCED = "correction", ("referencing",)


@dataclass(frozen=True, slots=True)
class Fitted:
    """One thing on a nameplate: what the set was made for, what is fitted, what follows.

    `needs` is what has to be done before a compatible one fits: `correction`, `referencing`.
    """

    item: str
    kept: str | None
    fitted: str | None
    verdict: Verdict
    sentences: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    needs: tuple[str, ...] = ()

    @property
    def verdict_text(self) -> str:
        """The verdict in words, with what it needs."""
        needs = f" only after {' and '.join(self.needs)}" if self.needs else ""
        return f"{_WORDS[self.verdict]}{needs}"


@dataclass(frozen=True, slots=True)
class HardwareMatch:
    """All lines, and corrections that keep what the values do; `row.target` is before, the loaded
    or offered parameter after."""

    lines: tuple[Fitted, ...]
    corrections: tuple[Prepared, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The worst of all lines; `not_told` where nobody read the plates."""
        return max((line.verdict for line in self.lines), key=_ORDER.index, default="not_told")


def match_hardware(
    view: AxisView,
    fitted: Replacement,
    definitions: Mapping[str, Definition],
    drive: Fitted,
    firmware: Fitted,
) -> HardwareMatch:
    """Hold the fitted hardware against a state; lines on the drive itself are given.

    `definitions` are those of the drive that is to be loaded.
    """
    by_role = {d.role: d for d in definitions.values() if d.role is not None}
    corrections = [*_encoder_correction(view, fitted, by_role), *_ratings(view, fitted, by_role)]
    lines = [
        drive,
        firmware,
        _encoder(view, fitted, bool(by_role.get("position_encoder_increments"))),
        _range(view, fitted),
        _motor(view, fitted),
        _current(view, fitted),
    ]
    return HardwareMatch(tuple(line for line in lines if line is not None), tuple(corrections))


def plain_line(item: str, kept: str | None, fitted: str | None, other: Verdict) -> Fitted:
    """A line of which no more is known than whether both are the same."""
    if fitted is None:
        return Fitted(item, kept, None, "not_told")
    if kept is not None and kept.strip() == fitted.strip():
        return Fitted(item, kept, fitted, "same")
    return Fitted(item, kept, fitted, other)


def _kept_bits(view: AxisView, name: str) -> int | None:
    text = view.nameplate.get(f"encoder_{name}_bits", "").strip()
    if text.isdecimal():
        return int(text)
    number = view.number(f"encoder_{name}_bits")
    if number is not None and number.denominator == 1:
        return int(number)
    record = view.axis.encoder if view.axis is not None else None
    return getattr(record, f"{name}_bits") if record is not None else None


def _encoder(view: AxisView, fitted: Replacement, counts_are_set: bool) -> Fitted:
    """Bits of one turn: as many increments as the set counts, or every way is another one."""
    new, kept = fitted.encoder_single_turn_bits, _kept_bits(view, "single_turn")
    line = plain_line("encoder, bits of one turn", _text(kept), _text(new), "compatible")
    counted = view.scaling.encoder
    if new is None or line.verdict == "same" or counted is None or not counts_are_set:
        if line.verdict == "compatible":
            return replace(line, sentences=(READS_ITSELF, REFERENCE), needs=_REFERENCED)
        return line
    ratio = counting_ratio(counted, new)
    if ratio.value == 1:
        return replace(line, sentences=(COUNTS_ALREADY, REFERENCE), needs=_REFERENCED)
    said = COUNTS_OTHERWISE.format(
        counted=digits(float(counted), 9), fitted=number_text(2**new), times=digits(ratio.value, 6)
    )
    return replace(
        line,
        sentences=(said, REFERENCE),
        findings=(finding("travel ratio", ratio),),
        needs=(_CORRECTED, *_REFERENCED),
    )


def _encoder_correction(
    view: AxisView, fitted: Replacement, by_role: Mapping[str, Definition]
) -> Iterator[Prepared]:
    bits = fitted.encoder_single_turn_bits
    target = view.find("position_encoder_increments")
    definition = by_role.get("position_encoder_increments")
    if bits is None or target is None or definition is None or never_loaded(definition):
        return
    turns = view.number("position_encoder_motor_revolutions") or Fraction(1)
    yield from _corrected(
        target, definition, 2**bits * turns, f"the encoder has {bits} bits a turn"
    )


def _corrected(
    target: Parameter, definition: Definition, wanted: Fraction, why: str
) -> Iterator[Prepared]:
    """A correction, if there is anything to correct."""
    held = hold(wanted, definition)
    if held.parameter.value == target.value and held.fit == "exact":
        return
    row = Prepared(target, "exact", consequence_of(definition, target), definition=definition)
    row = held_row(row, held)
    said = f"{why}; {row.reason}" if row.reason else why
    yield replace(row, reason=said)


def _range(view: AxisView, fitted: Replacement) -> Fitted:
    """Turns that a multi-turn encoder counts, against the stroke."""
    new, kept = fitted.encoder_multi_turn_bits, _kept_bits(view, "multi_turn")
    line = plain_line("encoder, bits of turns", _text(kept), _text(new), "compatible")
    state = view.state
    if new is None or line.verdict == "same" or state.asked(way_of_motor_turn) is None:
        return line
    way, whole = range_of(state, new), state.asked(stroke)
    findings = (finding("absolute range", way),)
    distance = in_words(way)
    if whole is None:
        return replace(line, sentences=(RANGE.format(distance=distance),), findings=findings)
    if way.value < whole.value:
        said = RANGE_SHORT.format(distance=distance, stroke=in_words(whole))
        return replace(line, verdict="not_compatible", sentences=(said,), findings=findings)
    said = RANGE_AND_STROKE.format(distance=distance, stroke=in_words(whole))
    return replace(line, sentences=(said,), findings=findings)


def _motor(view: AxisView, fitted: Replacement) -> Fitted:
    """Another motor: permille of its rating are another torque."""
    recorded = view.axis.motor.code if view.axis is not None and view.axis.motor else None
    kept = _catalogue(view, "motor_catalogue_number") or view.nameplate.get("motor") or recorded
    line = plain_line("motor", kept, fitted.motor, "compatible")
    said = []
    if line.verdict == "compatible" and fitted.rated_torque is None:
        said.append(RATING_UNKNOWN)
    for name, unit in (("torque", "rated_torque"), ("current", "rated_current")):
        old = getattr(view.scaling, unit)
        new = _size(getattr(fitted, unit))
        if old is None or new is None or old.number() == new.number():
            continue
        times = digits(rating_ratio(old, new))
        said.append(
            OTHER_RATING.format(name=name, new=size_text(new), old=size_text(old), times=times)
        )
        line = replace(line, verdict="compatible", needs=(_CORRECTED,))
    if line.verdict == "compatible" and line.fitted is not None:
        said.append(CHECK_MOTOR)
    return replace(line, sentences=tuple(said))


def _current(view: AxisView, fitted: Replacement) -> Fitted | None:
    """What the drive can give against what the motor is rated for."""
    drive = _size(fitted.drive_rated_current)
    motor = _size(fitted.rated_current) or view.scaling.rated_current
    if drive is None or motor is None:
        return None
    line = Fitted("drive, rated current", size_text(motor), size_text(drive), "same")
    if drive.number() >= motor.number():
        return line
    said = DRIVE_TOO_SMALL.format(drive=size_text(drive), motor=size_text(motor))
    return replace(line, verdict="not_compatible", sentences=(said,))


def _ratings(
    view: AxisView, fitted: Replacement, by_role: Mapping[str, Definition]
) -> Iterator[Prepared]:
    """The rating itself, and every value in permille of it such that it stays what it was."""
    for name in ("rated_torque", "rated_current"):
        old, new = getattr(view.scaling, name), _size(getattr(fitted, name))
        if old is None or new is None or not old.ratio or old.number() == new.number():
            continue
        for parameter in view.parameters.values():
            definition = by_role.get(parameter.role or "")
            if definition is None or never_loaded(definition) or isinstance(parameter.value, str):
                continue
            if parameter.role == f"motor_{name}":
                wanted = _in_unit(new, definition)
                if wanted is not None:
                    yield from _corrected(parameter, definition, wanted, "the plate of the motor")
            elif (parameter.unit or "").endswith(name) and definition.unit == parameter.unit:
                wanted = same_size(Fraction(parameter.value), old, new)
                size = view.physical_of(parameter)
                stays = f"it stays {size_text(size)}" if size is not None else "it stays the same"
                yield from _corrected(parameter, definition, wanted, stays)


def _in_unit(size: Physical, definition: Definition) -> Fraction | None:
    one = physical(1, definition.unit)
    return size.number() / one.number() if one is not None and one.kind == size.kind else None


def firmware_line(
    kept: str | None,
    fitted: str | None,
    rows: list[Prepared],
    added: list[Definition],
    *,
    is_known: bool = True,
) -> Fitted:
    """What another firmware lacks, adds, or holds otherwise, as far as it `is_known`."""
    line = plain_line("firmware", kept, fitted, "compatible" if is_known else "unknown")
    if fitted is None or line.verdict == "same":
        return line
    said = []
    if not is_known:
        unknown = FIRMWARE_UNKNOWN if is_version(fitted) else NO_VERSION
        said.append(unknown.format(firmware=fitted))
    if missing := [row.target for row in rows if row.status == "no_equivalent"]:
        said.append(LACKS.format(count=plural(len(missing), "parameter"), names=_listed(missing)))
    if added:
        names = [f"{d.name} ({d.code})" for d in added]
        said.append(ADDS.format(count=plural(len(names), "parameter"), names=_some(names)))
    if narrower := [row.target for row in rows if row.status == "out_of_range"]:
        said.append(NARROWER.format(count=plural(len(narrower), "value"), names=_listed(narrower)))
    other = [
        row
        for row in rows
        if row.status in LOADED and row.loaded is not None and row.loaded.raw != row.target.raw
    ]
    if other:
        anew = _listed([row.target for row in other])
        said.append(OTHER_STEP.format(count=plural(len(other), "value"), names=anew))
    if not said:
        said.append(ALL_ALIKE)
    return replace(line, sentences=tuple(said))


def _listed(parameters: list[Parameter]) -> str:
    return _some([f"{p.name} ({p.code}), {value_text(p)}" for p in parameters])


def _some(names: list[str], most: int = 5) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return "; ".join(names[:most]) + more


def _catalogue(view: AxisView, role: str) -> str | None:
    found = view.find(role)
    return str(found.value) or None if found is not None else None


def _size(measure: Measure | None) -> Physical | None:
    return measure.physical() if measure is not None else None


def _text(number: int | None) -> str | None:
    return None if number is None else str(number)
