"""Files people edit, such as axis records: checked, errors name file, line and key."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any, TypeVar

from vault.model.bounds import OutOfBounds
from vault.model.errors import Unreadable
from vault.model.export import SkippedLine
from vault.model.wording import plural
from vault.store.files import yaml_text
from vault.store.files.schema_problems import key_of, path_of, problems_of

if TYPE_CHECKING:
    from pydantic import BaseModel, ValidationError

    from vault.model.axis import AxisRecord
    from vault.model.families import Family
    from vault.model.glossary import Glossary
    from vault.model.machine import MachineRecord
    from vault.model.replacement import Replacement
    from vault.model.site import SiteRecord
    from vault.model.trial import TrialRecord
    from vault.model.watch_rules import WatchRules

    Model = TypeVar("Model", bound=BaseModel)


NEW_AXIS = b"schema: axisvault/axis/1\n"
NEW_MACHINE = b"schema: axisvault/machine/1\n"
"""Records of which nothing is said yet."""


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
        SkippedLine(yaml_text.line_of(content, doubt.path) or 1, key_of(doubt.path), doubt.reason)
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
                raise _refused(error, loaded, content, file, AxisRecord) from error
            unknown.append(left_out)


@lru_cache(maxsize=64)
def cached_axis(content: bytes, file: str) -> AxisRecord:
    """Like kept_axis; equal content is read once per process."""
    return kept_axis(content, file)


def read_site(content: bytes, file: str) -> SiteRecord:
    """Read vault.yaml. Raises Unreadable with file, line and key."""
    from vault.model.site import SiteRecord

    return _checked(SiteRecord, content, file, "a site")


def read_machine(content: bytes, file: str) -> MachineRecord:
    """Read machine.yaml. Raises Unreadable with file, line and key."""
    from vault.model.machine import MachineRecord

    return _checked(MachineRecord, content, file, "a machine")


def read_trial_record(content: bytes, file: str) -> TrialRecord:
    """Read trial.yaml. Raises Unreadable with file, line and key."""
    from vault.model.trial import TrialRecord

    return _checked(TrialRecord, content, file, "a trial")


def read_watch_rules(content: bytes, file: str) -> WatchRules:
    """Read the rules of a watched folder. Raises Unreadable with file, line and key."""
    from vault.model.watch_rules import WatchRules

    return _checked(WatchRules, content, file, "a list of rules for a watched folder")


def read_glossary(content: bytes, file: str) -> Glossary:
    """Read a glossary. Raises Unreadable with file, line and key."""
    from vault.model.glossary import Glossary

    return _checked(Glossary, content, file, "a glossary")


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
        raise _refused(error, loaded, content, file, model) from error


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
    path = path_of(first, loaded)
    cause = first.get("ctx", {}).get("error")
    is_needed = first["type"] == "missing" and key_of(path) in known
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
    return SkippedLine(yaml_text.line_of(content, path) or 1, key_of(path), reason)


# What pydantic calls its own bounds.
_BOUNDS = frozenset({
    "greater_than", "greater_than_equal", "less_than", "less_than_equal", "too_long",
    "finite_number", "int_parsing_size",
})  # fmt: skip


def _refused(
    error: ValidationError, loaded: dict[str, Any], content: bytes, file: str, model: Any
) -> Unreadable:
    return refusal(problems_of(error, loaded, content, model), file)


def refusal(problems: tuple[SkippedLine, ...], file: str) -> Unreadable:
    """The error that a file with such problems is refused with."""
    first, more = problems[0], len(problems) - 1
    counted = f" (and {plural(more, 'more problem')})" if more else ""
    reason = f"{first.text}: {first.reason}{counted}"
    return Unreadable(reason, file=file, line=first.line, problems=problems)
