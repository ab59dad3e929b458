"""What a schema has against a value, in our words."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from vault.model.near_names import did_you_mean

_MOST_SHOWN = 40  # characters; our own choice


def in_words(problem: Any) -> str:
    """The reason of one of pydantic's problems; of a check of our own its own words."""
    kind, given = problem["type"], problem.get("input")
    if kind in ("literal_error", "union_tag_invalid"):
        return _none_of(given, problem)
    if kind == "string_type" and problem["loc"][-1] == "[key]":
        return "is no name"
    words = _WORDS.get(kind)
    if words is None:
        reason: str = problem["msg"].removeprefix("Value error, ")
        return reason
    return words.format(**problem.get("ctx", {}), given=_shown(given))


def _shown(given: Any) -> str:
    """What was written, as far as it is worth repeating."""
    if isinstance(given, int) and abs(given) >= 10**_MOST_SHOWN:
        return "the number"
    text = str(given)
    return text if len(text) <= _MOST_SHOWN else f"{text[:_MOST_SHOWN]}..."


def unknown_key(key: str, keys: Collection[str], belongs: str = "") -> str:
    """Why a key is refused: what was meant, or where it `belongs`; and which keys there are."""
    near = "" if belongs else did_you_mean(key, keys)
    there = f"{' ' if near else '; '}keys here: {', '.join(keys)}" if keys else ""
    return f"no such key{belongs or near}{there}"


def _none_of(given: Any, problem: Any) -> str:
    context = problem["ctx"]
    if problem["type"] == "union_tag_invalid":
        given = context["tag"]
    expected = context.get("expected") or context["expected_tags"]
    names = str(expected).replace("'", "").replace(" or ", ", ").split(", ")
    near = did_you_mean(str(given), names) if isinstance(given, str) else ""
    return f"'{_shown(given)}' is none of {expected}{near}"


_WORDS = {
    "missing": "is missing",
    "union_tag_not_found": "kind is missing",
    "list_type": "takes a list, in [ ] or each line after a -",
    "tuple_type": "takes a list, in [ ] or each line after a -",
    "string_type": "takes a text; a number in quotation marks is one",
    "string_pattern_mismatch": "is not of the form that is taken here, {pattern}",
    "string_too_short": "is empty",
    "string_too_long": "too long: a text of at most {max_length} characters",
    "int_type": "takes a whole number",
    "int_parsing": "'{given}' is no whole number",
    "int_from_float": "{given} is no whole number",
    "int_parsing_size": "is too large",
    "decimal_type": "takes a number",
    "decimal_parsing": "'{given}' is no number",
    "float_type": "takes a number",
    "float_parsing": "'{given}' is no number",
    "finite_number": "{given} is no number",
    "bool_type": "takes true or false",
    "bool_parsing": "'{given}' is neither true nor false",
    "greater_than": "{given} is not greater than {gt}",
    "greater_than_equal": "{given} is less than {ge}",
    "less_than": "{given} is not less than {lt}",
    "less_than_equal": "{given} is more than {le}",
    "too_short": "too few: takes at least {min_length}",
    "too_long": "too many: takes at most {max_length}",
}
"""Reasons by what pydantic calls the kind of error."""
