"""Lines that say what the lines below them are of: an axis, or a section of the parameters."""

from __future__ import annotations

import re

from vault.model.wording import plural


def heading(template: str, padding: str, name: str = r"[^\r\n]+?") -> re.Pattern[str]:
    """Pattern of a heading whose template has `{n}` or `{name}` once; its group is what is there.

    `padding` is a pattern of what may stand behind it.
    """
    mark = "{n}" if "{n}" in template else "{name}"
    before, after = (re.escape(part) for part in template.strip().split(mark))
    inside = r"\d{1,9}" if mark == "{n}" else name
    return re.compile(rf" *{before}({inside}){after}{padding}\Z", re.I | re.A)


def told_twice(text: str, count: int) -> str:
    """What to know of a header row that has a heading several times."""
    return f"the heading {text!r} stands {plural(count, 'time')}: what is below the first was read"
