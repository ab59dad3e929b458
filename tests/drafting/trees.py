"""Exports that are no tables: keys with values, XML, JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from decimal import Decimal
from itertools import groupby

from tests.drafting import spelling
from tests.drafting.grids import encoded, escaped
from tests.drafting.truth import Style, TrueParameter

_TAGS = {"code": "id", "name": "name", "value": "value", "unit": "unit", "low": "min",
         "high": "max", "default": "default", "access": "access"}  # fmt: skip


def keyed(parameters: Sequence[TrueParameter], axes: int, style: Style) -> bytes:
    """INI text, or numbered lines such as `P1.05 Max speed : 3000 rpm`."""
    mark = {"ini": " = ", "lines": " : "}[style.container]
    lines = []
    if style.title:
        lines += [f"; {spelling.TITLES[style.language]}", ""]
    if style.plate:
        lines += ["[Device]"] if style.sections or style.axes else []
        for label, text in spelling.plate(style).values():
            lines.append(f"{label}{mark}{text}")
        lines.append("")
    for at in range(axes):
        lines += [f"[{spelling.AXES[style.language]} {at + 1}]"] if style.axes else []
        for section, group in groupby(parameters, key=lambda one: one.section):
            lines += [f"[{section}]"] if style.sections else []
            lines += [_keyed_line(one, at, mark, style) for one in group]
    return encoded("".join(line + style.line_end for line in lines), style)


def _keyed_line(one: TrueParameter, at: int, mark: str, style: Style) -> str:
    value = spelling.content(one.values[at], one, style)
    value = f'"{value}"' if ";" in value else value
    if style.container == "lines":
        return f"{one.code} {one.name}{mark}{value}"
    beside = {"column": one.unit, "name": one.name}.get(style.units, "")
    return f"{one.code}{mark}{value}" + (f" ; {beside}" if beside else "")


def xml_elements(parameters: Sequence[TrueParameter], axes: int, style: Style) -> bytes:
    """A parameter is an element that has its parts as elements."""

    def told(one: TrueParameter, at: int) -> str:
        cells = spelling.cells(one, at, style)
        parts = "".join(
            f"<{_TAGS[column]}>{escaped(cells[column])}</{_TAGS[column]}>"
            for column in style.columns
            if column in _TAGS and (cells[column] or column == "value")
        )
        return f"<Parameter>{parts}</Parameter>"

    return _xml(parameters, axes, style, told)


def xml_attributes(parameters: Sequence[TrueParameter], axes: int, style: Style) -> bytes:
    """A parameter is an element that has its parts as attributes."""

    def told(one: TrueParameter, at: int) -> str:
        cells = spelling.cells(one, at, style)
        parts = "".join(
            f' {_TAGS[column]}="{escaped(cells[column])}"'
            for column in style.columns
            if column in _TAGS
        )
        return f"<P{parts}/>"

    return _xml(parameters, axes, style, told)


def _xml(parameters: Sequence[TrueParameter], axes: int, style: Style, told: object) -> bytes:
    assert callable(told)
    lines = [f'<?xml version="1.0" encoding="{style.encoding}"?>', "<Export>"]
    if style.plate:
        lines.append("<Device>")
        fields = spelling.plate(style)
        lines += [f"<{name}>{escaped(fields[field][1])}</{name}>" for field, name in _PLATE.items()]
        lines.append("</Device>")
    for at in range(axes):
        lines.append(f'<Axis number="{at + 1}">' if style.axes else "<Parameters>")
        for section, group in groupby(parameters, key=lambda one: one.section):
            lines += [f'<Group name="{section}">'] if style.sections else []
            lines += [told(one, at) for one in group]
            lines += ["</Group>"] if style.sections else []
        lines.append("</Axis>" if style.axes else "</Parameters>")
    lines.append("</Export>")
    return encoded(style.line_end.join(lines), style)


_PLATE = {"drive": "DriveType", "serial": "SerialNumber", "firmware": "Firmware",
          "taken_at": "Date"}  # fmt: skip


def json_list(parameters: Sequence[TrueParameter], axes: int, style: Style) -> bytes:
    """A list of parameters, each with its parts by their names."""
    return _json(style, [dict(_parts(one, 0, style)) for one in parameters])


def json_mapping(parameters: Sequence[TrueParameter], axes: int, style: Style) -> bytes:
    """Parts of each parameter by its code."""
    return _json(
        style,
        {one.code: {k: v for k, v in _parts(one, 0, style) if k != "id"} for one in parameters},
    )


def json_plain(parameters: Sequence[TrueParameter], axes: int, style: Style) -> bytes:
    """The value of each parameter by its code."""
    return _json(style, {one.code: dict(_parts(one, 0, style))["value"] for one in parameters})


def _parts(one: TrueParameter, at: int, style: Style) -> Iterator[tuple[str, object]]:
    cells = spelling.cells(one, at, style)
    for column in style.columns:
        if column not in _TAGS:
            continue
        value = one.values[at]
        if column == "value" and isinstance(value, Decimal) and style.units != "value":
            number = int(value) if value == int(value) else float(value)
            yield "value", cells["value"] if one.base else number
        elif column in ("low", "high", "default"):
            bound = getattr(one, column)
            yield _TAGS[column], None if bound is None else int(bound)
        else:
            yield _TAGS[column], cells[column]


def _json(style: Style, parameters: object) -> bytes:
    told: dict[str, object] = {}
    if style.plate:
        fields = spelling.plate(style)
        told["device"] = {name: fields[field][1] for field, name in _PLATE.items()}
    told["parameters"] = parameters
    text = json.dumps(told, ensure_ascii=False, indent=1)
    return encoded(text.replace("\n", style.line_end), style)
