"""The speed of the reference move over time, before and after."""

from __future__ import annotations

from markupsafe import Markup

from vault.behaviour.move import MoveProfile
from vault.meaning.findings import seconds
from vault.meaning.move_profile import TwoProfiles
from vault.meaning.reader_scale import ReaderScale, speed_scale, way_scale
from webui.pictures.svg import LINE, Names, Scale, Sheet, n, text_width, ticks

_TOP, _BOTTOM, _RIGHT = 58, 178, 10
_ALIKE = 0.02
"""Speeds nearer than that share of the higher one get one label."""


def draw(both: TwoProfiles, names: Names, key: str) -> Markup:
    """Before thin and dashed, after thick and solid; each ends where its time stands."""
    speeds, sides = speed_scale(both.unit), _sides(both, names)
    longest = max(both.before.time, both.after.time)
    fastest = max(both.before.speed, both.after.speed)
    marks = ticks(0, speeds.number(fastest), 4)
    sheet = Sheet(key)
    left = max(text_width(words) for _, words in marks) + 8
    across = Scale(0, longest, left + 4, sheet.width - _RIGHT)
    up = Scale(0, speeds.number(fastest), _BOTTOM, _TOP)
    title = f"Speed over the reference move of {way_scale(both.unit).text(both.after.way)}"
    sheet.text(0, 13, title)
    sheet.text(0, 13 + LINE, speeds.unit, kind="axis")
    for mark, words in marks:
        sheet.text(left, up.at(mark) + 4, words, anchor="end", kind="axis")
        sheet.line(left + 4, up.at(mark), sheet.width - _RIGHT, up.at(mark), "grid")
    sheet.line(left + 4, _BOTTOM, sheet.width - _RIGHT, _BOTTOM, "rule")
    for row, side in enumerate(sorted(sides, key=lambda one: one[2].time)):
        _end(sheet, side, across, row + 1)
    for kind, _, profile in sides:
        _curve(sheet, profile, kind, speeds, across, up)
    _speeds(sheet, sides, speeds, across, up)
    described = "; ".join(
        f"{name}: {seconds(one.time)}, up to {speeds.text(one.speed)} in {seconds(one.up.time)}, "
        f"down in {seconds(one.down.time)}"
        for _, name, one in sides
    )
    return sheet.finish(_BOTTOM + 2 * LINE + 10, title, described)


_Side = tuple[str, str, MoveProfile]


def _sides(both: TwoProfiles, names: Names) -> list[_Side]:
    return [("before", names.before, both.before), ("after", names.after, both.after)]


def _curve(
    sheet: Sheet, profile: MoveProfile, kind: str, speeds: ReaderScale, across: Scale, up: Scale
) -> None:
    corners = "L".join(
        f"{n(across.at(time))} {n(up.at(speeds.number(speed)))}" for time, speed in profile.points()
    )
    sheet.path(f"M{corners}", kind)


def _end(sheet: Sheet, side: _Side, across: Scale, row: int) -> None:
    """The time, below the place where the move ends."""
    kind, name, profile = side
    x = across.at(profile.time)
    y = _BOTTOM + row * LINE + 2
    sheet.line(x, _BOTTOM, x, y, f"{kind} thin")
    sheet.text(x - 5, y, f"{name}: {seconds(profile.time)}", anchor="end", kind="label")


def _speeds(
    sheet: Sheet, sides: list[_Side], speeds: ReaderScale, across: Scale, up: Scale
) -> None:
    """The speed reached, at its line."""
    before, after = (profile for _, _, profile in sides)
    if abs(before.speed - after.speed) <= _ALIKE * max(before.speed, after.speed):
        x = across.at(min(_middle(before), _middle(after)))
        sheet.label([(x, _TOP - 7, "middle")], f"both {speeds.text(after.speed)}")
        return
    for _, name, profile in sides:
        x, y = across.at(_middle(profile)), up.at(speeds.number(profile.speed))
        words = f"{name} {speeds.text(profile.speed)}"
        sheet.label([(x, y - 7, "middle"), (x, y + 17, "middle")], words)


def _middle(profile: MoveProfile) -> float:
    return profile.up.time + profile.even_time / 2
