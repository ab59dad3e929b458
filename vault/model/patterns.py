"""Patterns that people write, matched in a time that grows with the text and not beyond.

Regular expressions of dictionaries are those of RE2. One that lay in a vault before that was asked
for, and that RE2 does not take, goes on with Python's `re`, on a text so short that it ends.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

from vault.model.bounds import MOST_TYPED, OutOfBounds

_MOST_SEARCHED = 4096
_MOST_BY_RE = 200


def pattern_problem(pattern: str) -> str | None:
    """Why a new dictionary may not have a pattern; None where it may."""
    import re2

    if len(pattern) > MOST_TYPED:
        return f"a pattern has at most {MOST_TYPED} characters"
    try:
        re2.compile(pattern, _options())
    except re2.error as error:
        reason = error.args[0] if error.args else ""
        text = reason.decode("utf-8", "replace") if isinstance(reason, bytes) else str(reason)
        return f"{pattern!r} cannot be matched in linear time, by RE2: {text}"
    return None


def is_found(pattern: str, text: str) -> bool:
    """Whether a regular expression of a dictionary is found in a text, or in the begin of it."""
    return _finder(pattern)(text)


@lru_cache(maxsize=256)
def _finder(pattern: str) -> Callable[[str], bool]:
    if pattern_problem(pattern) is None:
        import re2

        linear = re2.compile(pattern, _options())
        return lambda text: linear.search(_encodable(text[:_MOST_SEARCHED])) is not None
    compiled = re.compile(pattern)
    return lambda text: compiled.search(text[:_MOST_BY_RE]) is not None


def _options() -> object:
    import re2

    options = re2.Options()
    options.log_errors = False
    options.max_mem = 8 * 1024 * 1024
    return options


def _encodable(text: str) -> str:
    return text.encode("utf-8", "replace").decode("utf-8")


def fits_glob(text: str, pattern: str) -> bool:
    """Whether a text fits a pattern of `*`, `?` and `[...]`, case and all, as the shell has them.

    Two places at most are kept in mind, so that no pattern takes more steps than its length times
    the text's. Raises OutOfBounds for a pattern of more than 300 characters.
    """
    steps = _glob(pattern)
    at = place = 0
    star, resume = -1, 0
    while at < len(text):
        if place < len(steps) and steps[place] is None:
            star, resume = place, at
            place += 1
        elif place < len(steps) and _takes(steps[place], text[at]):
            at, place = at + 1, place + 1
        elif star >= 0:
            resume += 1
            at, place = resume, star + 1
        else:
            return False
    return all(step is None for step in steps[place:])


def _takes(step: Callable[[str], bool] | None, sign: str) -> bool:
    return step is not None and step(sign)


@lru_cache(maxsize=256)
def _glob(pattern: str) -> tuple[Callable[[str], bool] | None, ...]:
    """A step for each character that has to fit; None for `*`."""
    if len(pattern) > MOST_TYPED:
        raise OutOfBounds(f"a pattern has at most {MOST_TYPED} characters")
    steps: list[Callable[[str], bool] | None] = []
    at = 0
    last = pattern.rfind("]")
    while at < len(pattern):
        sign = pattern[at]
        at += 1
        if sign == "*":
            if not steps or steps[-1] is not None:
                steps.append(None)
        elif sign == "?":
            steps.append(lambda _: True)
        elif sign == "[" and (end := _class_end(pattern, at, last)) > 0:
            steps.append(_class(pattern[at:end]))
            at = end + 1
        else:
            steps.append(sign.__eq__)
    return tuple(steps)


def _class_end(pattern: str, at: int, last: int) -> int:
    """Where the `]` of a class stands that begins at `at`, -1 where there is none."""
    first = at + (pattern[at : at + 1] == "!")
    return pattern.find("]", first + 1) if first + 1 <= last else -1


def _class(inside: str) -> Callable[[str], bool]:
    is_other = inside.startswith("!")
    inside = inside[is_other:]
    ranges, at = [], 0
    while at < len(inside):
        is_range = inside[at + 1 : at + 2] == "-" and at + 2 < len(inside)
        ranges.append((inside[at], inside[at + 2] if is_range else inside[at]))
        at += 3 if is_range else 1
    return lambda sign: any(low <= sign <= high for low, high in ranges) != is_other
