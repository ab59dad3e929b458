"""YAML as the vault writes and reads it.

Written text is canonical: its bytes depend on the content alone, not on a library's version.
Reading uses ruamel.yaml's safe loader; numbers with a point come in as exact decimals.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from copy import copy
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

from vault.model.errors import Damaged, Unreadable
from vault.model.export import Scalar
from vault.model.parameters import canonical_code
from vault.model.quantities import normal

# Plain in YAML 1.1 and 1.2 alike: starts with a letter, holds no indicator.
_PLAIN = re.compile(r"[A-Za-z_](?:[A-Za-z0-9 _./()*^%+-]*[A-Za-z0-9_./()*^%+-])?")
PLAIN_CODE = re.compile(r"0x[0-9A-F]{4}:[0-9A-F]{2}")
_RESERVED = re.compile(r"(?:true|false|yes|no|on|off|y|n|null|inf|nan)", re.IGNORECASE)
_NUMBER = re.compile(r"-?\d+(\.\d+)?")
_KEY = re.compile(r"(\"(?:[^\"\\]|\\.)*\"|[^\":]+(?::[0-9A-F]{2})?):(?= |$)")
_CONSTANTS: dict[str, Any] = {"{}": {}, "[]": [], "true": True, "false": False}
_MOST_DIGITS = 400  # of a number that is read as one at all
_MOST_DEPTH = 100
_MOST_PARTS = 300_000
_BRACKETS = re.compile(r"[\[\]{}]")
_DEEP_LINE = re.compile(r"^[ \t?:-]{200}", re.MULTILINE)
_ALIAS = re.compile(r"\*\w")
_BEFORE_ALIAS = frozenset(" \t\r\n,[{")
_UNPRINTABLE = re.compile(
    "[\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\uffff\ud800-\udfff]"
)


def scalar_text(value: Scalar | bool | None) -> str:
    """Write one scalar. Integers without, decimals always with a point; text quoted if unclear."""
    if isinstance(value, str):
        return _string_text(value)
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        return str(value)
    return _decimal_text(value)


@lru_cache(maxsize=1 << 14)
def _decimal_text(value: Decimal) -> str:
    text = format(normal(value), "f")
    return text if "." in text else f"{text}.0"


@lru_cache(maxsize=1 << 14)  # names and units stand in every snapshot
def _string_text(value: str) -> str:
    if _PLAIN.fullmatch(value) and not _RESERVED.fullmatch(value):
        return value
    if PLAIN_CODE.fullmatch(value):
        return value
    quoted = json.dumps(value, ensure_ascii=False)
    return _UNPRINTABLE.sub(lambda m: f"\\u{ord(m.group()):04x}", quoted)


def read_scalar(text: str) -> Scalar:
    """Read a scalar that `scalar_text` wrote."""
    if text[0] == '"':
        return str(json.loads(text))
    if _NUMBER.fullmatch(text):
        return Decimal(text) if "." in text else int(text)
    return text


def mapping_text(content: Mapping[str, Any]) -> bytes:
    """Write a mapping of scalars, mappings and lists as canonical block YAML, keys in given order.

    None is left out; empty mappings are written as `{}`, empty lists as `[]`. A list holds scalars
    or mappings.
    """
    return "".join(_block(content, 0)).encode()


def _block(content: Mapping[str, Any], depth: int) -> Iterator[str]:
    for key, value in content.items():
        head = f"{'  ' * depth}{scalar_text(key)}:"
        if value is None:
            continue
        if isinstance(value, Mapping):
            inner = "".join(_block(value, depth + 1))
            yield f"{head}\n{inner}" if inner else f"{head} {{}}\n"
        elif isinstance(value, list | tuple):
            yield f"{head}\n" if value else f"{head} []\n"
            for item in value:
                if not isinstance(item, Mapping):
                    yield f"{'  ' * depth}- {scalar_text(item)}\n"
                    continue
                lines = "".join(_block(item, depth + 1))
                yield f"{'  ' * depth}- {lines[2 * depth + 2 :] or '{}' + chr(10)}"
        else:
            yield f"{head} {scalar_text(value)}\n"


def read_mapping(content: bytes, file: str) -> dict[str, Any]:
    """Read what `mapping_text` wrote. Raises Damaged naming the line that is not canonical."""
    try:
        lines = content.decode("utf-8").split("\n")
    except UnicodeDecodeError as error:
        raise Damaged("this is not UTF-8 text", file=file, line=1) from error
    reader = _BlockReader(lines.copy(), file)
    mapping = reader.mapping(0)
    if reader.at != len(lines) - 1 or lines[-1]:
        raise reader.damaged()
    written = mapping_text(mapping).decode().split("\n")
    for reader.at, (line, as_written) in enumerate(zip(lines, written, strict=False)):
        if line != as_written:
            raise reader.damaged()
    return mapping


def _read_value(text: str) -> Any:
    """Read a scalar or an empty collection; never the same list or mapping twice."""
    return copy(_CONSTANTS[text]) if text in _CONSTANTS else read_scalar(text)


class _BlockReader:
    """Reads canonical block YAML: two blanks per level, one scalar per line."""

    def __init__(self, lines: list[str], file: str) -> None:
        self.lines = lines
        self.file = file
        self.at = 0

    def damaged(self) -> Damaged:
        return Damaged("this line is not as it was written", file=self.file, line=self.at + 1)

    def mapping(self, depth: int) -> dict[str, Any]:
        indent = "  " * depth
        mapping: dict[str, Any] = {}
        while self.at < len(self.lines):
            line = self.lines[self.at]
            if not line.startswith(indent) or line[len(indent) : len(indent) + 1] in ("", " ", "-"):
                break
            key, value = self._pair(line[len(indent) :], depth)
            mapping[key] = value
        return mapping

    def _pair(self, text: str, depth: int) -> tuple[str, Any]:
        parts = _KEY.match(text)
        if parts is None:
            raise self.damaged()
        rest = text[parts.end() :]
        try:
            key = str(read_scalar(parts[1]))
            value = _read_value(rest[1:]) if rest else None
        except (ValueError, IndexError) as error:
            raise self.damaged() from error
        self.at += 1
        if rest == "":
            following = self.lines[self.at] if self.at < len(self.lines) else ""
            if following.startswith("  " * depth + "- "):
                return key, self._items(depth)
            return key, self.mapping(depth + 1)
        return key, value

    def _items(self, depth: int) -> list[Any]:
        start = "  " * depth + "- "
        items: list[Any] = []
        while self.at < len(self.lines) and self.lines[self.at].startswith(start):
            rest = self.lines[self.at][len(start) :]
            if _KEY.match(rest):
                self.lines[self.at] = "  " * (depth + 1) + rest
                items.append(self.mapping(depth + 1))
                continue
            try:
                items.append(_read_value(rest))
            except (ValueError, IndexError) as error:
                raise self.damaged() from error
            self.at += 1
        return items


@cache
def _loader() -> Any:
    from ruamel.yaml import YAML
    from ruamel.yaml.constructor import SafeConstructor

    class ExactConstructor(SafeConstructor):
        def construct_exact(self, node: Any) -> Any:
            text = self.construct_scalar(node).replace("_", "")
            try:
                number = Decimal(text)
            except ArithmeticError:  # .inf and .nan: text, so that a schema refuses them
                return text
            # Text too where writing it out would take for ever.
            is_long = number.is_finite() and abs(number.adjusted()) > _MOST_DIGITS
            return text if is_long or len(text) > _MOST_DIGITS else number

        def construct_whole(self, node: Any) -> Any:
            text = self.construct_scalar(node)
            return text if len(text) > _MOST_DIGITS else self.construct_yaml_int(node)

        def construct_time_as_text(self, node: Any) -> Any:
            return self.construct_scalar(node)

    ExactConstructor.add_constructor("tag:yaml.org,2002:float", ExactConstructor.construct_exact)
    ExactConstructor.add_constructor("tag:yaml.org,2002:int", ExactConstructor.construct_whole)
    ExactConstructor.add_constructor(
        "tag:yaml.org,2002:timestamp", ExactConstructor.construct_time_as_text
    )
    loader = YAML(typ="safe", pure=False)
    loader.Constructor = ExactConstructor
    return loader


def load(content: bytes | str, file: str) -> Any:
    """Read YAML written by people or by us. Raises Unreadable with file and line."""
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    try:
        text = content.decode("utf-8-sig") if isinstance(content, bytes) else content
        check_size(text, file)
        return _loader().load(text)
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise Unreadable("the file is not UTF-8 text", file=file, line=line) from error
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        where = mark.line + 1 if mark is not None else None
        reason = error.problem or error.context or "no valid YAML"
        raise Unreadable(f"no valid YAML: {reason}", file=file, line=where) from error
    except (YAMLError, ValueError, LookupError, RecursionError) as error:
        raise Unreadable(f"no valid YAML: {error}", file=file) from error


def may_mention(content: bytes, key: bytes) -> bool:
    """Whether a YAML text may have a key: told without loading it, and never wrongly denied."""
    return key in content or b"\\" in content  # an escape can spell anything


def check_size(text: str, file: str) -> None:
    """Refuse a YAML text that would take the memory or the stack of the process.

    Raises Unreadable; what ruamel.yaml raises where it is no YAML.
    """
    if text.count("\n") + text.count(",") > _MOST_PARTS:
        reason = f"no more than {_MOST_PARTS:,} entries are read from one file"
        raise Unreadable(reason, file=file, line=1)
    if not (_may_be_deep(text) or _has_alias(text)):
        return
    from ruamel.yaml import YAML

    # It may well be brackets within quotes, so it is looked at part by part: that takes no stack.
    parts, begun = 0, [0]
    sizes: dict[str, int] = {}
    names: list[str | None] = [None]
    for event in YAML(typ="safe", pure=False).parse(text):
        kind = type(event).__name__
        anchor = getattr(event, "anchor", None)
        parts += 1
        if kind == "AliasEvent":
            parts += sizes.get(str(anchor), 0)
        elif kind == "ScalarEvent" and anchor:
            sizes[str(anchor)] = 1
        elif kind in ("MappingStartEvent", "SequenceStartEvent"):
            begun.append(parts)
            names.append(anchor)
        elif kind in ("MappingEndEvent", "SequenceEndEvent"):
            start, name = begun.pop(), names.pop()
            if name:
                sizes[name] = parts - start
        if len(begun) > _MOST_DEPTH + 1 or parts > 4 * _MOST_PARTS:
            what = "is nested too deep" if len(begun) > _MOST_DEPTH + 1 else "repeats too much"
            raise Unreadable(f"this {what}", file=file, line=event.start_mark.line + 1)


def _may_be_deep(text: str) -> bool:
    """Whether it is nested deep, if all brackets count that stand anywhere."""
    depth = 0
    for bracket in _BRACKETS.findall(text):
        if bracket in "[{":
            depth += 1
            if depth > _MOST_DEPTH:
                return True
        elif depth:
            depth -= 1
    return _DEEP_LINE.search(text) is not None


def _has_alias(text: str) -> bool:
    starts = (match.start() for match in _ALIAS.finditer(text))
    return any(at == 0 or text[at - 1] in _BEFORE_ALIAS for at in starts)


def line_of(content: bytes | str, path: tuple[str | int, ...]) -> int | None:
    """Line (from 1) at which a key path stands in a YAML text, or of its nearest parent."""
    text = content.decode("utf-8-sig") if isinstance(content, bytes) else content
    node = composed(text)
    line: int | None = None
    for step in path:
        children = getattr(node, "value", None)
        if not isinstance(children, list):
            break
        if isinstance(step, int) and children and not isinstance(children[0], tuple):
            if step >= len(children):
                break
            node = children[step]
            line = node.start_mark.line + 1
            continue
        for key, value in (pair for pair in children if isinstance(pair, tuple)):
            if str(step) in (key.value, canonical_code(str(key.value))):
                line, node = key.start_mark.line + 1, value
                break
        else:
            break
    return line


@lru_cache(maxsize=1)  # a file has many problems, and is asked for each
def composed(text: str) -> Any:
    """The nodes of a YAML text, each with its places in it."""
    from ruamel.yaml import YAML

    return YAML(typ="safe", pure=False).compose(text)


def misfit(what: str, error: Exception, file: str) -> Damaged:
    """What to raise for a mapping that was read, but whose parts are not what they must be."""
    reason = str(error)
    if isinstance(error, KeyError):
        reason = f"{error.args[0]} is missing"
    elif isinstance(error, (TypeError, AttributeError)):
        reason = "a part is of another kind"
    return Damaged(f"{what} is not as it was written: {reason}", file=file)
