"""Two sides of a change for the explainers' tests. All axes and values are invented."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from math import isclose
from re import compile as pattern

from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change, Kind
from vault.meaning.consequences import CONSEQUENCES, usual_consequence
from vault.meaning.explainers import registered
from vault.model import roles
from vault.model.parameters import Parameter, ParameterSet
from vault.model.unit_table import UNITS
from vault.store.files.edited_files import cached_axis
from vault.store.files.parameters_text import parameters_text

Number = int | Decimal | str
Entry = Number | tuple[Number, str | None] | tuple[Number, str | None, str | None]
"""A value; with its unit; with the label of a choice."""

_NO_WORDS = pattern(r"\bNone\b|\bnan\b|  |\.\.|[{}]")

UNITS_TOLD = {*UNITS, "1", "V/Hz"}

# Screw of 20 mm behind a gear of 2:1: 10 mm a motor revolution. Room of 25 mm at each end.
LIFT = """
schema: axisvault/axis/1
mechanics:
  kind: ball_screw
  lead: 20 mm
  gearbox: {motor: 2, output: 1}
  orientation: vertical
  moving_mass: 60 kg
  efficiency: "0.9"
  stroke: 650 mm
  hard_stop_low: -25 mm
  hard_stop_high: 625 mm
  reference_move: 300 mm
  max_speed: 400 mm/s
motor: {rated_torque: 3.2 N*m, rated_speed: 3000 r/min, max_speed: 4500 r/min}
brake: {fitted: true}
controller_link: {node_address: 13, task_period: 1 ms, process_data_in: 24 byte}
"""
SLIDE = LIFT.replace("orientation: vertical", "orientation: horizontal")
"""The lift laid down: what hangs on gravity differs, and nothing else."""
LIFT_LESS_BRAKE = LIFT.replace("fitted: true", "fitted: false")
# 40:1, stops at 205 degrees.
TABLE = """
schema: axisvault/axis/1
mechanics:
  kind: rotary_table
  gearbox: {motor: 40, output: 1}
  stroke: 410 deg
  hard_stop_low: -205 deg
  hard_stop_high: 205 deg
  reference_move: 90 deg
motor: {rated_speed: 3000 r/min, max_speed: 4500 r/min}
"""
ENDLESS_TABLE = """
schema: axisvault/axis/1
mechanics: {kind: rotary_table, gearbox: {motor: 40, output: 1}}
"""
# Four poles, 50 Hz.
PUMP = """
schema: axisvault/axis/1
mechanics: {kind: rotary}
motor: {rated_speed: 1440 r/min, max_speed: 1800 r/min}
"""

SCREW: dict[str, Entry] = {
    "position_encoder_increments": (2**20, "increments"),
    "gear_ratio_motor_revolutions": (2, "rev"),
    "feed_constant_feed": (20, "mm"),
}
"""Scaling that fits the lift: k = 1."""
TURNS: dict[str, Entry] = {
    "position_encoder_increments": (2**20, "increments"),
    "gear_ratio_motor_revolutions": (40, "rev"),
    "feed_constant_feed": (360, "deg"),
}
"""Scaling that fits the table: k = 1."""
RAMPS: dict[str, Entry] = {
    **SCREW,
    "max_profile_velocity": (400, "mm/s"),
    "max_motor_speed": (2400, "r/min"),  # 400 mm/s too
    "profile_velocity": (200, "mm/s"),
    "profile_acceleration": (1000, "mm/s^2"),
    "profile_deceleration": (1000, "mm/s^2"),
    "quick_stop_deceleration": (4000, "mm/s^2"),
    "min_software_position_limit": (0, "mm"),
    "max_software_position_limit": (600, "mm"),
}
"""A set for the lift and the slide, with linear ramps."""


def parameter(role: str, entry: Entry) -> Parameter:
    """A parameter of a role; its raw content is its value."""
    parts = entry if isinstance(entry, tuple) else (entry,)
    value, unit, label = (*parts, None, None)[:3]
    known = roles.find(role)
    code = known.object if known is not None and known.object and "." not in role else None
    return Parameter(code or f"p/{role}", role.replace("_", " "), value, value, role, unit, label)


def view(
    entries: dict[str, Entry], axis: str | None = LIFT, nameplate: dict[str, str] | None = None
) -> AxisView:
    """A state with these parameters on this axis."""
    return AxisView(
        "x",
        parameters_text(ParameterSet(parameter(role, entry) for role, entry in entries.items())),
        "hazel",
        nameplate=nameplate,
        axis_text=axis.encode() if axis is not None else None,
        read_axis=lambda content: cached_axis(content, "axis.yaml"),
    )


@dataclass(frozen=True)
class Told:
    """What an explainer said: effect, class, and its figures by name."""

    effect: str
    consequence: str
    figures: dict[str, float]

    def figure(self, quantity: str, expected: float) -> bool:
        """Whether a figure has this value, to the digits that findings carry."""
        return isclose(self.figures[quantity], expected, rel_tol=1e-6, abs_tol=1e-12)


def change_of(role: str, left: AxisView, right: AxisView) -> Change:
    """The change of one role between two states, unexplained."""
    before, after = left.find(role), right.find(role)
    kind: Kind = "only_left" if after is None else "only_right" if before is None else "changed"
    return Change(
        kind,
        usual_consequence(roles.find(role)),
        before,
        after,
        left.physical_of(before),
        right.physical_of(after),
    )


def between(role: str, left: AxisView, right: AxisView) -> Told | None:
    """What the explainer of a role says about two states."""
    change = change_of(role, left, right)
    found = registered()[role.partition(".")[0]](change, left, right)
    if found is None:
        return None
    consequence = found.consequence or change.consequence
    assert consequence in CONSEQUENCES
    assert not _NO_WORDS.search(found.effect), found.effect
    assert all(one.quantity and one.unit in UNITS_TOLD and one.basis for one in found.findings)
    return Told(
        found.effect,
        consequence,
        {finding.quantity: float(finding.value.replace(",", "")) for finding in found.findings},
    )


def tell(
    role: str,
    before: Entry | None,
    after: Entry | None,
    common: dict[str, Entry] | None = None,
    axis: str | None = LIFT,
) -> Told | None:
    """What the explainer says where one role differs and everything else is common."""
    sides = []
    for entry in (before, after):
        entries = {known: value for known, value in (common or {}).items() if known != role}
        sides.append(view(entries if entry is None else {**entries, role: entry}, axis))
    return between(role, *sides)


def told(
    role: str,
    before: Entry | None,
    after: Entry | None,
    common: dict[str, Entry] | None = None,
    axis: str | None = LIFT,
) -> Told:
    """Like `tell`, where the explainer must say something."""
    found = tell(role, before, after, common, axis)
    assert found is not None, "the explainer says nothing"
    return found
