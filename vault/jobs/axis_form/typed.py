"""What stands in the fields of an axis record, and what is typed into them: edits of the file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from vault.jobs.axis_form.fields import FREE, MOVE_KEYS, groups, kind_of
from vault.model.numerals import typed_number
from vault.model.quantities import Measure, plain
from vault.model.typed_text import text_or_none
from vault.model.written_form import form, marked
from vault.store.files import yaml_text
from vault.store.files.edited_files import NEW_AXIS

_SPARE_MOVES, _SPARE_NAMES = 3, 2
_MOST_ROWS = 1000
Values = dict[str, str]
"""Texts by the name of a field."""


@dataclass(frozen=True, slots=True)
class Typed:
    """The edits that were typed, and what is wrong with a field, by its name."""

    edits: dict[str, Any]
    problems: dict[str, str]


def loaded(content: bytes | None, file: str) -> dict[str, Any]:
    """A record as it was written. Raises Unreadable."""
    found = yaml_text.load(NEW_AXIS if content is None else content, file)
    return found if isinstance(found, dict) else {}


def shown(record: Mapping[str, Any]) -> Values:
    """What the fields of a record say, by name, as the site writes it."""
    values: Values = {}
    for group in groups():
        for field in group.fields:
            values[field.name] = _text(_at(record, field.name), field.kind)
    for section in FREE:
        for key, content in _mapping(record.get(section)).items():
            values[f"{section}.{key}"] = _text(content, "text")
    for number, move in enumerate(_moves(record)):
        for key in MOVE_KEYS:
            values[f"duty.moves.{number}.{key}"] = _text(move.get(key), "quantity")
    for number, (name, floor) in enumerate(_mapping(record.get("margins")).items()):
        values[f"margins.{number}.name"] = str(name)
        values[f"margins.{number}.floor"] = marked(_plain(floor))
    return values


def rows(values: Mapping[str, str], prefix: str, spare: int = _SPARE_NAMES) -> range:
    """Numbers of the rows of a list, with some that are empty."""
    taken = [int(n) for name in values if (n := _number(name, prefix)) is not None and values[name]]
    return range(min(max(taken, default=-1) + 1 + spare, _MOST_ROWS))


def move_rows(values: Mapping[str, str]) -> range:
    """Numbers of the rows of moves."""
    return rows(values, "duty.moves", _SPARE_MOVES)


def _number(name: str, prefix: str) -> int | None:
    if not name.startswith(f"{prefix}."):
        return None
    number = name[len(prefix) + 1 :].partition(".")[0]
    return int(number) if number.isdecimal() and len(number) < 4 else None


def typed(record: Mapping[str, Any], sent: Mapping[str, str]) -> Typed:
    """The edits of a record that was typed over; a field that was not sent stays as it is."""
    before = shown(record)
    edits: dict[str, Any] = {}
    problems: dict[str, str] = {}
    for group in groups():
        for field in group.fields:
            _one(field.name, field.kind, before, sent, edits, problems)
    for section in FREE:
        own = {f"{section}.{key}" for key in _mapping(record.get(section))}
        for name in sorted(own - {field for group in groups() for field in _names(group)}):
            _one(name, "text", before, sent, edits, problems)
        for key, text in _new_names(section, sent):
            if _at(record, f"{section}.{key}") is not None:
                problems[f"{section}.{key}"] = "it has this name already"
            else:
                _put(edits, f"{section}.{key}", text)
    _list_of_moves(record, before, sent, edits, problems)
    _list_of_floors(record, before, sent, edits, problems)
    return Typed(edits, problems)


def _names(group: Any) -> Iterator[str]:
    return (field.name for field in group.fields)


def _one(
    name: str,
    kind: str,
    before: Values,
    sent: Mapping[str, str],
    edits: dict[str, Any],
    problems: dict[str, str],
) -> None:
    if name not in sent:
        return
    text, was = _clean(sent[name]), _clean(before.get(name, ""))
    if text == was:
        return
    try:
        _put(edits, name, _read(text, name, kind) if text else None)
    except ValueError as error:
        problems[name] = str(error)


def _clean(text: str) -> str:
    return " ".join((text_or_none(text) or "").split())


def _put(edits: dict[str, Any], name: str, content: Any) -> None:
    """Put a value under a key such as `mechanics.gearbox.motor`; a free name may have points."""
    parts = name.split(".", 1) if name.split(".", 1)[0] in FREE else name.split(".")
    place = edits
    for part in parts[:-1]:
        place = place.setdefault(part, {})
    place[parts[-1]] = content


def _at(record: Mapping[str, Any], name: str) -> Any:
    parts = name.split(".", 1) if name.split(".", 1)[0] in FREE else name.split(".")
    found: Any = record
    for part in parts:
        found = found.get(part) if isinstance(found, Mapping) else None
    return found


def _read(text: str, name: str, kind: str) -> Any:
    """What was typed, as the file has it. Raises ValueError in words."""
    match kind:
        case "quantity":
            return _quantity(text)
        case "whole":
            try:
                return _whole(text)
            except ValueError as error:
                raise ValueError(f"{text!r} is no whole number") from error
        case "yes_no":
            if text not in ("true", "false"):
                raise ValueError("choose yes or no")
            return text == "true"
        case "choice":
            options = [option for option, _ in kind_of(name)[1]]
            if text not in options:
                raise ValueError(f"choose one of {', '.join(options)}")
            return int(text) if text.isdecimal() else text
        case "axes":
            return [part for part in (one.strip() for one in text.split(",")) if part]
    return text


def _quantity(text: str) -> str:
    return str(Measure.typed(text))


def _whole(text: str) -> int:
    number = typed_number(text, decimal_comma=form().decimal == "comma")
    if number != number.to_integral_value():
        raise ValueError
    return int(number)


def _new_names(section: str, sent: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Names that were added to a section, in rows of `SECTION+N.name` and `SECTION+N.value`."""
    for number in range(_SPARE_NAMES):
        key, text = (_clean(sent.get(f"{section}+{number}.{end}", "")) for end in ("name", "value"))
        if key and text:
            yield key.replace(" ", "_"), text


def _list_of_moves(
    record: Mapping[str, Any],
    before: Values,
    sent: Mapping[str, str],
    edits: dict[str, Any],
    problems: dict[str, str],
) -> None:
    """The moves of the duty: written anew as a whole where one of them changed."""
    prefix = "duty.moves"
    names = [name for name in {*before, *sent} if _number(name, prefix) is not None]
    if not any(name in sent and _clean(sent[name]) != before.get(name, "") for name in names):
        return
    moves: list[dict[str, str]] = []
    for number in sorted({n for name in names if (n := _number(name, prefix)) is not None}):
        move: dict[str, str] = {}
        for key in MOVE_KEYS:
            name = f"{prefix}.{number}.{key}"
            text = _clean(sent.get(name, before.get(name, "")))
            try:
                if text:
                    move[key] = _quantity(text)
            except ValueError as error:
                problems[name] = str(error)
        if move:
            moves.append(move)
    if moves != [*_moves(record)]:
        edits.setdefault("duty", {})["moves"] = moves or None


def _list_of_floors(
    record: Mapping[str, Any],
    before: Values,
    sent: Mapping[str, str],
    edits: dict[str, Any],
    problems: dict[str, str],
) -> None:
    """Floors under margins, each a key with its number."""
    floors: dict[str, Any] = {}
    own = _mapping(record.get("margins"))
    numbers = {n for name in (*before, *sent) if (n := _number(name, "margins")) is not None}
    if not any(name.startswith("margins.") for name in sent):
        return
    for number in sorted(numbers):
        names = [f"margins.{number}.{end}" for end in ("name", "floor")]
        key, text = (_clean(sent.get(name, before.get(name, ""))) for name in names)
        if not key and not text:
            continue
        if not key or not text:
            problems[names[not key or 1]] = "a floor has both: the margin, and what it is at least"
            continue
        try:
            floors[key] = (
                own[key]
                if key in own and text == marked(_plain(own[key]))
                else typed_number(text, decimal_comma=form().decimal == "comma")
            )
        except ValueError as error:
            problems[names[1]] = str(error)
    changed = {key: floor for key, floor in floors.items() if own.get(key) != floor}
    changed |= dict.fromkeys(key for key in own if str(key) not in floors)
    if changed and not any(name.startswith("margins.") for name in problems):
        edits["margins"] = changed


def _mapping(content: Any) -> Mapping[str, Any]:
    return content if isinstance(content, Mapping) else {}


def _moves(record: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    moves = _mapping(record.get("duty")).get("moves")
    return [_mapping(move) for move in moves] if isinstance(moves, list) else []


def _plain(content: Any) -> str:
    return plain(content) if isinstance(content, int | Decimal) else str(content)


def _text(content: Any, kind: str) -> str:
    if content is None:
        return ""
    if isinstance(content, bool):
        return "true" if content else "false"
    if isinstance(content, list):
        return ", ".join(map(str, content))
    text = _plain(content) if isinstance(content, Decimal) else str(content)
    if kind != "quantity":
        return text
    try:
        return marked(str(Measure.parse(text)))
    except ValueError:
        return text  # shown as it stands, to be put right
