"""How the exports of a drive family read: the part `export` of its dictionary."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    field_validator,
    model_validator,
)

from vault.model.record_path import place_path, root_path

NAMEPLATE_FIELDS = (
    "drive", "serial", "firmware", "hardware", "vendor", "product", "motor", "motor_serial",
    "encoder", "encoder_single_turn_bits", "encoder_multi_turn_bits", "rated_current",
    "rated_torque", "node_id", "node_name", "bit_rate", "axis_name", "taken_at", "note",
)  # fmt: skip
"""What a nameplate line of an export can be mapped to."""

COLUMNS = (
    "code", "value", "name", "unit", "type", "access", "low", "high", "default", "section",
)  # fmt: skip
"""What a place of an export can hold of a parameter; `section` goes before its code."""

_KEYS_OF: dict[str, frozenset[str]] = {
    name: frozenset(keys.split())
    for name, keys in (
        ("delimiter", "delimited"),
        ("quote", "delimited"),
        ("comment", "delimited keyed fixed"),
        ("line_end", "delimited keyed fixed"),
        ("nameplate_separator", "delimited fixed"),
        ("assign", "keyed"),
        ("record", "records"),
        ("sheet", "sheet"),
        ("header", "fixed"),
        ("section", "delimited keyed fixed sheet"),
        ("unit_in_value", "delimited keyed records sheet fixed"),
        ("hex_and_binary", "delimited keyed records sheet fixed"),
    )
}
"""Formats that read a key; the keys that are not here are of all."""

# What the first programs read, for good: any other key asks for a vault of format 2.
_KEYS_OF_1 = frozenset(
    (
        "format", "encoding", "delimiter", "quote", "decimal", "thousands", "holds", "columns",
        "nameplate", "nameplate_separator", "comment", "channel", "recognise", "line_end",
        "time_format",
    )
)  # fmt: skip
_FORMATS_OF_1 = ("delimited", "dcf")
_BY_COLUMNS = ("delimited", "records", "sheet", "fixed")
_BESIDE = {"name": ("code", "comment"), "unit": ("comment",)}
_BESIDE_ONLY = "of `keyed` there are `name: code`, `name: comment` and `unit: comment`"
_POSITIONS = re.compile(r"([1-9]\d{0,3})-([1-9]\d{0,3})?", re.ASCII)


class MisplacedKey(ValueError):
    """A problem that lies at a key below the place where it was noticed."""

    def __init__(self, reason: str, *path: str | int) -> None:
        super().__init__(reason)
        self.path = path


def _text(value: Any) -> Any:
    return str(value) if isinstance(value, int | float | Decimal) else value


def text_keys(value: Any) -> Any:
    """A mapping with its keys as texts, whatever YAML made of them."""
    return {str(k): v for k, v in value.items()} if isinstance(value, dict) else value


Text = Annotated[str, BeforeValidator(_text)]


class Strict(BaseModel):
    """A part of a file that people edit: no key that is not known."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class ChannelRule(Strict):
    """How an export holds several axes: by a column, a section heading, or a column an axis.

    `section` is a line with `{n}` in place of the channel number, e.g. `[Axis {n}]`. `values` are
    the places of the values by channel number.
    """

    column: str | None = Field(None, description="the place of the number of the axis")
    section: str | None = Field(
        None, description="a line with `{n}` where the number of the axis stands, as `[Axis {n}]`"
    )
    values: dict[Annotated[int, Field(ge=0, lt=10**9)], str] = Field(
        default_factory=dict,
        description="where each axis has a column of values of its own: their places by its "
        "number, as `{1: Axis 1, 2: Axis 2}`; then there is no `value` under `columns`",
    )

    @model_validator(mode="after")
    def _one_of(self) -> ChannelRule:
        if (self.column is not None) + (self.section is not None) + bool(self.values) != 1:
            raise ValueError("name either a column, a section or the values of each axis")
        if len(set(self.values.values())) < len(self.values):
            raise MisplacedKey("two axes have one place", "values")
        if self.section is not None and self.section.count("{n}") != 1:
            raise ValueError("the section must hold {n} once, where the channel number stands")
        return self


class ExportDialect(Strict):
    """How the exports of a family read; the description of each key says what it is.

    `columns` maps our column names to places: headings of a table, paths within a record,
    positions in a line. `nameplate` maps labels or places to nameplate fields.
    """

    format: str = Field(
        description="`delimited`, `keyed`, `fixed`, `records`, `sheet`, `dcf` or `xdc`"
    )
    member: str | None = Field(
        None,
        description="of an export in a zip archive: the name of its file, with `*`",
    )
    encoding: tuple[str, ...] = Field(
        ("utf-8", "windows-1252"),
        description="encodings to try, in this order; those of text, such as `utf-8`, "
        "`windows-1252`, `iso-8859-1`, `shift-jis`",
    )
    delimiter: Literal[",", ";", "\t", "|"] = Field(",", description="what stands between cells")
    quote: str = Field('"', description="what cells are quoted with; `''` for nothing")
    decimal: Literal[".", ","] = Field(".", description="the decimal mark")
    thousands: Literal["", ".", ",", "'", " ", "\u00a0", "\u202f"] = Field(
        "", description="what stands between thousands"
    )
    holds: Literal["raw", "value"] = Field(
        "value",
        description="`value`: numbers are in the unit; `raw`: they are what the drive holds",
    )
    unit_in_value: bool = Field(
        False, description="`true`: the unit stands behind the number, as in `12.5 mm/s`"
    )
    hex_and_binary: bool = Field(
        False, description="`true`: `1F4h`, `16#1F4`, `0b101`, `2#101` and `101b` are numbers"
    )
    columns: dict[str, str] = Field(
        default_factory=dict,
        description="where `code`, `value`, `name`, `unit`, `low`, `high`, `default`, `access`, "
        "`type` stand, and a `section` that goes before the code: headings of a table; of two "
        "header rows of a `sheet` the upper and the lower text with a blank, as `Limits Min`; of "
        "`records` paths from the record, as `@id`, `Value/@unit`, `../@name`, `.`; of `fixed` "
        "positions, as `1-8`; of `keyed` only `name` and `unit`: `comment` for the one behind the "
        "value, `code` for what stands behind the first word of the code",
    )
    nameplate: Annotated[dict[str, str], BeforeValidator(text_keys)] = Field(
        default_factory=dict,
        description="labels of what stands above the table, and what of the nameplate each of "
        "them is; of `keyed` the key, with its section as `Section/Key`; of `records` a path from "
        "the root; of `dcf` an object or `Section.Key`",
    )
    nameplate_separator: Literal[",", ";", "\t", "|", ":", "="] | None = Field(
        None, description="what stands between a label of the nameplate and its text"
    )
    comment: str | None = Field(None, description="how a line begins that is a comment")
    assign: Literal["=", ":", "\t", " ", " : "] = Field(
        "=",
        description="of `keyed`: what stands between a code and its value; `' : '` where a code "
        "may hold a colon, as `6065:00 : 12 mm`",
    )
    record: str | None = Field(
        None,
        description="of `records`: the path of what is one parameter, as `Drive/Parameters/P`; of "
        "JSON with `[]` behind a list and `{}` behind what has the codes as its keys (`~key`)",
    )
    sheet: str | None = Field(
        None,
        description="the sheet with the parameters; without it the first with the header row",
    )
    header: str | None = Field(
        None, description="of `fixed`: the line above the table, blanks do not count"
    )
    section: str | None = Field(
        None,
        description="a line with `{name}`, as `[{name}]`: the name goes before the codes below it",
    )
    channel: ChannelRule | None = Field(
        None,
        description="how an export holds several axes: a `column` with their number, a `section` "
        "heading with `{n}`, or the `values` of each in a column of its own",
    )
    recognise: dict[str, Text] = Field(
        default_factory=dict,
        description="patterns by which an export is known to be of this family: of a field of the "
        "nameplate, or of `text` in its first lines; regular expressions of RE2 (no look-around, "
        "no back-references), of at most 300 characters",
    )
    line_end: Literal["crlf", "lf"] = Field(
        "crlf", description="ends of lines in files that are written"
    )
    time_format: str | None = Field(
        None, description="how a time in the nameplate is written, where it is not RFC 3339"
    )

    @field_validator("columns")
    @classmethod
    def _known_columns(cls, columns: dict[str, str]) -> dict[str, str]:
        for column in columns:
            if column not in COLUMNS:
                raise MisplacedKey(f"unknown column; known: {', '.join(sorted(COLUMNS))}", column)
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

    @field_validator("section")
    @classmethod
    def _section_has_name(cls, section: str | None) -> str | None:
        if section is not None and section.count("{name}") != 1:
            raise ValueError("must hold {name} once, where the name of the section stands")
        return section

    @model_validator(mode="after")
    def _keys_of_format(self) -> ExportDialect:
        for key, formats in _KEYS_OF.items():
            of_another = self.format not in formats and self.format in _KNOWN
            # What the first formats always passed over in silence still is no mistake.
            was_taken = self.format in _FORMATS_OF_1 and key in _KEYS_OF_1
            if of_another and key in self.model_fields_set and not was_taken:
                raise MisplacedKey(f"is a key of {', '.join(sorted(formats))}", key)
        if "section" in self.columns and self.format == "dcf":
            raise MisplacedKey("is no column of this format", "columns", "section")
        places_of_axes = self.channel.values if self.channel is not None else {}
        if places_of_axes and self.format not in _BY_COLUMNS:
            raise MisplacedKey(f"is a key of {', '.join(sorted(_BY_COLUMNS))}", "channel", "values")
        if self.format in _BY_COLUMNS:
            if places_of_axes and "value" in self.columns:
                reason = "each axis has its own, by `values` under `channel`"
                raise MisplacedKey(reason, "columns", "value")
            for needed in ("code",) if places_of_axes else ("code", "value"):
                if needed not in self.columns:
                    what = "heading" if self.format in ("delimited", "sheet") else "place"
                    raise MisplacedKey(f"must name the {what} of {needed!r}", "columns")
        if self.format in (*_BY_COLUMNS, "keyed") and self.thousands == self.decimal:
            reason = "thousands separator and decimal mark are the same"
            raise MisplacedKey(reason, "thousands")
        if self.format == "records":
            _check_paths(self)
        if self.format == "fixed":
            places = [(place, "columns", column) for column, place in self.columns.items()]
            if self.channel is not None and self.channel.column is not None:
                places.append((self.channel.column, "channel", "column"))
            places += [(place, "channel", "values") for place in places_of_axes.values()]
            parts = ((positions(*one), one[1:]) for one in places)
            taken = sorted(parts, key=lambda part: part[0].start)
            for (one, _), (other, path) in pairwise(taken):
                if one.stop is None or one.stop > other.start:
                    raise MisplacedKey("its positions are those of another column too", *path)
        if self.format == "keyed":
            for column, place in self.columns.items():
                if column not in _BESIDE or place not in _BESIDE[column]:
                    raise MisplacedKey(_BESIDE_ONLY, "columns", column)
                if place == "comment" and not self.comment:
                    reason = "name what a comment begins with, as `comment: ;`"
                    raise MisplacedKey(reason, "columns", column)
            if self.channel is not None and self.channel.column is not None:
                raise MisplacedKey("axes of `keyed` are told by a section", "channel", "column")
        return self

    @property
    def is_of_format_2(self) -> bool:
        """Whether only programs that read vaults of format 2 know what is used here."""
        return (
            self.format not in _FORMATS_OF_1
            or bool(self.model_fields_set - _KEYS_OF_1)
            or "section" in self.columns
            or (self.channel is not None and bool(self.channel.values))
        )

    def by_axis(self) -> dict[int, ExportDialect]:
        """By channel, this with its own column of values; empty where there is none for each."""
        values = self.channel.values if self.channel is not None else {}
        return {
            number: self.model_copy(
                update={"channel": None, "columns": {**self.columns, "value": place}}
            )
            for number, place in values.items()
        }


def _check_paths(dialect: ExportDialect) -> None:
    """Raises MisplacedKey at a path of `records` that is none."""
    if not dialect.record:
        raise MisplacedKey("must name the path of what is one parameter", "record")
    rule = dialect.channel
    if rule is not None and rule.section is not None:
        raise MisplacedKey("records name their axis by a column, which is a path", "channel")
    paths: list[tuple[Callable[[str], object], str, tuple[str, ...]]]
    paths = [(root_path, dialect.record, ("record",))]
    paths += [(root_path, path, ("nameplate", path)) for path in dialect.nameplate]
    paths += [(place_path, path, ("columns", name)) for name, path in dialect.columns.items()]
    if rule is not None and rule.column is not None:
        paths.append((place_path, rule.column, ("channel", "column")))
    for path in rule.values.values() if rule is not None else ():
        paths.append((place_path, path, ("channel", "values")))
    for parse, path, key in paths:
        try:
            parse(path)
        except ValueError as error:
            raise MisplacedKey(str(error), *key) from error


_KNOWN = frozenset({*_FORMATS_OF_1, *_BY_COLUMNS, "keyed", "xdc"})


def positions(place: str, *path: str) -> slice:
    """The part of a line that `9-16` or `17-` names, counted from 1, both ends in it.

    Raises MisplacedKey, which lies at `path`, for what names none.
    """
    found = _POSITIONS.fullmatch(place.replace(" ", ""))
    first, last = (int(found[1]), int(found[2] or 9999)) if found else (1, 0)
    if last < first:
        raise MisplacedKey(f"{place!r} are no positions such as 9-16 or 17-", *path)
    return slice(first - 1, last if found and found[2] else None)
