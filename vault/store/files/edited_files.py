"""Files people edit, such as axis records: checked, errors name file, line and key."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from vault.model.bounds import OutOfBounds
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine
from vault.model.near_names import did_you_mean
from vault.model.wording import plural
from vault.store.files import yaml_text

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

    from vault.model.axis import AxisRecord
    from vault.model.families import Family
    from vault.model.replacement import Replacement
    from vault.model.site import SiteRecord
    from vault.model.watch_rules import WatchRules

    Model = TypeVar("Model", bound=BaseModel)


def read_family(content: bytes, file: str) -> Family:
    """Read a dictionary. Raises Unreadable with file, line and key."""
    from vault.model.families import Family

    return _checked(Family, content, file, "a drive family")


@lru_cache(maxsize=64)
def cached_family(content: bytes, file: str) -> Family:
    """Like read_family; equal content is read once per process."""
    return read_family(content, file)


def family_problems(family: Family, content: bytes) -> tuple[SkippedLine, ...]:
    """What of a dictionary is valid and still wrong: line, key and reason of each."""
    from vault.model.family_doubts import doubts

    return tuple(
        SkippedLine(yaml_text.line_of(content, doubt.path) or 1, _key(doubt.path), doubt.reason)
        for doubt in doubts(family)
    )


def read_axis(content: bytes, file: str) -> AxisRecord:
    """Read an axis record. Raises Unreadable with file, line and key."""
    from vault.model.axis import AxisRecord

    return _checked(AxisRecord, content, file, "an axis record")


def kept_axis(content: bytes, file: str) -> AxisRecord:
    """Read an axis record that lies in a vault: what of it cannot be is `unknown`, and told.

    Raises Unreadable with file, line and key for anything else.
    """
    from pydantic import ValidationError

    from vault.model.axis import AxisRecord

    loaded = _mapping(content, file, "an axis record")
    unknown: list[SkippedLine] = []
    while True:
        try:
            return AxisRecord.model_validate(loaded).without(tuple(unknown))
        except ValidationError as error:
            left_out = _leave_out(error, loaded, content, {line.text for line in unknown})
            if left_out is None:
                raise _first_problem(error, loaded, content, file, AxisRecord) from error
            unknown.append(left_out)


@lru_cache(maxsize=64)
def cached_axis(content: bytes, file: str) -> AxisRecord:
    """Like kept_axis; equal content is read once per process."""
    return kept_axis(content, file)


def read_site(content: bytes, file: str) -> SiteRecord:
    """Read vault.yaml. Raises Unreadable with file, line and key."""
    from vault.model.site import SiteRecord

    return _checked(SiteRecord, content, file, "a site")


def read_watch_rules(content: bytes, file: str) -> WatchRules:
    """Read the rules of a watched folder. Raises Unreadable with file, line and key."""
    from vault.model.watch_rules import WatchRules

    return _checked(WatchRules, content, file, "a list of rules for a watched folder")


def read_replacement(content: bytes, file: str) -> Replacement:
    """Read what is fitted. Raises Unreadable with file, line and key."""
    from vault.model.replacement import Replacement

    return _checked(Replacement, content, file, "a nameplate")


def _checked(model: type[Model], content: bytes, file: str, what: str) -> Model:
    from pydantic import ValidationError

    loaded = _mapping(content, file, what)
    try:
        return model.model_validate(loaded)
    except ValidationError as error:
        raise _first_problem(error, loaded, content, file, model) from error


def _mapping(content: bytes, file: str, what: str) -> dict[str, Any]:
    loaded = yaml_text.load(content, file)
    if not isinstance(loaded, dict):
        raise Unreadable(f"this is not {what}: no keys at the top", file=file, line=1)
    return loaded


def _leave_out(
    error: ValidationError, loaded: dict[str, Any], content: bytes, known: set[str]
) -> SkippedLine | None:
    """Take one value out that is out of bounds, and what is nothing without it.

    None where something else is wrong too.
    """
    problems: list[Any] = error.errors(include_url=False)
    first = problems[0]
    path = (*_as_written(first["loc"], loaded), *_below(first))
    cause = first.get("ctx", {}).get("error")
    is_needed = first["type"] == "missing" and _key(path) in known
    if not (is_needed or isinstance(cause, OutOfBounds) or first["type"] in _BOUNDS):
        return None
    reason = first["msg"].removeprefix("Value error, ")
    if is_needed:
        reason, path = f"is nothing without {path[-1]}", path[:-1]
    if path[:2] == ("mechanics", "gearbox") or path[:1] == ("duty",):
        path = path[:1]  # less of it says something else
    place: Any = loaded
    try:
        for step in path[:-1]:
            place = place[step]
        del place[path[-1]]
    except (LookupError, TypeError):
        return None
    return SkippedLine(yaml_text.line_of(content, path) or 1, _key(path), reason)


# What pydantic calls its own bounds.
_BOUNDS = frozenset({
    "greater_than", "greater_than_equal", "less_than", "less_than_equal", "too_long",
    "finite_number", "int_parsing_size",
})  # fmt: skip


def _first_problem(
    error: ValidationError, loaded: dict[str, Any], content: bytes, file: str, model: Any
) -> Unreadable:
    problems = error.errors(include_url=False)
    first: Any = problems[0]
    if first["type"] == "missing":  # what is misspelled is missing too
        first = next((one for one in problems if one["type"] == "extra_forbidden"), first)
    path = (*_as_written(first["loc"], loaded), *_below(first))
    key = _key(path) or "the file"
    reason = first["msg"].removeprefix("Value error, ")
    if first["type"] == "extra_forbidden":
        from vault.store.files.known_keys import known_keys

        reason += did_you_mean(str(path[-1]), known_keys(model, first["loc"][:-1]))
    line = yaml_text.line_of(content, path) or 1
    return Unreadable(f"{key}: {reason}{_more(len(problems) - 1)}", file=file, line=line)


def _key(path: tuple[str | int, ...]) -> str:
    return ".".join(str(step) for step in path)


def _more(count: int) -> str:
    return f" (and {plural(count, 'more problem')})" if count else ""


def family_error(problems: tuple[SkippedLine, ...], file: str) -> Unreadable:
    """The error that a dictionary with such problems is refused with."""
    first = problems[0]
    reason = f"{first.text}: {first.reason}{_more(len(problems) - 1)}"
    return Unreadable(reason, file=file, line=first.line, problems=problems)


def _below(problem: Any) -> tuple[str | int, ...]:
    """Rest of the path that a check knows which noticed a problem further up."""
    path: tuple[str | int, ...] = getattr(problem.get("ctx", {}).get("error"), "path", ())
    return path


def _as_written(path: tuple[str | int, ...], loaded: Any) -> tuple[str | int, ...]:
    """A path as people wrote it: without the `kind` that pydantic adds where it chose by that."""
    written: list[str | int] = []
    for step in path:
        if isinstance(loaded, dict) and step not in loaded and step == loaded.get("kind"):
            continue
        written.append(step)
        try:
            loaded = loaded[step]
        except (LookupError, TypeError):
            loaded = None
    return tuple(written)
