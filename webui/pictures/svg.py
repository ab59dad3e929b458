"""A sheet to draw on, and scales with sensible ticks: what all pictures share.

Own writing on markupsafe: a drawing library would bring inline style or scripts, and none places
words beside lines better than the few rules here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import ceil, floor, log10
from textwrap import wrap

from markupsafe import Markup, escape

from vault.model.visible_text import visible
from vault.model.written_form import marked

WIDTH = 360
"""Width of a picture in its own units: about that of a telephone, so that text keeps its size."""

LETTER = 7.4
"""Width of a letter of the 13 px text, a little more than it mostly is."""

LINE = 17
"""Height of a line of text."""

_HIGH, _LOW = 11, 4  # what a letter takes above and below its line


def nice_step(span: float, most: int) -> float:
    """A step of 1, 2 or 5 times a power of ten that divides a span at most so many times."""
    least = span / most
    power = 10.0 ** floor(log10(least))
    return next((n * power for n in (1, 2, 5) if n * power >= least * (1 - 1e-9)), 10 * power)


def ticks(low: float, high: float, most: int = 5) -> list[tuple[float, str]]:
    """Round numbers between two bounds, at most about so many, with the decimals they need."""
    if not high > low:
        return [(low, marked(f"{low:,g}"))]
    step = nice_step(high - low, most)
    places = max(0, -floor(log10(step) + 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [
        (number * step, marked(f"{number * step:,.{places}f}")) for number in range(first, last + 1)
    ]


@dataclass(frozen=True, slots=True)
class Scale:
    """Numbers from `low` to `high` along a line from `start` to `end`."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """The place of a number."""
        span = (self.high - self.low) or 1.0
        return self.start + (value - self.low) / span * (self.end - self.start)


Box = tuple[float, float, float, float]


def text_width(words: str) -> float:
    """About how wide a text is."""
    return len(words) * LETTER


def text_box(x: float, y: float, words: str, anchor: str) -> Box:
    """Left, top, right and bottom of a text."""
    width = text_width(words)
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return left, y - _HIGH, left + width, y + _LOW


def overlap(box: Box, other: Box) -> bool:
    """Whether two boxes share some room."""
    return box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]


@dataclass(slots=True)
class Sheet:
    """A picture that is being drawn. `key` is unique on the page.

    `kind` of everything is its class in pages.css: there is no inline style.
    """

    key: str
    width: float = WIDTH
    parts: list[str] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)

    def text(
        self, x: float, y: float, words: str, *, anchor: str = "start", kind: str = ""
    ) -> None:
        """A line of text."""
        self.taken.append(text_box(x, y, words, anchor))
        end = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self.parts.append(
            f'<text{_class(kind)} x="{n(x)}" y="{n(y)}"{end}>{escape(visible(words))}</text>'
        )

    def label(
        self, places: Sequence[tuple[float, float, str]], words: str, *, kind: str = "label"
    ) -> bool:
        """A text at the first of some places (x, y, anchor) that is free; tells whether one was."""
        for x, y, anchor in places:
            box = text_box(x, y, words, anchor)
            inside = box[0] >= 0 and box[2] <= self.width and box[1] >= 0
            if inside and not any(overlap(box, other) for other in self.taken):
                self.text(x, y, words, anchor=anchor, kind=kind)
                return True
        return False

    def lines(self, x: float, y: float, words: str, *, kind: str = "") -> float:
        """A text over as many lines as it takes; gives where the next one would stand."""
        for line in wrap(words, int((self.width - x) / LETTER)):
            self.text(x, y, line, kind=kind)
            y += LINE
        return y

    def path(self, commands: str, kind: str) -> None:
        """A line along a way."""
        self.parts.append(f'<path{_class(kind)} d="{commands}"/>')

    def line(self, x1: float, y1: float, x2: float, y2: float, kind: str) -> None:
        """A straight line."""
        self.path(f"M{n(x1)} {n(y1)}L{n(x2)} {n(y2)}", kind)

    def box(self, x: float, y: float, width: float, height: float, kind: str) -> None:
        """A rectangle."""
        self.parts.append(
            f'<rect{_class(kind)} x="{n(x)}" y="{n(y)}" width="{n(max(width, 0))}" '
            f'height="{n(height)}"/>'
        )

    def hatch(self, x: float, y: float, width: float, height: float) -> None:
        """A rectangle full of slanting lines: where nothing may go."""
        name = f"{self.key}-h"
        if not any(name in part for part in self.parts):
            self.parts.append(
                f'<pattern id="{name}" width="6" height="6" patternUnits="userSpaceOnUse" '
                'patternTransform="rotate(45)"><path class="rule" d="M0 0V6"/></pattern>'
            )
        self.parts.append(
            f'<rect x="{n(x)}" y="{n(y)}" width="{n(max(width, 0))}" height="{n(height)}" '
            f'fill="url(#{name})"/>'
        )

    def dot(self, x: float, y: float) -> None:
        """A point."""
        self.parts.append(f'<circle cx="{n(x)}" cy="{n(y)}" r="3"/>')

    def finish(
        self, height: float, title: str, described: str, *, kind: str = "picture", role: str = "img"
    ) -> Markup:
        """The picture, with a title and a description for those who do not see it."""
        names = f"{self.key}-t {self.key}-d"
        size = ""
        if kind != "picture":  # a small one has the size that it is drawn in
            size = f' width="{n(self.width)}" height="{n(height)}"'
        return Markup(  # noqa: S704 (every part was escaped)
            f'<svg class="{kind}" viewBox="0 0 {n(self.width)} {n(height)}"{size} role="{role}" '
            f'aria-labelledby="{names}"><title id="{self.key}-t">{escape(visible(title))}</title>'
            f'<desc id="{self.key}-d">{escape(visible(described))}</desc>'
            f"{''.join(self.parts)}</svg>"
        )


def n(number: float) -> str:
    """A coordinate, short."""
    return f"{number:.1f}".removesuffix(".0")


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""


@dataclass(frozen=True, slots=True)
class Names:
    """What the two sides of a difference are called in its pictures."""

    before: str = "before"
    after: str = "after"
