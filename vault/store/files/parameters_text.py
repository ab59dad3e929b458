"""parameters.yaml: the normalised values of a snapshot, one line per parameter in natural order.

Equal sets give equal bytes, on any axis and at any time; a line reads back by itself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from vault.model.errors import Damaged
from vault.model.export import Scalar
from vault.model.parameters import Parameter, ParameterSet, code_order
from vault.store.files.yaml_text import PLAIN_CODE, read_scalar, scalar_text

PARAMETERS_SCHEMA = "axisvault/parameters/1"
_HEAD = f"schema: {PARAMETERS_SCHEMA}\nparameters:\n"
_EMPTY = f"schema: {PARAMETERS_SCHEMA}\nparameters: {{}}\n"
_LINE = re.compile(
    r"  (?P<code>\"(?:[^\"\\]|\\.)*\"|[^{}\"]+?): \{name: (?P<name>{t})(?:, role: (?P<role>{t}))?"
    r", value: (?P<value>{t})(?:, unit: (?P<unit>{t}))?(?:, label: (?P<label>{t}))?"
    r", raw: (?P<raw>{t})\}".replace("{t}", r"\"(?:[^\"\\]|\\.)*\"|[^,{}\"]+")
)


_LINE_START = re.compile(
    r"  (?P<code>\"(?:[^\"\\]|\\.)*\"|[^{}\"]+?): \{name: (?:\"(?:[^\"\\]|\\.)*\"|[^,{}\"]+)"
    r"(?:, role: (?P<role>[a-z0-9_.]+))?, value: "
)


# A number as it is written has no zeros in vain, and nought has no sign.
_NUMBER = r"(?:0|-?[1-9][0-9]*)(?:\.0)?|-?(?:0|[1-9][0-9]*)\.[0-9]*[1-9]"
# In two, for each takes as long as the text is long: a name may be full of what looks like these.
_TO_RAW = re.compile(rf"(.*, value: )({_NUMBER})(, .*)")
_RAW = re.compile(rf"({_NUMBER})\}}")


_LONG = 4000  # characters: Python reads no whole number of more than 4,300 digits


def _flow_text(value: Scalar) -> str:
    """Write one scalar inside braces."""
    return _flow_string(value) if isinstance(value, str) else scalar_text(value)


@lru_cache(maxsize=1 << 14)
def _flow_string(value: str) -> str:
    """Inside braces an address needs quotes (YAML 1.1, libyaml)."""
    return f'"{value}"' if PLAIN_CODE.fullmatch(value) else scalar_text(value)


def parameter_line(parameter: Parameter) -> str:
    """Write one parameter as one line of parameters.yaml, without line end."""
    parts = [f"name: {_flow_string(parameter.name)}"]
    if parameter.role is not None:
        parts.append(f"role: {_flow_string(parameter.role)}")
    parts.append(f"value: {_flow_text(parameter.value)}")
    if parameter.unit is not None:
        parts.append(f"unit: {_flow_string(parameter.unit)}")
    if parameter.label is not None:
        parts.append(f"label: {_flow_string(parameter.label)}")
    parts.append(f"raw: {_flow_text(parameter.raw)}")
    return f"  {scalar_text(parameter.code)}: {{{', '.join(parts)}}}"


def parameters_text(parameters: ParameterSet) -> bytes:
    """Write parameters.yaml: equal sets give equal bytes."""
    return lines_text([parameter_line(p) for p in parameters.values()])


def lines_text(lines: Sequence[str]) -> bytes:
    """Write parameters.yaml of lines that `parameter_line` gave, in canonical order."""
    return (_HEAD + "\n".join(lines) + "\n").encode() if lines else _EMPTY.encode()


@lru_cache(maxsize=1 << 14)
def read_parameter_line(line: str) -> Parameter:
    """Read one line of parameters.yaml. Raises ValueError for any other text."""
    like, value, raw = read_but_numbers(line)
    if value is None or raw is None:
        return like
    return Parameter(
        like.code, like.name, _number(value), _number(raw), like.role, like.unit, like.label
    )


def read_but_numbers(line: str) -> tuple[Parameter, str, str] | tuple[Parameter, None, None]:
    """A line's parameter with nought for both numbers, and the numbers as written: much quicker.

    Where one of them is a text, the parameter as it is, and None. Raises ValueError for any other
    text.
    """
    if (parts := _parts(line)) is not None:
        before, value, between, raw = parts
        if (like := _read_around(before, between)) is not None:
            if len(line) > _LONG:  # as reading them does
                _number(value), _number(raw)
            return like, value, raw
    return _read_line(line), None, None


def numbers_apart(line: str) -> tuple[str, str, str, str] | None:
    """A line in parts: what stands before its value, that, what stands between, and its raw number.

    The numbers are as they are written, a brace ends the line. None where one of them is a text.
    """
    parts = _parts(line)
    return None if parts is None or _read_around(parts[0], parts[2]) is None else parts


def _parts(line: str) -> tuple[str, str, str, str] | None:
    head, word, tail = line.rpartition("raw: ")
    raw, to_raw = _RAW.fullmatch(tail), _TO_RAW.fullmatch(head)
    if raw is None or to_raw is None:
        return None
    return to_raw[1], to_raw[2], to_raw[3] + word, raw[1]


def _number(text: str) -> Decimal | int:
    return Decimal(text) if "." in text else int(text)


@lru_cache(maxsize=1 << 13)
def _read_around(before: str, between: str) -> Parameter | None:
    """The parameter of a line, as many axes have it, but for its numbers, which are nought.

    None where it is no line, or its numbers stand elsewhere, as within a text.
    """
    try:
        noughts, ones = (_read_line(f"{before}{n}{between}{n}}}") for n in (0, 1))
    except ValueError:
        return None
    are_numbers = (ones.value, ones.raw) == (1, 1)
    return noughts if are_numbers and replace(ones, value=0, raw=0) == noughts else None


def _read_line(line: str) -> Parameter:
    parts = _LINE.fullmatch(line)
    if parts is None:
        raise ValueError(f"not a parameter line: {line[:80]!r}")
    code, name, role, value, unit, label, raw = (
        None if text is None else read_scalar(text) for text in parts.groups()
    )
    if value is None or raw is None:
        raise ValueError(f"parameter without value: {line[:80]!r}")
    parameter = Parameter(
        code=str(code),
        name=str(name),
        value=value,
        raw=raw,
        role=None if role is None else str(role),
        unit=None if unit is None else str(unit),
        label=None if label is None else str(label),
    )
    if parameter_line(parameter) != line:
        raise ValueError(f"not as it was written: {line[:80]!r}")
    return parameter


def code_and_role(line: str) -> tuple[str, str | None]:
    """Code and role of a parameter line; the rest is not read. Raises Damaged for other text."""
    parts = _LINE_START.match(line)
    if parts is None:
        raise Damaged(f"not a parameter line: {line[:80]!r}", file="parameters.yaml")
    return str(read_scalar(parts["code"])), parts["role"]


def read_kept_line(line: str, file: str) -> Parameter:
    """Read one line of a kept parameters.yaml. Raises Damaged for any other text."""
    try:
        return read_parameter_line(line)
    except ValueError as error:
        raise Damaged(str(error), file=file) from error


def parameter_lines(content: bytes, file: str) -> list[str]:
    """Return the parameter lines of parameters.yaml unread. Raises Damaged for another schema."""
    text = content.decode("utf-8", "replace")
    if text == _EMPTY:
        return []
    if not text.startswith(_HEAD) or not text.endswith("\n"):
        raise Damaged("this is not a parameter file of ours", file=file, line=1)
    return text[len(_HEAD) : -1].split("\n")


def line_with_role(text: str, role: str) -> str | None:
    """The line of the parameter that has a role, unread; None where none has."""
    part = f", role: {role}, value: "
    at = text.find(part)
    while at >= 0:
        start, end = text.rfind("\n", 0, at) + 1, text.find("\n", at)
        line = text[start : end if end >= 0 else None]
        parts = _LINE.fullmatch(line)
        if parts is not None and parts["role"] == role:  # and no name that merely reads like it
            return line
        at = text.find(part, at + 1)
    return None


def lines_by_role(text: str) -> dict[str, str]:
    """The lines of all parameters that have a role, unread."""
    found: dict[str, str] = {}
    for line in text.split("\n"):
        if ", role: " in line:
            parts = _LINE_START.match(line)
            if parts is not None and parts["role"] is not None:
                found.setdefault(parts["role"], line)
    return found


def find_parameter(content: bytes, code: str, role: str | None, file: str) -> Parameter | None:
    """Read the one parameter of that code, else the one of that role; None if it is not there."""
    start = f"  {scalar_text(code)}: "
    for line in parameter_lines(content, file):
        if line.startswith(start):
            return read_kept_line(line, file)
    line_of_role = line_with_role(content.decode("utf-8", "replace"), role) if role else None
    return None if line_of_role is None else read_kept_line(line_of_role, file)


def read_parameters(content: bytes, file: str) -> ParameterSet:
    """Read parameters.yaml. Raises Damaged naming the line that is not canonical."""
    lines = parameter_lines(content, file)
    with suppress(ValueError):  # of a line, or of a code that stands twice
        parameters = [read_parameter_line(line) for line in lines]
        found = ParameterSet(parameters)
        if list(found) == [parameter.code for parameter in parameters]:
            return found
    _find_damage(lines, file)
    raise AssertionError("lines of a parameter file are damaged, and none of them is")


def _find_damage(lines: Sequence[str], file: str) -> None:
    """Raise Damaged naming the first line that is not canonical."""
    before: tuple[object, ...] = ()
    for number, line in enumerate(lines, start=3):
        try:
            parameter = read_parameter_line(line)
        except ValueError as error:
            raise Damaged(str(error), file=file, line=number) from error
        place = code_order(parameter.code)
        if place <= before:
            reason = f"{parameter.code} stands twice or out of order"
            raise Damaged(reason, file=file, line=number)
        before = place
