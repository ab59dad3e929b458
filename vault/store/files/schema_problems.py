"""What a schema finds wrong with a file that people edit, said in our words: line, key, reason."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, Any

from vault.model.export import SkippedLine
from vault.model.schema_words import in_words, unknown_key
from vault.store.files import yaml_text
from vault.store.files.known_keys import known_keys

if TYPE_CHECKING:
    from pydantic import ValidationError

Path = tuple[str | int, ...]


def problems_of(
    error: ValidationError, loaded: dict[str, Any], content: bytes, model: Any
) -> tuple[SkippedLine, ...]:
    """Every problem once: what is misspelled before what is therefore missing, or too few."""
    found: dict[Path, list[Any]] = {}
    raw: list[Any] = error.errors(include_url=False)
    for problem in sorted(raw, key=_rank):
        path = path_of(problem, loaded)
        if problem["type"] != "too_short" or all(other[: len(path)] != path for other in found):
            found.setdefault(path, []).append(problem)
    lines = {path: yaml_text.line_of(content, path) or 1 for path in found}
    ordered = sorted(found.items(), key=lambda item: (_rank(item[1][0]), lines[item[0]]))
    return tuple(
        SkippedLine(
            lines[path],
            key_of(path) or "the file",
            _SEVERAL if _of_several_kinds(several) else _reason(several[0], path, model),
        )
        for path, several in ordered
    )


def key_of(path: Path) -> str:
    """The path as people name it: `duty.moves.1.distance`."""
    return ".".join(str(step) for step in path)


def path_of(problem: Any, loaded: Any) -> Path:
    """Where a problem lies as people wrote it, with what a check knows of it further down.

    Left out is what pydantic adds: the `kind` by which it chose, and which kind of value it tried.
    """
    written: list[str | int] = []
    for step in problem["loc"]:
        there = _below(loaded, step)
        if there is _NOT_THERE and step == _kind(loaded):
            continue
        if there is _NOT_THERE and (_is_tried(step) or isinstance(loaded, _SCALARS)):
            break
        written.append(step)
        loaded = there
    below: Path = getattr(problem.get("ctx", {}).get("error"), "path", ())
    return (*written, *below)


_LAST = {"missing": 1, "too_short": 2}
_NOT_THERE = object()
_SCALARS = (str, int, float, Decimal)
_TRIED = ("str", "int", "decimal", "bool", "constrained-str")
_SEVERAL = "takes a text, a number, true or false"


def _rank(problem: Any) -> int:
    return _LAST.get(problem["type"], 0)


def _below(loaded: Any, step: str | int) -> Any:
    try:
        return loaded[step]
    except (LookupError, TypeError):
        return _NOT_THERE


def _kind(loaded: Any) -> Any:
    return loaded.get("kind", _NOT_THERE) if isinstance(loaded, dict) else _NOT_THERE


def _is_tried(step: str | int) -> bool:
    """Whether a step is no key, but what pydantic calls a kind of value that it tried."""
    return step in _TRIED or (isinstance(step, str) and "[" in step)


def _of_several_kinds(problems: list[Any]) -> bool:
    """Whether a value is of none of several kinds that would do."""
    return len(problems) > 1 and all(one["type"].endswith(_OF_A_KIND) for one in problems)


_OF_A_KIND = ("_type", "_parsing")


def _reason(problem: Any, path: Path, model: Any) -> str:
    kind = problem["type"]
    if kind == "extra_forbidden":
        return _unknown_key(path, known_keys(model, problem["loc"][:-1]), model)
    if kind in _KEYS:
        keys = known_keys(model, problem["loc"])
        return f"takes keys below it{': ' if keys else ''}{', '.join(keys)}"
    return in_words(problem)


def _unknown_key(path: Path, keys: list[str], model: Any) -> str:
    from vault.store.files.axis_keys import homes_of

    home = homes_of(str(path[-1])) if model.__name__ == "AxisRecord" else ""
    return unknown_key(str(path[-1]), keys, f"; it belongs under {home}" if home else "")


_KEYS = ("model_type", "model_attributes_type", "dict_type")
