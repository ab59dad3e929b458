"""What templates may call to tell of margins: words, marks and bars."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from vault.meaning.margin_news import kind_of, more_text, side_standing, side_text
from vault.meaning.margin_text import (
    held_text,
    protects_here,
    ratio_text,
    standing,
    title_of,
)
from webui.pictures import margin_bar, margin_steps
from webui.pictures.margin_bar import OtherRatio

if TYPE_CHECKING:
    from markupsafe import Markup

    from vault.behaviour.facts import Margin
    from vault.jobs.inspect.margins import AxisMargin
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.margin_text import Standing

_MARKS: dict[Standing, str] = {
    "short": "▼", "may be short": "▽", "below its floor": "▼", "may be below its floor": "▽",
    "holds": "△", "cannot be told": "?",
}  # fmt: skip


def _bar(row: AxisMargin) -> Markup | None:
    """The bar of a margin, with the ratio of its baseline and its floor; None without a ratio."""
    margin, others = row.margin, []
    if margin.ratio is None:
        return None
    if row.approved is not None and row.approved.ratio is not None:
        others.append(OtherRatio(row.approved.ratio, "golden"))
    if row.floor is not None:
        others.append(OtherRatio(float(row.floor), "floor"))
    title, key = title_of(margin.name), f"margin-{margin.name}"
    return margin_bar.draw(margin.ratio, margin.bound, row.stands, title, key, tuple(others))


def _moved_bar(move: MarginMove) -> Markup | None:
    """The bar of a margin now, with the ratio it had before; None where it has none now."""
    before, after = move.before, move.after
    if after is None or after.ratio is None:
        return None
    others: tuple[OtherRatio, ...] = ()
    if before is not None and before.ratio is not None and isfinite(before.ratio):
        others = (OtherRatio(before.ratio, "before"),)
    title, key = title_of(move.name), f"moved-{move.name}"
    return margin_bar.draw(after.ratio, after.bound, standing(after), title, key, others)


def _side_bar(side: Margin | None, name: str) -> Markup | None:
    """The bar of one of two axes, by its name; None without a ratio."""
    if side is None or side.ratio is None:
        return None
    title, key = f"{name}: {title_of(side.name)}", f"side-{side.name}-{quote(name, safe='')}"
    return margin_bar.draw(side.ratio, side.bound, standing(side), title, key)


FUNCTIONS: dict[str, Any] = {
    "margin_bar": _bar,
    "draw_margin_steps": margin_steps.draw,
    "moved_bar": _moved_bar,
    "side_bar": _side_bar,
    "side_standing": side_standing,
    "margin_mark": _MARKS.__getitem__,
    "margin_title": title_of,
    "margin_standing": standing,
    "margin_ratio": side_text,
    "margin_held": held_text,
    "margin_scale": margin_bar.scale,
    "protects_here": protects_here,
    "more_moves": more_text,
    "move_kind": kind_of,
    "ratio_words": ratio_text,
}
