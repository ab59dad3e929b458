"""The dictionary of a drive family: how its exports read and what its parameters are.

These are the pydantic schemas of `families/<family>.yaml`; `vault.store.files.edited_files` loads
the file and turns a schema error into one that names file, line and key.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    StringConstraints,
    ValidationError,
    field_validator,
    model_validator,
)

from vault.model import roles
from vault.model.datatypes import DECIMAL, TYPES, DataType
from vault.model.export import Scalar
from vault.model.export_dialect import ExportDialect, MisplacedKey, Strict, Text, text_keys
from vault.model.firmware import FirmwareRange
from vault.model.near_names import did_you_mean
from vault.model.parameters import canonical_code
from vault.model.quantities import UnknownUnit, canonical_unit
from vault.model.schema_words import in_words, unknown_key
from vault.model.trace import CHANNELS
from vault.model.unit_table import UNITS

SCHEMA = "axisvault/family/1"


def _exact(value: Any) -> Any:
    """Take numbers as exact decimals: YAML's floats come in as their own text."""
    return Decimal(repr(value)) if isinstance(value, float) else value


def _code_map(value: Any) -> Any:
    """Codes as format readers give them: text, object addresses spelled one way."""
    if not isinstance(value, dict):
        return value
    found: dict[str, Any] = {}
    for key, content in value.items():
        code = canonical_code(str(key))
        if code in found:
            raise MisplacedKey(f"{code} stands here twice", str(key))
        found[code] = content
    return found


def _code_list(value: Any) -> Any:
    return [canonical_code(str(code)) for code in value] if isinstance(value, list) else value


Exact = Annotated[Decimal, BeforeValidator(_exact)]
Limit = Annotated[Decimal, BeforeValidator(_exact)]
NAME_PATTERN = r"^[a-z0-9][a-z0-9._-]{0,63}$"
Name = Annotated[str, StringConstraints(pattern=NAME_PATTERN)]


class ParameterDefinition(Strict):
    """One parameter of a family. Value = raw x scale, in `unit`; range and default in `unit`.

    `order` tells what is written first, `level` the access level that the drive wants for it.
    `suggest` is a role that nobody has confirmed: it is none until it stands under `role`.
    """

    name: str = Field(description="what people call it")
    role: str | None = Field(
        None,
        description="what it means, whatever the family; only one that has a role is explained and "
        "compared across families; `axisvault family roles` lists them, `axisvault family roles "
        "Schleppfehler` those that go by a name",
    )
    suggest: str | None = Field(
        None,
        description="a role that nobody has confirmed: it counts for nothing until it stands under "
        "`role`",
    )
    group: str | None = Field(
        None, description="where it is shown, if not where its role belongs; a usual one, or one "
        "of `groups`"
    )  # fmt: skip
    type: str = Field(
        "INTEGER32",
        description="the standard data type, or `DECIMAL` for numbers of which no step is known; a "
        "role that is a choice or a switch takes no text",
    )
    scale: Exact = Field(
        Decimal(1), description="the step: the value is the raw number times this, in `unit`"
    )
    unit: str | None = Field(None, description="the unit of value, `range` and `default`")
    range: tuple[Limit | None, Limit | None] = Field(
        (None, None), description="least and most, as `[0, 100]`; `null` where there is none"
    )
    default: Scalar | None = Field(None, description="what it holds as delivered")
    choices: dict[int, str] = Field(
        default_factory=dict,
        description="names of raw numbers, as `{0: Off, 1: On}`; a switch is understood "
        "by words for no and yes (`Nein`, `Off`, `non`), whatever their numbers",
    )
    access: Literal["rw", "ro", "wo", "const"] = Field(
        "rw", description="`rw`, `ro`, `wo` or `const`"
    )
    effective: Literal["at_once", "on_enable", "after_restart"] = Field(
        "at_once", description="`at_once`, `on_enable` or `after_restart`"
    )
    volatile: bool = Field(False, description="`true`: a live value, shown and never compared")
    safety: bool = Field(
        False,
        description="`true`: part of a safety function, compared and never prepared for loading",
    )
    order: int | None = Field(None, description="what is written first: lower numbers")
    level: str | None = Field(None, description="the access level that the drive wants for it")

    @field_validator("default", mode="before")
    @classmethod
    def _exact_default(cls, value: Any) -> Any:
        return _exact(value)

    @field_validator("type")
    @classmethod
    def _known_type(cls, name: str) -> str:
        if name not in TYPES:
            raise ValueError(f"unknown data type {name!r}; known: {', '.join(TYPES)}")
        return name

    @field_validator("role", "suggest")
    @classmethod
    def _known_role(cls, name: str | None) -> str | None:
        if name is not None and roles.find(name) is None:
            known = [role.name for role in roles.all_roles()]
            raise ValueError(f"unknown role {name!r}{did_you_mean(name, known)}")
        return name

    @field_validator("scale")
    @classmethod
    def _positive_scale(cls, scale: Decimal) -> Decimal:
        if scale <= 0:
            raise ValueError("scale must be greater than zero")
        return scale

    @field_validator("unit")
    @classmethod
    def _one_spelling(cls, unit: str | None) -> str | None:
        try:
            return None if unit is None else canonical_unit(unit)
        except UnknownUnit as unknown:
            raise ValueError(f"{unknown}{did_you_mean(unit or '', UNITS)}") from unknown

    @model_validator(mode="after")
    def _range_in_order(self) -> ParameterDefinition:
        low, high = self.range
        if low is not None and high is not None and low > high:
            raise MisplacedKey(f"range runs backwards: {low} to {high}", "range")
        return self

    @property
    def data_type(self) -> DataType:
        """The data type, a standard one or DECIMAL."""
        return TYPES[self.type]


class Fault(Strict):
    """A fault code of the family and the standard error code it stands for."""

    name: str = Field(description="what people call it")
    standard: int | None = Field(
        None, description="the standard error code that it stands for, as `0x3210`"
    )


class Variant(Strict):
    """Overrides for a firmware range: changed keys per parameter, new ones, or `absent: true`."""

    firmware: FirmwareRange = Field(description="the range of versions, as `>=2.4`")
    parameters: Annotated[dict[str, dict[str, Any]], BeforeValidator(_code_map)] = Field(
        description="by code, the keys that are other, a whole new parameter, or `absent: true`"
    )


def _channel(name: str) -> str:
    if name not in CHANNELS:
        hint = did_you_mean(name, CHANNELS)
        raise ValueError(f"{name!r} is no channel of a trace{hint or ': ' + ', '.join(CHANNELS)}")
    return name


Channel = Annotated[str, AfterValidator(_channel)]


class TraceDialect(Strict):
    """How the recordings of a family's tool name their columns, beside the names that we know."""

    columns: dict[Channel, Text] = Field(
        default_factory=dict,
        description="the heading of each channel, as `{position_actual: Axis feed}`; a channel is "
        + ", ".join(f"`{name}`" for name in CHANNELS),
    )
    units: dict[Channel, Text] = Field(
        default_factory=dict,
        description="the unit of each channel whose column does not state one, as "
        "`{position_actual: mm}`",
    )

    @field_validator("units")
    @classmethod
    def _units_known(cls, units: dict[str, str]) -> dict[str, str]:
        for channel, unit in units.items():
            try:
                canonical_unit(unit)
            except UnknownUnit as error:
                raise MisplacedKey(str(error), channel) from error
        return units


class Family(Strict):
    """The dictionary of a drive family.

    `groups` are its own beside the usual ones, by name with their title. `always` are codes that
    every export of it has. An `open` one takes parameters in that it does not know.
    """

    schema_: Literal["axisvault/family/1"] = Field(
        alias="schema", description="`axisvault/family/1`"
    )
    name: Name = Field(description="how commands call it")
    title: str = Field(description="how people call it")
    note: str | None = Field(None, description="what a reader should know")
    export: ExportDialect = Field(description="how its exports read, below")
    open: bool = Field(
        False,
        description="`true`: it is meant to be short, and parameters that it does not know are "
        "taken in as the export states them, below",
    )
    always: Annotated[tuple[str, ...], BeforeValidator(_code_list)] = Field(
        (),
        description="codes that every export must have; one that lacks any that protects, or more "
        "than a tenth of them, is refused without a reason",
    )
    groups: dict[Name, Text] = Field(
        default_factory=dict, description="groups of its own beside the usual ones: name and title"
    )
    parameters: Annotated[dict[str, ParameterDefinition], BeforeValidator(_code_map)] = Field(
        description="its parameters by code, below"
    )
    variants: tuple[Variant, ...] = Field(
        (), description="what is other in a range of firmware, below"
    )
    faults: Annotated[dict[str, Fault], BeforeValidator(text_keys)] = Field(
        default_factory=dict, description="its fault codes, below"
    )

    trace: TraceDialect = Field(
        TraceDialect(), description="how recordings of moves name their columns, below"
    )

    @model_validator(mode="after")
    def _roles_once(self) -> Family:
        self._each_role_once(self.parameters, ("parameters",))
        return self

    @model_validator(mode="after")
    def _variants_hold(self) -> Family:
        for number, variant in enumerate(self.variants):
            path = ("variants", number, "parameters")
            self._each_role_once(self._varied(self.parameters, variant, path), path)
        return self

    @staticmethod
    def _each_role_once(
        parameters: dict[str, ParameterDefinition], path: tuple[str | int, ...]
    ) -> None:
        seen: dict[str, str] = {}
        for code, parameter in parameters.items():
            role = parameter.role
            if role and role in seen:
                reason = f"has the role {role}, as {seen[role]} has"
                found = roles.find(role)
                if found is not None and found.numbered:
                    reason += f"; number them ({found.name}, {found.name}.2)"
                raise MisplacedKey(reason, *path, code, "role")
            if role:
                seen[role] = code

    @staticmethod
    def _varied(
        base: dict[str, ParameterDefinition],
        variant: Variant,
        path: tuple[str | int, ...] = (),
    ) -> dict[str, ParameterDefinition]:
        varied = dict(base)
        for code, override in variant.parameters.items():
            if override.get("absent"):
                varied.pop(code, None)
                continue
            before = base[code].model_dump(exclude_unset=True) if code in base else {}
            try:
                varied[code] = ParameterDefinition.model_validate({**before, **override})
            except ValidationError as error:
                first: Any = error.errors(include_url=False)[0]
                inner = getattr(first.get("ctx", {}).get("error"), "path", ())
                reason = in_words(first)
                if first["type"] == "extra_forbidden":
                    reason = unknown_key(str(first["loc"][-1]), ParameterDefinition.model_fields)
                raise MisplacedKey(reason, *path, code, *first["loc"], *inner) from error
        return varied

    def __hash__(self) -> int:
        return id(self)

    def __eq__(self, other: object) -> bool:
        return self is other

    @property
    def vault_format(self) -> int:
        """The format that a vault must state which has this dictionary."""
        overrides = [keys for variant in self.variants for keys in variant.parameters.values()]
        is_of_2 = (
            self.export.is_of_format_2
            or bool(self.model_fields_set & _SINCE_2)
            or any("suggest" in p.model_fields_set for p in self.parameters.values())
            or any("suggest" in keys for keys in overrides)
            or any(p.type == DECIMAL.name for p in self.parameters.values())
            or any(keys.get("type") == DECIMAL.name for keys in overrides)
        )
        return 2 if is_of_2 else 1

    def variant_definitions(self, number: int) -> dict[str, ParameterDefinition]:
        """What a variant, counted from 0, makes of the parameters that it names."""
        variant = self.variants[number]
        varied = self._varied(self.parameters, variant)
        return {code: varied[code] for code in variant.parameters if code in varied}

    def definitions(self, firmware: str | None) -> dict[str, ParameterDefinition]:
        """Parameter definitions by code for a firmware version, variants applied in order."""
        parameters = self.parameters
        for variant in self.variants:
            if firmware is not None and firmware in variant.firmware:
                parameters = self._varied(parameters, variant)
        return parameters


_SINCE_2 = frozenset({"open", "always", "groups"})
