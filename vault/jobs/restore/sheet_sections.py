"""What a person does to restore an axis, in order: the content of the restore sheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from vault.jobs.restore.controller_side import controller_sections, restart_lines
from vault.jobs.restore.load_file import in_loading_order
from vault.jobs.restore.sheet_parts import SIGN_OFF, TICK, Kind, SheetLine, SheetSection
from vault.jobs.state.selectors import view_of
from vault.jobs.trials.kept import latest_result
from vault.jobs.trials.trace_told import reference_trace
from vault.meaning.readings import Readings
from vault.meaning.sentences import number_text, value_text
from vault.model.wording import plural
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.restore.plan import RestorePlan
    from vault.jobs.trials.trace_told import TraceTold
    from vault.meaning.axis_view import AxisView
    from vault.meaning.loading import Prepared


def sections(plan: RestorePlan) -> list[SheetSection]:
    """The whole sheet."""
    view = view_of(plan.target)
    return [
        _cautions(view),
        _people(),
        _hardware(plan),
        _settings(plan, "cabinet", "Cabinet settings, by hand", _CABINET),
        _settings(plan, "controller_link", "Controller link", _LINK),
        *controller_sections(plan.vault, plan.address, plan.target),
        _load(plan),
        *_by_hand(plan),
        *_special(plan),
        *_never(plan),
        _restart(plan),
        _home(plan, view),
        _direction(view),
        _move(plan, view),
        _proof(plan),
        _sign_off(plan),
    ]


def _texts(*texts: str, kind: Kind = "text") -> Iterator[SheetLine]:
    return (SheetLine(text, kind) for text in texts)


def _cautions(view: AxisView) -> SheetSection:
    lines = [
        *_texts(
            "Lock out and tag out the supply before anything is unplugged, and test for absence of "
            "voltage.",
            "The DC link holds its charge after power-off: wait as long as the drive's plate says, "
            "then measure.",
            "Nobody in reach of the axis from the first power-on until the measured move is right. "
            "Unexpected start-up: ISO 14118.",
            "First motion at reduced speed, by hold-to-run, with the emergency stop in hand.",
            kind="warning",
        )
    ]
    if view.may_hang:
        known = "The load hangs" if view.is_vertical else "If the load hangs, which no record tells"
        text = f"{known}: prop it up before the drive is switched off or unplugged. A brake "
        lines.insert(2, SheetLine(f"{text}alone does not secure people.", "warning"))
    return SheetSection("cautions", "Cautions", tuple(lines))


def _people() -> SheetSection:
    return SheetSection(
        "people",
        "Who may do this",
        tuple(
            _texts(
                "Qualified persons who are authorised at this site, under the local codes and the "
                "machine's own risk assessment; electrical work by licensed electricians where the "
                "law says so. This sheet prepares the work and replaces neither.",
                "Parameters are loaded by a person with the maker's own tool; axisvault never "
                "writes to a drive.",
            )
        ),
    )


def _hardware(plan: RestorePlan) -> SheetSection:
    lines = [SheetLine("Compare the plates of what is fitted with this table.", "tick")]
    for item in plan.hardware.lines:
        lines += _texts(*item.sentences, kind="warning")
    for row in plan.hardware.corrections:
        after = value_text(row.loaded or row.offered)
        is_made = row.target.code not in plan.left
        done = "In the load file" if is_made else "Proposed, not in the load file"
        lines.append(
            SheetLine(
                f"{done}: {row.target.name} ({row.target.code}) {value_text(row.target)} becomes "
                f"{after}: {row.reason}.",
                "text" if is_made else "warning",
            )
        )
    rows = tuple(
        (item.item, item.kept or "not recorded", item.fitted or "", item.verdict_text)
        for item in plan.hardware.lines
    )
    return SheetSection(
        "hardware", "Hardware match", tuple(lines), ("plate", "set made for", "fitted", ""), rows
    )


_CABINET = "No export holds these. Copy them from the old drive or from this table before power-on."
_LINK = "The controller's side must agree with the drive's."


def _settings(plan: RestorePlan, name: str, title: str, text: str) -> SheetSection:
    recorded = getattr(plan.axis, name) if plan.axis is not None else {}
    rows = tuple((key.replace("_", " "), str(value), TICK) for key, value in recorded.items())
    if rows:
        return SheetSection(
            name, title, (SheetLine(text),), ("setting", "as recorded", "done"), rows
        )
    lines = (
        SheetLine("Nothing is recorded in axis.yaml: read it off the old drive.", "warning"),
        SheetLine("Settings found", "blank"),
    )
    return SheetSection(name, title, lines)


def _load(plan: RestorePlan) -> SheetSection:
    file = plan.load_file
    if file is None:
        return SheetSection("load", "Load", (SheetLine("There is no load file.", "warning"),))
    lines = [
        SheetLine(f"Load {file.name} with the maker's own tool, axis disabled.", "tick"),
        SheetLine(
            _kept(plan)
            if file.is_kept
            else f"It is not the kept export as it was, because {plan.not_kept}; it holds "
            f"{plural(len(plan.loaded), 'parameter')}."
        ),
    ]
    if codes := [row.shown.code for row in plan.not_understood]:
        count = number_text(len(codes))
        text = (
            f"Without a role: {count} of {plural(len(plan.loaded), 'value')} in the file "
            f"({_first(codes, 6, ', ')}). Such a value is loaded as it was, and nothing here tells "
            "what it does."
        )
        lines.append(SheetLine(text, "warning"))
    lines += [
        SheetLine(f"{row.target.name} ({row.shown.code}): {row.reason}.") for row in plan.rounded
    ]
    corrected = {row.target.code for row in plan.hardware.corrections}
    lines += [
        SheetLine(f"{value.code} is adapted to raw {value.raw}: {value.reason}.", "warning")
        for value in plan.adapted
        if value.code not in corrected
    ]
    return SheetSection("load", "Load", tuple(lines))


def _first(names: list[str], most: int, between: str = "; ") -> str:
    more = f" and {number_text(len(names) - most)} more" if len(names) > most else ""
    return f"{between.join(names[:most])}{more}"


def _by_hand(plan: RestorePlan) -> Iterator[SheetSection]:
    """What the load file does not hold, worst first."""
    if plan.left_out:
        yield SheetSection(
            "left_out",
            "Left out of the target: to be set by hand",
            (SheetLine("Its lines could not be read. Nothing proves these but who sets them."),),
            ("parameter", "line as it was", "why it was left out", "done"),
            tuple(
                (str(named or "not known"), f"{line.line}: {line.text}", line.reason, TICK)
                for line, named in plan.left_out
            ),
        )
    if plan.open_rows:
        rows = tuple(
            (row.consequence, f"{row.target.name} ({row.target.code}): {value_text(row.target)}",
             row.reason, TICK)
            for row in plan.open_rows
        )  # fmt: skip
        yield SheetSection(
            "open",
            "Not in the load file: to be decided",
            (SheetLine("Decide on every line before the axis moves, and tick it."),),
            ("", "parameter as it was", "why", "done"),
            rows,
        )
    if plan.untouched:
        names = "; ".join(f"{r.target.name} ({r.target.code})" for r in plan.untouched)
        text = f"Without a counterpart there, but as delivered in the drive that failed: {names}."
        yield SheetSection("untouched", "What nobody had set", (SheetLine(text),))
    if plan.added:
        names = _first([f"{d.name} ({d.code})" for d in plan.added], 12)
        text = f"The target does not tell these; they stay as the drive has them: {names}."
        yield SheetSection("added", "Settings that the drive has beside", (SheetLine(text),))


def _special(plan: RestorePlan) -> Iterator[SheetSection]:
    """Order, access level, restart: where the maker's tool does not see to it itself."""
    rows = in_loading_order(plan.rows)
    lines = []
    if ordered := [r for r in rows if r.definition is not None and r.definition.order is not None]:
        lines.append(
            SheetLine(f"If typed in by hand, in this order: {_codes(ordered)}; then the rest.")
        )
    levels: dict[str, list[Prepared]] = {}
    for row in rows:
        if row.definition is not None and row.definition.level is not None:
            levels.setdefault(row.definition.level, []).append(row)
    for level, members in levels.items():
        lines.append(SheetLine(f"Access level {level} is needed for {_codes(members)}.", "tick"))
    if lines:
        yield SheetSection("special", "Order and access levels", tuple(lines))


def _codes(rows: Iterable[Prepared]) -> str:
    return ", ".join(row.shown.code for row in rows)


def _never(plan: RestorePlan) -> Iterator[SheetSection]:
    if safety := plan.never("safety"):
        text = (
            "These are never prepared for loading. Have them set and validated by the machine's "
            "own procedure (IEC 61800-5-2, ISO 13849-1), by whoever is authorised for it."
        )
        rows = tuple(
            (f"{row.target.name} ({row.target.code})", value_text(row.target)) for row in safety
        )
        lines = (SheetLine(text, "warning"), SheetLine("Validated, by", "blank"))
        yield SheetSection("safety", "Safety functions", lines, ("parameter", "target"), rows)
    file = plan.load_file
    if (others := _no_settings(plan)) and not (file is not None and file.is_kept):
        text = f"Never loaded either: {others}. plan.json lists them."
        yield SheetSection("never", "What else is not loaded", (SheetLine(text),))


def _kept(plan: RestorePlan) -> str:
    """What the kept export holds: what is no setting stays in it, since it is not changed."""
    others = _no_settings(plan, safety=("of a safety function, read-only",) * 2)
    beside = (
        f" So it also holds what is no setting: {others}. Where the maker's tool lets you choose, "
        "leave these out; plan.json lists them."
    )
    return f"It is the kept export, byte for byte.{beside if others else ''}"


def _no_settings(plan: RestorePlan, **more: tuple[str, str]) -> str:
    """How many values the target has that are never loaded, by why."""
    return "; ".join(
        plural(len(found), f"value {single}", f"values {many}")
        for why, (single, many) in (_NO_SETTINGS | more).items()
        if (found := plan.never(why))
    )


_CONVERTED = "from which everything is converted"
_NO_SETTINGS = {
    "read_only": ("that the drive sets itself", "that the drive sets itself"),
    "live": ("that is live", "that are live"),
    "identity": ("that belongs to the hardware", "that belong to the hardware"),
    "unit": (f"that states a unit, {_CONVERTED}", f"that state a unit, {_CONVERTED}"),
}


def _restart(plan: RestorePlan) -> SheetSection:
    rows = [
        row
        for row in plan.loaded
        if row.definition is not None and row.definition.effective == "after_restart"
    ]
    lines = [
        SheetLine("Switch the drive off and on again; wait until it reports no fault.", "tick")
    ]
    if rows:
        lines.append(SheetLine(f"Takes effect by that only: {_codes(rows)}."))
    lines += restart_lines(plan.vault, plan.address)
    return SheetSection("restart", "Restart", tuple(lines))


def _home(plan: RestorePlan, view: AxisView) -> SheetSection:
    readings = Readings(view)

    def setting(role: str) -> str | None:
        parameter = view.find(role)
        if parameter is None:
            return None
        return f"{parameter.name}: {readings.of(parameter).told}"

    lines = [
        SheetLine(
            "Absolute encoder: after another drive, motor or encoder, positions are wrong until "
            "the axis is referenced anew.",
            "warning",
        ),
        SheetLine(
            "Reference the axis as its operating instructions say, at reduced speed.", "tick"
        ),
    ]
    roles = ("homing_method", "home_offset", "encoder_absolute_offset")
    lines += [SheetLine(f"{text}.") for role in roles if (text := setting(role)) is not None]
    lines.append(SheetLine("Position at a known mark after referencing", "blank"))
    return SheetSection("home", "Absolute encoder and home", tuple(lines))


def _direction(view: AxisView) -> SheetSection:
    lines = [
        SheetLine(
            "Jog a little in both directions at reduced speed: it moves the way the sign says.",
            "tick",
        ),
        SheetLine("Over-travel inputs: actuate each by hand; motion that way must stop.", "tick"),
    ]
    if view.has_brake is not False and (view.is_vertical or view.has_brake):
        lines.append(
            SheetLine(
                "Brake: it opens before motion, and holds the load when the drive is disabled; "
                "watch for sagging.",
                "tick",
            )
        )
    return SheetSection("direction", "Direction and brake, at reduced speed", tuple(lines))


def _move(plan: RestorePlan, view: AxisView) -> SheetSection:
    travel = view.scaling.travel
    distance = "10 mm" if travel is None or travel.per_turn.kind == "length" else "10 deg"
    return SheetSection(
        "move",
        "Short measured move",
        (
            SheetLine(
                f"Command {distance} away from both ends at reduced speed, and measure with a rule "
                "or dial gauge what the axis really does. It shows wrong scaling before it hurts.",
                "tick",
            ),
            SheetLine("Commanded", "blank"),
            SheetLine("Measured", "blank"),
        ),
    )


def _proof(plan: RestorePlan) -> SheetSection:
    name = str(plan.address)
    return SheetSection(
        "proof",
        "Export again, and have it checked",
        (
            SheetLine("Export the parameters of the drive with the maker's own tool.", "tick"),
            SheetLine(
                f'axisvault restore check {name} EXPORT --moved "COMMANDED=MEASURED"', "tick"
            ),
            SheetLine("An export of before this plan, or the load file itself, proves nothing."),
            SheetLine("It says restored, or what is not and what to do about it.", "text"),
        ),
    )


def _sign_off(plan: RestorePlan) -> SheetSection:
    tried = latest_result(plan.vault, plan.address)
    told = f"Try it when it is restored: axisvault trial template {plan.address} --out FILE"
    if tried is not None:
        told += (
            f". The latest trial, of {minute_text(tried.trial.taken_at)} ({tried.trial.name}): "
            f"{tried.verdict.summary}"
        )
    traced = reference_trace(plan.vault, plan.address)
    moves = () if traced is None else (SheetLine(_traced_text(plan, traced)),)
    return SheetSection(
        SIGN_OFF,
        "Sign-off",
        (
            *_texts(
                "Restored and checked, name",
                "Date and time",
                "Work order",
                "Released for production, name",
                kind="blank",
            ),
            SheetLine(told),
            *moves,
        ),
    )


def _traced_text(plan: RestorePlan, traced: TraceTold) -> str:
    """The latest trace of the reference move, and how a restore is proven by another one."""
    record = traced.record
    return (
        f"The latest trace, of {minute_text(record.taken_at)} ({record.name}): {traced.summary} "
        f"Record this move again: axisvault restore check {plan.address} EXPORT --trace FILE "
        f'--move "{record.move}"'
    )
