"""Roles written into the text of a dictionary: every other byte of it stays as it is."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from vault.jobs.families.splices import by_hand, parameter_nodes
from vault.model.errors import Unreadable, WrongUsage
from vault.model.near_names import did_you_mean
from vault.model.parameters import canonical_code
from vault.store.files.yaml_splices import Splice, line_end, spliced
from vault.store.files.yaml_text import composed, load

_EARLIER = re.compile(r"(?:; )?(?:role confirmed by|no role, says) .*$")
_KEYS = ("role", "suggest")


def with_roles(content: bytes, file: str, said: Mapping[str, str | None], who: str) -> bytes:
    """A dictionary with the roles of some parameters as somebody said: None for no role.

    `said` goes by code; `who` is the name and day that stand beside each in a comment. What was
    suggested is settled by that. Raises WrongUsage for a code that the dictionary does not have,
    Unreadable where it is written in a way in which that can be edited by hand alone.
    """
    text = content.decode("utf-8-sig")
    nodes = parameter_nodes(composed(text))
    splices: list[Splice] = []
    for code, role in said.items():
        node = nodes.get(canonical_code(code))
        if node is None:
            near = did_you_mean(code, nodes)
            raise WrongUsage(f"the dictionary has no parameter {code!r}{near}")
        remark = f"role confirmed by {who}" if role else f"no role, says {who}"
        splices += _edits(text, node, role, remark)
    result = spliced(content, splices)
    if not _is_as_said(content, result, file, said):
        raise by_hand(file)
    return result


def comments(content: bytes) -> dict[str, str]:
    """The comment that stands behind each parameter of a dictionary, by its code."""
    text = content.decode("utf-8-sig")
    found = {
        code: _comment_of(text, node) for code, node in parameter_nodes(composed(text)).items()
    }
    return {code: comment for code, comment in found.items() if comment}


def _comment_of(text: str, node: Any) -> str:
    pairs = {key.value: value for key, value in node.value}
    ends = [node.end_mark.index] if node.flow_style else []
    ends += [pairs[key].end_mark.index for key in _KEYS if key in pairs]
    rests = (text[end : line_end(text, end)].strip() for end in ends)
    return next((rest.lstrip("# ") for rest in rests if rest.startswith("#")), "")


def _edits(text: str, node: Any, role: str | None, remark: str) -> Iterator[Splice]:
    """What makes the role of one parameter that one, and says so beside it."""
    pairs = list(node.value)
    places = {key.value: number for number, (key, _) in enumerate(pairs)}
    present = [places[key] for key in _KEYS if key in places]
    if role is None:
        for number in present:
            yield _without(text, node, pairs, number)
        at = node.end_mark.index if node.flow_style else pairs[0][1].end_mark.index
        yield from _comment(text, at, remark)
        return
    if present:
        key, value = pairs[present[0]]
        yield Splice(key.start_mark.index, value.end_mark.index, f"role: {role}")
        for number in present[1:]:
            yield _without(text, node, pairs, number)
        at = node.end_mark.index if node.flow_style else value.end_mark.index
        yield from _comment(text, at, remark)
        return
    after = pairs[0][1].end_mark.index
    if node.flow_style:
        yield Splice(after, after, f", role: {role}")
        yield from _comment(text, node.end_mark.index, remark)
        return
    end, mark = line_end(text, after), "\r\n" if "\r\n" in text else "\n"
    indent = " " * pairs[0][0].start_mark.column
    yield Splice(end, end, f"{mark}{indent}role: {role}  # {remark}")


def _without(text: str, node: Any, pairs: list[Any], number: int) -> Splice:
    key, value = pairs[number]
    if not node.flow_style:
        start = text.rfind("\n", 0, key.start_mark.index) + 1
        return Splice(start, text.find("\n", value.end_mark.index) + 1 or len(text), "")
    if number + 1 < len(pairs):
        return Splice(key.start_mark.index, pairs[number + 1][0].start_mark.index, "")
    start = pairs[number - 1][1].end_mark.index if number else key.start_mark.index
    return Splice(start, value.end_mark.index, "")


def _comment(text: str, at: int, remark: str) -> Iterator[Splice]:
    """A remark at the end of a line of which only a comment is left; none on other lines."""
    end = line_end(text, at)
    rest = text[at:end]
    if rest.strip().startswith("#"):
        kept = _EARLIER.sub("", rest.rstrip()).rstrip()
        yield Splice(at, end, f"{kept}; {remark}" if kept.strip("# ") else f"  # {remark}")
    elif not rest.strip():
        yield Splice(at, end, f"  # {remark}")


def _is_as_said(before: bytes, after: bytes, file: str, said: Mapping[str, str | None]) -> bool:
    """Whether nothing but the roles changed, by what a reader of YAML makes of both texts."""
    wanted = load(before, file)
    parameters = wanted["parameters"]
    codes = {canonical_code(str(code)): code for code in parameters}
    for code, role in said.items():
        key = codes[canonical_code(code)]
        others = {name: text for name, text in parameters[key].items() if name not in _KEYS}
        parameters[key] = others if role is None else {**others, "role": role}
    try:
        return bool(load(after, file) == wanted)
    except Unreadable:
        return False
