"""What somebody asks of a restore: which plan to make, and by which export to check it."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from vault.jobs.intake.visit import parse_visit
from vault.meaning.measured_move import typed_move
from vault.model.errors import WrongUsage
from vault.model.replacement import Replacement
from vault.model.schema_words import in_words
from vault.model.typed_text import required_text, text_or_none, whole_number
from vault.model.visible_text import one_line

if TYPE_CHECKING:
    from vault.jobs.intake.visit import Visit

_BITS_HINT = "encoder bits are written as 24+12, or 20"


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """A plan for the axis that `selector` names, or for one of its states.

    Without a moment the golden baseline is restored, else the latest snapshot. `fitted` is the
    hardware, of which what is not known is taken to be as it was. `onto` names another family.
    Corrections, and limits instead of values beyond them, are taken with `adapt` only, and not of
    the codes in `leave`.
    `override_reason` is why a target that is not whole is restored all the same.
    """

    selector: str
    fitted: Replacement = field(default_factory=Replacement)
    onto: str | None = None
    adapt: bool = False
    override_reason: str | None = None
    leave: frozenset[str] = frozenset()

    def left_as_they_were(self, proposed: Collection[str]) -> frozenset[str]:
        """Codes of proposed corrections that are not made.

        Raises WrongUsage where one is to be left that is not proposed.
        """
        if not self.adapt:
            return frozenset(proposed)
        if unknown := self.leave.difference(proposed):
            known = ", ".join(sorted(proposed)) or "none"
            raise WrongUsage(
                f"no correction of {sorted(unknown)[0]} is proposed", hint=f"there are: {known}"
            )
        return self.leave


def parse_plan_request(
    selector: str,
    nameplate: Replacement | None = None,
    /,
    *,
    drive: str | None = None,
    firmware: str | None = None,
    encoder_bits: str | None = None,
    motor: str | None = None,
    rated_current: str | None = None,
    rated_torque: str | None = None,
    onto: str | None = None,
    adapt: bool = False,
    override_reason: str | None = None,
    leave: Collection[str] = (),
) -> PlanRequest:
    """Check what a person typed, which goes before what a nameplate says.

    Raises WrongUsage naming what is wrong.
    """
    texts = {"drive": drive, "firmware": firmware, "motor": motor}
    plate: dict[str, Any] = {
        key: typed for key, text in texts.items() if (typed := text_or_none(text))
    }
    for key, text, unit in (
        ("rated_current", rated_current, "A"),
        ("rated_torque", rated_torque, "N*m"),
    ):
        if typed := text_or_none(text):
            plate[key] = f"{typed} {unit}" if typed[-1].isdigit() else typed
    single, _, multi = (encoder_bits or "").partition("+")
    for key, text in (("encoder_single_turn_bits", single), ("encoder_multi_turn_bits", multi)):
        bits = whole_number(text, "encoder bits", _BITS_HINT)
        if bits is not None:
            plate[key] = bits
    known = nameplate.model_dump(exclude_none=True) if nameplate is not None else {}
    try:
        fitted = Replacement.model_validate({**known, **plate})
    except ValidationError as error:
        raise _wrong_plate(error) from error
    return PlanRequest(
        selector,
        fitted,
        text_or_none(onto),
        adapt,
        one_line(override_reason) or None,
        frozenset(leave),
    )


def _wrong_plate(error: ValidationError) -> WrongUsage:
    first = error.errors(include_url=False)[0]
    name = str(first["loc"][0]).replace("_", " ")
    hint = _BITS_HINT if name.startswith("encoder") else None
    return WrongUsage(f"{name}: {in_words(first)}", hint=hint)


def parse_as_left(
    by: str,
    *,
    taken_at: str | None = None,
    work_order: str | None = None,
    note: str | None = None,
    family: str | None = None,
    channel: str | None = None,
    override_reason: str | None = None,
    node_id: str | None = None,
    partial: bool = False,
    moved: str | None = None,
    commanded: str | None = None,
    measured: str | None = None,
) -> Visit:
    """Check what a person typed about an as-left export and its measured move.

    The move is `moved`, COMMANDED=MEASURED, or its two sides apart. Raises WrongUsage naming what
    is wrong.
    """
    visit = parse_visit(
        by,
        "as-left",
        taken_at,
        work_order,
        note,
        family=family,
        channel=channel,
        override_reason=override_reason,
        node_id=node_id,
        partial=partial,
    )
    move = text_or_none(moved)
    if move is None and (text_or_none(commanded) or text_or_none(measured)):
        move = f"{required_text(commanded, 'commanded')}={required_text(measured, 'measured')}"
    if move is not None:
        move = typed_move(move)
    return replace(visit, moved=move)
