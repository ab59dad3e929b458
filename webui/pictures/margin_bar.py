"""A margin as a bar that begins at the line at 1: to the left it is short, to the right to spare.

The scale is one of doublings, so that half and double are equally far from 1; what goes on beyond
its ends is cut, with an arrow. It stands once above the bars.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log2
from typing import TYPE_CHECKING

from markupsafe import Markup

from vault.meaning.margin_text import ratio_text
from webui.pictures.svg import Scale, Sheet, n

if TYPE_CHECKING:
    from vault.behaviour.facts import Bound
    from vault.meaning.margin_text import Standing

_WIDTH, _HEIGHT, _SCALE_HEIGHT = 190, 28, 18
_TOP, _BAR = 6, 12
_LEAST, _MOST = 0.25, 4.0
ENDS = log2(_LEAST), log2(_MOST)
TICKS = ((0.25, "¼"), (0.5, "½"), (1.0, "1"), (2.0, "2"), (4.0, "4"))
_KINDS: dict[Standing, str] = {
    "short": "bar short", "may be short": "bar unsure", "below its floor": "bar low",
    "may be below its floor": "bar low", "holds": "bar holds",
}  # fmt: skip
_ARROW = 9  # what the head of a cut bar takes
_SCALE = Scale(*ENDS, 12, _WIDTH - 12)


@dataclass(frozen=True, slots=True)
class OtherRatio:
    """A ratio that is marked beside the bar's own, and what it is: `golden`, `floor`, `before`.

    The golden one is a broad pale line, any other a small triangle below the bar; one beyond the
    scale stands at its end.
    """

    ratio: float
    words: str


def scale(key: str) -> Markup:
    """The scale of all bars of a table, to stand above them once."""
    sheet = Sheet(key, _WIDTH)
    for ratio, words in TICKS:
        sheet.text(_SCALE.at(log2(ratio)), 13, words, anchor="middle", kind="axis")
    title, told = "The scale of the bars", "a quarter, a half, 1, 2 and 4"
    return sheet.finish(_SCALE_HEIGHT, title, told, kind="picture strip margin")


def draw(
    ratio: float,
    bound: Bound,
    stands: Standing,
    title: str,
    key: str,
    others: tuple[OtherRatio, ...] = (),
) -> Markup:
    """The bar: solid where it is short of 1, dashed where it may be, hollow where it holds.

    One below its floor is filled palely. `key` is unique on the page.
    """
    sheet = Sheet(key, _WIDTH)
    for other in others:
        if other.words == "golden":
            x = _SCALE.at(clipped(other.ratio))
            sheet.line(x, _TOP - 6, x, _TOP + _BAR + 6, "golden")
    _ticks(sheet)
    _bar(sheet, ratio, _KINDS[stands])
    for other in others:
        if other.words != "golden":
            x = _SCALE.at(clipped(other.ratio))
            sheet.path(f"M{n(x)} {_TOP + _BAR + 1}l4 7h-8Z", "filled")
    told = _described(ratio, bound, stands, others)
    return sheet.finish(_HEIGHT, title, told, kind="picture strip margin")


def is_cut(ratio: float) -> bool:
    """Whether a bar goes on beyond the end of its scale."""
    return not _LEAST <= ratio <= _MOST


def clipped(ratio: float) -> float:
    """Where a ratio stands on the scale of doublings: at its ends what is beyond them."""
    return log2(min(max(ratio, _LEAST), _MOST))


def _ticks(sheet: Sheet) -> None:
    for ratio, _ in TICKS:
        x = _SCALE.at(log2(ratio))
        sheet.line(x, _TOP - 4, x, _TOP + _BAR + 4, "edge" if ratio == 1 else "rule")


def _bar(sheet: Sheet, ratio: float, kind: str) -> None:
    one, end = _SCALE.at(0.0), _SCALE.at(clipped(ratio))
    if not is_cut(ratio):
        sheet.box(min(one, end), _TOP, abs(end - one), _BAR, kind)
        return
    head = end - _ARROW if ratio > 1 else end + _ARROW
    middle, bottom = _TOP + _BAR / 2, _TOP + _BAR
    sheet.path(
        f"M{n(one)} {_TOP}H{n(head)}L{n(end)} {n(middle)}L{n(head)} {bottom}H{n(one)}Z", kind
    )


def _described(ratio: float, bound: Bound, stands: Standing, others: tuple[OtherRatio, ...]) -> str:
    told = [f"ratio {ratio_text(ratio, bound)}: {stands}"]
    told += [f"{other.words} {ratio_text(other.ratio)}" for other in others]
    if is_cut(ratio):
        told.append(f"the bar ends at {'4' if ratio > 1 else 'a quarter'} and goes on")
    return "; ".join(told)
