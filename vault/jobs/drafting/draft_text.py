"""A draft as the text of a dictionary, with what was guessed, how surely, and why, as comments."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from vault.model.visible_text import one_line
from vault.store.files.yaml_line import in_line, scalar

if TYPE_CHECKING:
    from vault.jobs.drafting.draft import Draft
    from vault.jobs.drafting.parameters import DraftParameter


def draft_text(draft: Draft) -> bytes:
    """The dictionary as YAML in UTF-8."""
    return ("\n".join(_lines(draft)) + "\n").encode()


def _lines(draft: Draft) -> Iterator[str]:
    files = ", ".join(read.file for read in draft.reads)
    yield _comment(f"Drafted from {files}.").lstrip()
    yield "# Every guess stands with how sure it is (0 to 1) and why. A role under `suggest` counts"
    yield "# for nothing until a person has looked and writes it under `role`."
    yield "schema: axisvault/family/1"
    yield f"name: {scalar(draft.name)}"
    yield f"title: {scalar(draft.title)}"
    yield "open: true  # parameters that do not stand here are taken in too, without a role"
    yield "export:"
    reasons = {guess.about: guess for guess in draft.guesses}
    for key, content in draft.export.items():
        if isinstance(content, Mapping) and content:
            yield f"  {key}:"
            for inner, text in content.items():
                path = f"{key}.{inner}"
                why = _why(reasons.get(path) or (reasons.get(key) if key == "recognise" else None))
                yield f"    {scalar(inner)}: {scalar(text)}{why}"
        else:
            yield f"  {key}: {in_line(content)}{_why(reasons.get(key))}"
    yield "parameters:"
    for parameter in draft.parameters:
        yield from _parameter(parameter)


def _why(guess: Any) -> str:
    if guess is None or (guess.confidence >= 1 and not guess.others):
        return ""
    others = f"; or {', '.join(map(repr, guess.others))}" if guess.others else ""
    return _comment(f"{guess.confidence:.2f}: {guess.reason}{others}")


def _comment(text: str) -> str:
    """A remark on one line, whatever marks a file name or a cell brings with it."""
    return f"  # {one_line(text)}"


def _parameter(parameter: DraftParameter) -> Iterator[str]:
    keys: dict[str, Any] = {"name": parameter.name}
    best = parameter.suggested[0] if parameter.suggested else None
    why = []
    if best is not None:
        keys["role" if parameter.role else "suggest"] = best.role
        why.append(f"{best.confidence:.2f}: {best.reason}")
    keys["type"] = parameter.type
    if parameter.unit:
        keys["unit"] = parameter.unit
    if parameter.low is not None or parameter.high is not None:
        keys["range"] = [parameter.low, parameter.high]
    if parameter.default is not None:
        keys["default"] = parameter.default
    if parameter.choices:
        keys["choices"] = dict(parameter.choices)
    if parameter.access != "rw":
        keys["access"] = parameter.access
    told = ", ".join(f"{key}: {in_line(content)}" for key, content in keys.items())
    why += [parameter.remark] if parameter.remark else []
    yield f"  {scalar(parameter.code)}: {{{told}}}{_comment('; '.join(why)) if why else ''}"
