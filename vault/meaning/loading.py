"""What of a parameter set goes into a drive, and what does not, and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from vault.meaning.consequences import rank, usual_consequence
from vault.meaning.findings import digits
from vault.meaning.held import Held, hold, parameter_of
from vault.meaning.sentences import unit_text, value_text
from vault.model import roles
from vault.model.choices import same_label
from vault.model.parameters import Parameter, code_order
from vault.model.quantities import convert, same_kind
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.model.normalise import Definition

Status = Literal["exact", "rounded", "out_of_range", "no_equivalent", "decision", "never"]
LOADED = ("exact", "rounded")

_NEVER = {
    "read_only": "the drive sets it itself",
    "live": "a live value, no setting",
    "identity": "it belongs to the hardware",
    "safety": "a safety function: set and validated by the machine's own procedure only "
    "(IEC 61800-5-2, ISO 13849-1)",
}


@dataclass(frozen=True, slots=True)
class Prepared:
    """One parameter of the target, and what becomes of it in the drive to be loaded.

    `loaded` is what the load file holds, `offered` what it would hold if it was adapted: a limit
    instead of a value beyond it. `reason` says in words what keeps it out or what was rounded;
    `why_never` is the class of a parameter that is never prepared. Not `was_set`: nobody ever
    touched it in the drive that failed.
    """

    target: Parameter
    status: Status
    consequence: str
    reason: str = ""
    loaded: Parameter | None = None
    offered: Parameter | None = None
    definition: Definition | None = None
    why_never: str | None = None
    was_set: bool = True

    @property
    def shown(self) -> Parameter:
        """The parameter as the drive to be loaded has it, else as the target."""
        return self.loaded or self.target


def never_loaded(definition: Definition) -> str | None:
    """Why a parameter is never prepared for loading; None for one that may be."""
    role = roles.find(definition.role) if definition.role else None
    if definition.safety or definition.group == "safety" or (role and role.safety):
        return "safety"
    if definition.group == "identity" or (role and role.group == "identity"):
        return "identity"
    if definition.volatile or (role and role.volatile):
        return "live"
    return "read_only" if definition.access in ("ro", "const") else None


def consequence_of(definition: Definition | None, parameter: Parameter) -> str:
    """What it can lead to that a parameter is not as it was."""
    role = roles.find(parameter.role) if parameter.role else None
    return usual_consequence(role, definition.group if definition else None)


def out_of_it(target: Parameter, definition: Definition | None, why: str) -> Prepared:
    """A parameter that is never prepared."""
    consequence = consequence_of(definition, target)
    return Prepared(target, "never", consequence, _NEVER[why], definition=definition, why_never=why)


def transfer(
    targets: Iterable[Parameter],
    kept: Mapping[str, Definition],
    fitted: Mapping[str, Definition],
) -> list[Prepared]:
    """Prepare a set for a drive of its own family: `kept` are the definitions it was read with,
    `fitted` those of the firmware that is to be loaded."""
    return [_transferred(target, kept.get(target.code), fitted) for target in targets]


def _transferred(
    target: Parameter, kept: Definition | None, fitted: Mapping[str, Definition]
) -> Prepared:
    definition = fitted.get(target.code)
    known = definition or kept
    if known is not None and (why := never_loaded(known)):
        return out_of_it(target, known, why)
    consequence = consequence_of(known, target)
    if definition is None:
        reason = "the fitted firmware has no such parameter"
        return Prepared(target, "no_equivalent", consequence, reason)
    return fitting(target, definition, consequence)


def fitting(target: Parameter, definition: Definition, consequence: str) -> Prepared:
    """Prepare a value for a definition that has the same meaning, unit for unit."""
    row = Prepared(target, "decision", consequence, definition=definition)
    kind = definition.data_type
    if isinstance(target.value, str) or (kind is not None and not kind.is_number):
        return _text(row, definition)
    if target.label is not None or definition.choices:
        return _choice(row, definition)
    wanted = Fraction(target.value)
    if target.unit != definition.unit:
        if not (target.unit and definition.unit and same_kind(target.unit, definition.unit)):
            there = unit_text(definition.unit).strip() or "no unit"
            return replace(row, reason=f"it is in {there} there: nothing tells how they compare")
        wanted = convert(target.value, target.unit, definition.unit)
    return held_row(row, hold(wanted, definition))


def held_row(row: Prepared, held: Held) -> Prepared:
    """A row with the number that the drive can hold."""
    if held.fit == "out_of_range":
        shown = value_text(held.parameter)
        reason = f"beyond the range there; the nearest that the drive takes is {shown}"
        return replace(row, status="out_of_range", reason=reason, offered=held.parameter)
    if held.fit == "exact":
        return replace(row, status="exact", loaded=held.parameter)
    off = f"{digits(float(held.error))}{unit_text(held.parameter.unit)}"
    steps = held.steps
    in_steps = f", {digits(float(steps), 2)} of a step" if steps is not None else ""
    reason = f"rounded to {value_text(held.parameter)}: {off} off{in_steps}"
    return replace(row, status="rounded", reason=reason, loaded=held.parameter)


def _text(row: Prepared, definition: Definition) -> Prepared:
    target = row.target
    is_text = definition.data_type is None or not definition.data_type.is_number
    if not isinstance(target.value, str) or not is_text:
        return replace(row, reason="text on one side, a number on the other")
    return replace(row, status="exact", loaded=parameter_of(definition, target.value))


def _choice(row: Prepared, definition: Definition) -> Prepared:
    """A choice goes by its meaning; one that has no name by its number."""
    target = row.target
    named = target.label
    if named is None:
        if not isinstance(target.raw, int):
            return replace(row, reason="a choice there, a number here")
        held = hold(Fraction(target.raw) * Fraction(definition.scale), definition)
        return held_row(row, held)
    found = [
        raw
        for raw, label in definition.choices.items()
        if same_label(label, named, definition.role)
    ]
    if isinstance(target.raw, int) and target.raw in found:
        found = [target.raw]
    if len(found) != 1:
        there = plural(len(definition.choices), "choice")
        return replace(row, reason=f'none of the {there} there is called "{named}"')
    return replace(row, status="exact", loaded=parameter_of(definition, found[0]))


def only_fitted(
    targets: Iterable[Parameter], fitted: Mapping[str, Definition], by_role: bool = False
) -> list[Definition]:
    """Settings of the drive to be loaded that the target does not tell: they stay as they are."""
    codes = {target.code for target in targets} if not by_role else set()
    named = {target.role for target in targets if target.role}
    found = [
        definition
        for code, definition in fitted.items()
        if code not in codes
        and not (by_role and definition.role in named)
        and never_loaded(definition) is None
    ]
    return sorted(found, key=lambda definition: code_order(definition.code))


def worst_first(rows: Iterable[Prepared]) -> list[Prepared]:
    """Rows by consequence, then by code."""
    return sorted(rows, key=lambda row: (rank(row.consequence), code_order(row.target.code)))
