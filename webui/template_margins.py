"""What templates may call to tell of margins: words, marks and bars."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

from vault.meaning.margin_news import kind_of, move_text, standing_after, worse_standing
from vault.meaning.margin_text import (
    hedges_in,
    held_text,
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
    "short": "▼", "may be short": "▽", "holds": "△", "cannot be told": "?",
}  # fmt: skip


def _ratio(margin: Margin | None) -> str:
    """The ratio of a margin; one that is not there has no sense for the axis."""
    return "no such margin" if margin is None else ratio_text(margin.ratio, margin.bound)


def _bar(row: AxisMargin) -> Markup | None:
    """The bar of a margin, with the ratio of its baseline and its floor; None without a ratio."""
    margin, others = row.margin, []
    if margin.ratio is None:
        return None
    if row.golden is not None and row.golden.ratio is not None:
        others.append(OtherRatio(row.golden.ratio, "golden"))
    if row.floor is not None:
        others.append(OtherRatio(float(row.floor), "floor"))
    title, key = title_of(margin.name), f"margin-{margin.name}"
    return margin_bar.draw(margin.ratio, margin.bound, title, key, tuple(others))


def _moved_bar(move: MarginMove, words: str) -> Markup | None:
    """The bar of a margin on the right, with its ratio on the left; None where neither helps."""
    before, after = move.before, move.after
    if after is None or after.ratio is None:
        return None
    others: tuple[OtherRatio, ...] = ()
    if before is not None and before.ratio is not None and isfinite(before.ratio):
        others = (OtherRatio(before.ratio, words),)
    title, key = title_of(move.name), f"moved-{move.name}"
    return margin_bar.draw(after.ratio, after.bound, title, key, others)


FUNCTIONS: dict[str, Any] = {
    "margin_bar": _bar,
    "draw_margin_steps": margin_steps.draw,
    "moved_bar": _moved_bar,
    "margin_mark": _MARKS.__getitem__,
    "margin_title": title_of,
    "margin_standing": standing,
    "margin_ratio": _ratio,
    "margin_held": held_text,
    "margin_hedges": hedges_in,
    "move_kind": kind_of,
    "move_text": move_text,
    "move_standing": lambda move, sides: (
        standing_after(move) if sides is None else worse_standing(move)
    ),
    "ratio_words": ratio_text,
}
