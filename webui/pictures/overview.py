"""The site at one look: how many axes stand how; of few, a mark for each, shaped by that."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from urllib.parse import quote

from markupsafe import Markup, escape

from vault.jobs.baseline.axis_drift import STATUSES, AxisDrift, Status, counted_axes
from vault.meaning.floors import counted
from vault.meaning.sentences import number_text
from vault.model.wording import plural
from webui.pictures.svg import Sheet, n, text_width

_WORDS = {
    "drifted": "drifted",
    "overdue": "export overdue",
    "no_golden": "nothing approved",
    "in_line": "in line",
}
_SHAPES = {
    "drifted": '<path class="axis-mark solid" d="M0-8L8 0L0 8L-8 0Z"/>',
    "overdue": '<path class="axis-mark" d="M-6-6H6V6H-6ZM0-3.5V0H3"/>',
    "no_golden": '<path class="axis-mark" d="M-6 0H6"/>',
    "in_line": '<path class="axis-mark" d="M-6 0a6 6 0 1 0 12 0a6 6 0 1 0-12 0Z"/>',
}
_TOUCH = '<path class="touch" d="M-12-12H12V12H-12Z"/>'
"""What a finger finds: WCAG 2.2 wants 24 px."""

_ROW = 26
_NAMED = 60
"""Up to so many axes each has its mark, with its name; beyond, there are only the counts."""

Machines = Sequence[tuple[str, Sequence[AxisDrift]]]
"""Names of machines, with their axes."""


def draw(machines: Machines, key: str = "overview") -> Markup:
    """All machines; nothing where there is none."""
    if not machines:
        return Markup("")
    counts = {name: Counter(axis.status for axis in axes) for name, axes in machines}
    all_counts = sum(counts.values(), Counter[Status]())
    total = all_counts.total()
    sheet = Sheet(key)
    shapes = (f'<g id="{key}-{s}">{_TOUCH}{shape}</g>' for s, shape in _SHAPES.items())
    sheet.parts.append(f"<defs>{''.join(shapes)}</defs>")
    y = _counted(sheet, all_counts)
    for name, axes in machines if total <= _NAMED else ():
        y = _machine(sheet, name, counts[name], y)
        y = _names(sheet, name, axes, y)
    every = [axis.axis for _, axes in machines for axis in axes]
    title = f"{plural(len(machines), 'machine')}, {counted_axes(every)}"
    return sheet.finish(y + 4, title, _counts_text(all_counts), role="group")


def _counts_text(counts: Counter[Status]) -> str:
    return ", ".join(f"{number_text(counts[s])} {_WORDS[s]}" for s in STATUSES if counts[s])


def _counted(sheet: Sheet, counts: Counter[Status]) -> float:
    """Marks with how many they stand for, as many on a line as fit; gives where that ends."""
    x, y = 0.0, _ROW / 2 + 2
    for status in STATUSES:
        if not counts[status]:
            continue
        words = f"{number_text(counts[status])} {_WORDS[status]}"
        width = 22 + text_width(words)
        if x and x + width > sheet.width:
            x, y = 0.0, y + _ROW
        sheet.parts.append(_use(sheet, status, x + 10, y))
        sheet.text(x + 22, y + 4.5, words)
        x += width + 12
    return y + _ROW / 2


def _machine(sheet: Sheet, name: str, counts: Counter[Status], top: float) -> float:
    """Its name, which is a link."""
    wide = text_width(name)
    sheet.line(0, top + 4, sheet.width, top + 4, "rule")
    sheet.parts.append(
        f'<a href="/machine/{quote(name)}" aria-label="{escape(name)}: {_counts_text(counts)}">'
        f'<path class="touch" d="M0 {n(top + 5)}h{n(wide)}v24h-{n(wide)}z"/>'
    )
    sheet.text(0, top + 22, name, kind="strong")
    sheet.parts.append("</a>")
    return top + 29


def _names(sheet: Sheet, machine: str, axes: Sequence[AxisDrift], top: float) -> float:
    """A mark and a name for each axis, in columns; all of it is the link."""
    names = [axis.axis.removeprefix(f"{machine}/") for axis in axes]
    wide = 22 + max(map(text_width, names)) + 6
    columns = max(1, int(sheet.width // wide))
    for place, (axis, name) in enumerate(zip(axes, names, strict=True)):
        row, column = divmod(place, columns)
        x, y = column * wide, top + row * _ROW
        box = f"M{n(x)} {n(y)}h{n(wide - 4)}v24h-{n(wide - 4)}z"
        sheet.parts.append(
            f"{_link(axis.axis, axis.status, axis.count, name, counted(axis.floors))}"
            f'<path class="touch" d="{box}"/>'
        )
        sheet.parts.append(_use(sheet, axis.status, x + 12, y + 12))
        if axis.floors:
            _flag(sheet, x + 12, y + 12)
        sheet.text(x + 24, y + 16.5, name)
        sheet.parts.append("</a>")
    return top + _ROW * -(-len(axes) // columns)


@lru_cache(maxsize=1 << 12)
def _link(axis: str, status: str, count: int, name: str, floors: str) -> str:
    words = _WORDS[status] + (f", {plural(count, 'parameter')}" if count else "")
    words += f", {floors}" if floors else ""
    address = quote(axis)
    if address != axis:  # else it is as safe in a label as in an address
        name = escape(name)
    return f'<a href="/axis/{address}" aria-label="{name}: {words}">'


def _flag(sheet: Sheet, x: float, y: float) -> None:
    """A small triangle at a mark: a floor of the axis is not kept."""
    sheet.path(f"M{n(x + 4)} {n(y - 9)}h8l-4 7Z", "filled")


def _use(sheet: Sheet, status: str, x: float, y: float) -> str:
    return f'<use href="#{sheet.key}-{status}" x="{n(x)}" y="{n(y)}"/>'
