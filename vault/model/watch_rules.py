"""Rules of a watched folder: which of its folders holds exports of which axis.

Pydantic schema of `watch.yaml`, which people write by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictStr

from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.patterns import fits_glob
from vault.model.snapshots import checked_occasion, checked_person
from vault.model.strict import Strict


def _text(value: Any) -> Any:
    """Take a number as text: a folder may be called 2, a work order 1182."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _pattern(value: Any) -> Any:
    text = _text(value)
    if isinstance(text, str):
        steps = text.replace("\\", "/").split("/")
        if ".." in steps or text.startswith("/") or ":" in steps[0]:
            raise ValueError(f"{text!r} does not lie in the watched folder")
        if not text.strip():
            raise ValueError("no folder is named; '.' is the watched folder itself")
    return text


def _address(value: Any) -> Any:
    return value if value is None else _checked(Address.parse, str(value))


def _occasion(value: Any) -> Any:
    return value if not isinstance(value, str) else _checked(checked_occasion, value)


def _person(value: Any) -> Any:
    return value if not isinstance(value, str) else _checked(checked_person, value)


def _checked(check: Any, value: str) -> Any:
    try:
        return check(value)
    except WrongUsage as error:
        raise ValueError(str(error)) from error


class WatchRule(Strict):
    """What lies in a folder."""

    folder: Annotated[StrictStr, BeforeValidator(_pattern)] = Field(
        description="a path below the watched folder; `*`, `?` and `[...]` stand for parts of a "
        "name, `**` for any number of folders"
    )
    to: Annotated[Address | None, BeforeValidator(_address)] = Field(
        None,
        description="machine/axis, or machine/axis:controller; else by the folder's last two names",
    )
    family: Annotated[StrictStr | None, BeforeValidator(_text)] = Field(
        None, description="the family, where that cannot be told"
    )
    occasion: Annotated[StrictStr | None, BeforeValidator(_occasion)] = Field(
        None, description="why exports there are taken"
    )
    by: Annotated[StrictStr | None, BeforeValidator(_person)] = Field(
        None, description="who takes them: `NAME <MAIL>`"
    )
    channel: int | None = Field(
        default=None, strict=True, ge=0, description="which axis of a file of several"
    )
    node_id: int | None = Field(
        default=None, strict=True, ge=1, le=127, description="what values that refer to it are of"
    )
    work_order: Annotated[StrictStr | None, BeforeValidator(_text)] = Field(
        None, description="the work order they belong to"
    )

    def fits(self, folder: Sequence[str]) -> bool:
        """Say whether a folder, as names below the watched one, is meant."""
        pattern = self.folder.replace("\\", "/").split("/")
        return _fits([step for step in pattern if step not in ("", ".")], folder)


class WatchRules(Strict):
    """All rules of a watched folder; the first that fits counts."""

    schema_: Literal["axisvault/watch/1"] = Field(alias="schema", description="what this file is")
    rules: tuple[WatchRule, ...] = Field(min_length=1, description="a list; the first that fits")

    def rule_for(self, folder: Sequence[str]) -> WatchRule | None:
        """The rule for a folder, None where none fits."""
        return next((rule for rule in self.rules if rule.fits(folder)), None)


def _fits(pattern: Sequence[str], folder: Sequence[str]) -> bool:
    """Whether names fit steps, of which `**` takes any number of names."""
    reached = {0}  # how many names are taken by the steps so far
    for step in pattern:
        if step == "**":
            reached = set(range(min(reached), len(folder) + 1)) if reached else set()
        else:
            reached = {at + 1 for at in reached if at < len(folder) and fits_glob(folder[at], step)}
    return len(folder) in reached
