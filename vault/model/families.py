"""The dictionary of a drive family: how its exports read and what its parameters are.

These are the pydantic schemas of `families/<family>.yaml`; `vault.store.files.edited_files` loads
the file and turns a schema error into one that names file, line and key.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StringConstraints,
    ValidationError,
    field_validator,
    model_validator,
)

from vault.model import roles
from vault.model.datatypes import BY_NAME, DataType
from vault.model.export import Scalar
from vault.model.firmware import FirmwareRange
from vault.model.near_names import did_you_mean
from vault.model.parameters import canonical_code
from vault.model.quantities import UnknownUnit, canonical_unit
from vault.model.schema_words import in_words, unknown_key
from vault.model.unit_table import UNITS

SCHEMA = "axisvault/family/1"

NAMEPLATE_FIELDS = (
    "drive", "serial", "firmware", "hardware", "vendor", "product", "motor", "motor_serial",
    "encoder", "encoder_single_turn_bits", "encoder_multi_turn_bits", "rated_current",
    "rated_torque", "node_id", "node_name", "bit_rate", "axis_name", "taken_at", "note",
)  # fmt: skip
"""What a nameplate line of an export can be mapped to."""


class MisplacedKey(ValueError):
    """A problem that lies at a key below the place where it was noticed."""

    def __init__(self, reason: str, *path: str | int) -> None:
        super().__init__(reason)
        self.path = path


def _exact(value: Any) -> Any:
    """Take numbers as exact decimals: YAML's floats come in as their own text."""
    return Decimal(repr(value)) if isinstance(value, float) else value


def _text(value: Any) -> Any:
    return str(value) if isinstance(value, int | float | Decimal) else value


def _text_keys(value: Any) -> Any:
    return {str(k): v for k, v in value.items()} if isinstance(value, dict) else value


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
Name = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9._-]{0,63}$")]
Text = Annotated[str, BeforeValidator(_text)]


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class ChannelRule(_Strict):
    """How a text export holds several axes: by a column, or by a section heading.

    `section` is a line with `{n}` in place of the channel number, e.g. `[Axis {n}]`.
    """

    column: str | None = None
    section: str | None = None

    @model_validator(mode="after")
    def _one_of(self) -> ChannelRule:
        if (self.column is None) == (self.section is None):
            raise ValueError("name either a column or a section")
        if self.section is not None and self.section.count("{n}") != 1:
            raise ValueError("the section must hold {n} once, where the channel number stands")
        return self


class ExportDialect(_Strict):
    """How the exports of a family read.

    For delimited text: `columns` maps our column names (code, value, name, unit, low, high,
    default, access, type) to the headings of the file; `nameplate` maps labels of the lines above
    the table to nameplate fields. For DCF: `nameplate` maps object codes or section keys
    (`DeviceInfo.OrderCode`) to nameplate fields.
    """

    format: str
    encoding: tuple[str, ...] = ("utf-8", "windows-1252")
    delimiter: Literal[",", ";", "\t", "|"] = ","
    quote: str = '"'
    decimal: Literal[".", ","] = "."
    thousands: Literal["", ".", ",", "'", " ", "\u00a0", "\u202f"] = ""
    holds: Literal["raw", "value"] = "value"
    columns: dict[str, str] = Field(default_factory=dict)
    nameplate: Annotated[dict[str, str], BeforeValidator(_text_keys)] = Field(default_factory=dict)
    nameplate_separator: Literal[",", ";", "\t", "|", ":", "="] | None = None
    comment: str | None = None
    channel: ChannelRule | None = None
    recognise: dict[str, Text] = Field(default_factory=dict)
    line_end: Literal["crlf", "lf"] = "crlf"
    time_format: str | None = None

    @field_validator("columns")
    @classmethod
    def _known_columns(cls, columns: dict[str, str]) -> dict[str, str]:
        known = {"code", "value", "name", "unit", "low", "high", "default", "access", "type"}
        for column in columns:
            if column not in known:
                raise MisplacedKey(f"unknown column; known: {', '.join(sorted(known))}", column)
        return columns

    @field_validator("nameplate")
    @classmethod
    def _known_fields(cls, nameplate: dict[str, str]) -> dict[str, str]:
        for label, target in nameplate.items():
            if target not in NAMEPLATE_FIELDS:
                known = ", ".join(NAMEPLATE_FIELDS)
                raise MisplacedKey(f"unknown nameplate field {target!r}; known: {known}", label)
        return nameplate

    @field_validator("recognise")
    @classmethod
    def _valid_patterns(cls, patterns: dict[str, str]) -> dict[str, str]:
        for place, pattern in patterns.items():
            try:
                re.compile(pattern)
            except re.error as error:
                reason = f"{pattern!r} is no regular expression: {error}"
                raise MisplacedKey(reason, place) from error
        return patterns

    @model_validator(mode="after")
    def _table_has_code_and_value(self) -> ExportDialect:
        if self.format == "delimited":
            for needed in ("code", "value"):
                if needed not in self.columns:
                    raise MisplacedKey(f"must name the heading of {needed!r}", "columns")
            if self.thousands == self.decimal:
                reason = "thousands separator and decimal mark are the same"
                raise MisplacedKey(reason, "thousands")
        return self


class ParameterDefinition(_Strict):
    """One parameter of a family. Value = raw x scale, in `unit`; range and default in `unit`.

    `order` tells what is written first, `level` the access level that the drive wants for it.
    `suggest` is a role that nobody has confirmed: it is none until it stands under `role`.
    """

    name: str
    role: str | None = None
    suggest: str | None = None
    group: str | None = None
    type: str = "INTEGER32"
    scale: Exact = Decimal(1)
    unit: str | None = None
    range: tuple[Limit | None, Limit | None] = (None, None)
    default: Scalar | None = None
    choices: dict[int, str] = Field(default_factory=dict)
    access: Literal["rw", "ro", "wo", "const"] = "rw"
    effective: Literal["at_once", "on_enable", "after_restart"] = "at_once"
    volatile: bool = False
    safety: bool = False
    order: int | None = None
    level: str | None = None

    @field_validator("default", mode="before")
    @classmethod
    def _exact_default(cls, value: Any) -> Any:
        return _exact(value)

    @field_validator("type")
    @classmethod
    def _known_type(cls, name: str) -> str:
        if name not in BY_NAME:
            raise ValueError(f"unknown data type {name!r}; known: {', '.join(BY_NAME)}")
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
        """The standard data type."""
        return BY_NAME[self.type]


class Fault(_Strict):
    """A fault code of the family and the standard error code it stands for."""

    name: str
    standard: int | None = None


class Variant(_Strict):
    """Overrides for a firmware range: changed keys per parameter, new ones, or `absent: true`."""

    firmware: FirmwareRange
    parameters: Annotated[dict[str, dict[str, Any]], BeforeValidator(_code_map)]


class Family(_Strict):
    """The dictionary of a drive family.

    `groups` are its own beside the usual ones, by name with their title. `always` are codes that
    every export of it has. An `open` one takes parameters in that it does not know.
    """

    schema_: Literal["axisvault/family/1"] = Field(alias="schema")
    name: Name
    title: str
    note: str | None = None
    export: ExportDialect
    open: bool = False
    always: Annotated[tuple[str, ...], BeforeValidator(_code_list)] = ()
    groups: dict[Name, Text] = Field(default_factory=dict)
    parameters: Annotated[dict[str, ParameterDefinition], BeforeValidator(_code_map)]
    variants: tuple[Variant, ...] = ()
    faults: Annotated[dict[str, Fault], BeforeValidator(_text_keys)] = Field(default_factory=dict)

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
        variants = (keys for variant in self.variants for keys in variant.parameters.values())
        has_suggestion = any(
            "suggest" in keys
            for keys in (*(p.model_fields_set for p in self.parameters.values()), *variants)
        )
        return 2 if has_suggestion or self.model_fields_set & _SINCE_2 else 1

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

    @cached_property
    def by_role(self) -> dict[str, str]:
        """Code of each role this family has."""
        return {p.role: code for code, p in self.parameters.items() if p.role}


_SINCE_2 = frozenset({"open", "always", "groups"})
