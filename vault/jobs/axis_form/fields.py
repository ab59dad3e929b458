"""The fields of an axis record, group by group: what each is, how it is typed, by the schema."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, get_args, get_origin

from pydantic import BaseModel

from vault.jobs.records.axis_template import FORM
from vault.meaning.missing_words import to_enter
from vault.model.axis import AxisRecord, Move
from vault.model.quantities import Measure
from vault.model.wording import capitalised
from vault.model.written_form import marked
from vault.store.files import yaml_text

Kind = Literal["text", "quantity", "whole", "choice", "yes_no", "axes"]

FREE = ("nameplate", "cabinet", "controller_link")
"""Sections whose names are free."""

BY_APPROVER = frozenset({"follows", "export_every", "force_protects", "margins"})
"""Keys that say what an axis is held to, and not how it is built."""

_GROUPS = (
    ("axis", "Axis", ("title", "note")),
    ("mechanics", "Mechanics", ("mechanics",)),
    ("motor", "Motor", ("motor",)),
    ("brake", "Brake", ("brake",)),
    ("encoder", "Encoder", ("encoder", "load_encoder")),
    ("supply", "Supply", ("supply",)),
    ("duty", "Moves and duty", ("duty",)),
    ("loops", "Loops", ("position_gain_unit", "loop_dead_time")),
    ("nameplate", "Nameplate as designed", ("nameplate",)),
    ("cabinet", "Cabinet", ("cabinet",)),
    ("controller_link", "Controller link", ("controller_link",)),
    ("held_to", "What it is held to", ("pair", "follows", "export_every", "force_protects")),
    ("margins", "Floors under margins", ("margins",)),
)
_LISTED = ("duty", "margins")
"""Keys whose rows are typed one by one."""
MOVE_KEYS = tuple(Move.model_fields)
_GEARBOX = (
    ("motor", "4", "so many, while the output makes the other number"),
    ("output", "1", "1 and 1 for no gearbox"),
)
_DUTY = (
    ("cycle", "4 s", "the time from one begin to the next; moves need it"),
    ("rms_force", "1.2 N*m", "as measured, instead of moves: r.m.s. over the cycle"),
)
_CHOSEN = {"true": "yes", "false": "no"}
_LABELS = {
    "mechanics.gearbox.motor": "Gearbox: turns of the motor",
    "mechanics.gearbox.output": "Gearbox: turns of the output",
    "mechanics.down": "Lower end",
    "duty.rms_force": "R.m.s. force",
    "pair": "Paired with",
    "motor.code": "Order code",
    "load_encoder.step": "Load encoder: step",
    "load_encoder.counts": "Load encoder: counts",
    "load_encoder.closes_position": "Load encoder closes position",
}
_REMARKS = {
    "brake.fitted": "no where there is none",
    "load_encoder.closes_position": "no where the drive only watches it",
    "position_gain_unit": "of a position gain that the export gives without a unit",
    "mechanics.efficiency": "of the transmission: what arrives of what the motor gives",
    "supply.phases": "",
    "mechanics.down": "which end of the positions lies lower",
    "mechanics.moving_mass": "what moves along the axis",
    "mechanics.resonance": "as measured: what a notch filter is for",
    "supply.resistor": "the braking resistor",
}


@dataclass(frozen=True, slots=True)
class Field:
    """A field of the form: its key such as `mechanics.lead`, and what it is.

    `example` is as the site writes it; `options` are what may be chosen, as value and words.
    """

    name: str
    label: str
    remark: str
    example: str
    kind: Kind
    options: tuple[tuple[str, str], ...] = ()

    @property
    def section(self) -> str:
        """The section that it stands in; of a key of the record itself, none."""
        section, point, _ = self.name.partition(".")
        return section if point else ""


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together. `is_free` is one whose names are free, `section` that one."""

    name: str
    title: str
    remark: str
    fields: tuple[Field, ...]

    @property
    def is_free(self) -> bool:
        """Whether further names may be added."""
        return self.name in FREE

    @property
    def by_approver(self) -> bool:
        """Whether all of it says what the axis is held to."""
        return self.name in BY_APPROVER


def groups() -> tuple[Group, ...]:
    """The form, with examples as the site writes numbers."""
    told = {section: (remark, lines) for section, remark, lines in FORM}
    found = []
    for name, title, keys in _GROUPS:
        remark = next((told[key][0] for key in keys if key in told), "")
        fields = [field for key in keys for field in _fields_of(key, told)]
        found.append(Group(name, title, remark, tuple(fields)))
    return tuple(found)


def field_names() -> dict[str, str]:
    """Every field that always stands in the form, with what it is."""
    return {field.name: field.remark or field.label for group in groups() for field in group.fields}


def _fields_of(key: str, told: dict[str, Any]) -> Iterator[Field]:
    if key == "duty":
        yield from (_field(f"duty.{name}", example, remark) for name, example, remark in _DUTY)
    elif key in told:
        for name, example, remark in told[key][1]:
            if (key, name) == ("mechanics", "gearbox"):
                for end, number, words in _GEARBOX:
                    yield _field(f"mechanics.gearbox.{end}", number, words)
            else:
                yield _field(f"{key}.{name}", example, remark)
    elif key not in _LISTED:
        yield from (_field(*line) for line in told[""][1] if line[0] == key)


def _field(name: str, example: str, remark: str) -> Field:
    kind, options = kind_of(name)
    text = str(yaml_text.load(example.encode(), "the form")) if kind != "axes" else example[1:-1]
    label = name.rpartition(".")[2].replace("_", " ").replace("dc link", "DC link")
    words = to_enter(name).words if kind == "choice" or not remark else remark
    if name.startswith("motor.") and words == "from the motor's plate":
        words = ""  # the group says so
    return Field(
        name,
        _LABELS.get(name) or capitalised(label),
        _REMARKS.get(name, words if kind != "text" else remark).replace("_", " "),
        marked(text) if kind == "quantity" else text,
        kind,
        options,
    )


@cache
def kind_of(name: str) -> tuple[Kind, tuple[tuple[str, str], ...]]:
    """How a key is typed, and what may be chosen, by the schema."""
    model: Any = AxisRecord
    annotation: Any = str
    for part in name.split("."):
        if not (isinstance(model, type) and issubclass(model, BaseModel)):
            return "text", ()  # a free name
        annotation = model.model_fields[part].annotation
        model = next((one for one in _parts(annotation) if _is_model(one)), None)
    parts = list(_parts(annotation))
    for part in parts:
        if get_origin(part) is Literal:
            return "choice", tuple((str(o), str(o).replace("_", " ")) for o in get_args(part))
    if Measure in parts:
        return "quantity", ()
    if any(get_origin(part) is tuple for part in parts):
        return "axes", ()
    if bool in parts:
        return "yes_no", tuple(_CHOSEN.items())
    return ("whole" if int in parts else "text"), ()


def _is_model(part: Any) -> bool:
    return isinstance(part, type) and issubclass(part, BaseModel)


def _parts(annotation: Any) -> Iterator[Any]:
    """The kinds that an annotation takes."""
    if (
        get_origin(annotation) is Literal
        or get_origin(annotation) is tuple
        or not get_args(annotation)
    ):
        yield annotation
        return
    for one in get_args(annotation):
        yield from _parts(one)
