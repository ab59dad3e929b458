"""Which card of a difference gets which picture. One more picture is a module and an entry here."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from vault.behaviour.scaling import TRAVEL_ROLES
from vault.meaning.lag_and_window import lag_and_window
from vault.meaning.move_profile import two_profiles
from vault.meaning.travel_scale import position_shift, travel_scale
from webui.pictures import lag, profile, travel
from webui.pictures.svg import Names

if TYPE_CHECKING:
    from collections.abc import Iterable

    from markupsafe import Markup

    from vault.jobs.state.compare import Compared
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Cause, Change

_LONGEST_NAME = 14  # that fits beside a line


@dataclass(frozen=True, slots=True)
class CardPicture:
    """A picture for cards of some roles: `data` gives None where there is nothing to see.

    What it shows of both sides is one thing, so it is drawn once on a page. One that goes
    `by_change` shows one change, and only where both sides are one axis.
    """

    name: str
    roles: frozenset[str]
    data: Callable[[Change, AxisView, AxisView], Any]
    draw: Callable[[Any, Names, str], Markup]
    by_change: bool = False


PICTURES = (
    CardPicture(
        "profile",
        frozenset(
            (
                "profile_velocity",
                "max_profile_velocity",
                "profile_acceleration",
                "profile_deceleration",
                "profile_jerk",
                "motion_profile_type",
            )
        ),
        lambda change, left, right: two_profiles(left, right),
        profile.draw,
    ),
    CardPicture(
        "lag",
        frozenset(
            (
                "following_error_window",
                "following_error_time_out",
                "position_gain",
                "velocity_feed_forward",
                "profile_velocity",
                "max_profile_velocity",
            )
        ),
        lambda change, left, right: lag_and_window(left, right),
        lag.draw,
    ),
    CardPicture(
        "travel",
        frozenset(
            (
                *TRAVEL_ROLES,
                "si_unit_position",
                "min_software_position_limit",
                "max_software_position_limit",
                "software_position_limits_used",
            )
        ),
        lambda change, left, right: travel_scale(left, right),
        travel.draw,
    ),
    CardPicture(
        "shift",
        frozenset(("home_offset", "encoder_absolute_offset")),
        lambda change, left, right: position_shift(change, right),
        travel.draw_shift,
        by_change=True,
    ),
)


class Gallery:
    """The pictures of one page of a difference, each drawn where it is asked for first."""

    def __init__(self, compared: Compared, left: AxisView, right: AxisView) -> None:
        self._left, self._right = left, right
        self._is_one_axis = compared.sides is None
        self._shown: set[str] = set()
        sides = compared.sides
        fits = sides is not None and max(map(len, sides)) <= _LONGEST_NAME
        self._names = Names() if sides is None else Names(*(sides if fits else ("left", "right")))

    def of_cause(self, cause: Cause, changes: Iterable[Change]) -> Markup | None:
        """The picture of a cause that shifts the travel."""
        shifted = (c for c in changes if c.cause == cause.name and c.kind == "shifted")
        first = next((c for c in shifted if c.shown.unit == "user_position"), None)
        if not cause.shifts or first is None:
            return None
        return self._drawn(next(picture for picture in PICTURES if picture.name == "travel"), first)

    def of_change(self, change: Change) -> Markup | None:
        """The picture of a card: the first offer for its role that has something to show."""
        if change.kind == "restated":
            return None
        for picture in PICTURES:
            if change.shown.role in picture.roles and (drawn := self._drawn(picture, change)):
                return drawn
        return None

    def _drawn(self, picture: CardPicture, change: Change) -> Markup | None:
        name = f"{picture.name}-{change.shown.role}" if picture.by_change else picture.name
        if name in self._shown or (picture.by_change and not self._is_one_axis):
            return None
        data = picture.data(change, self._left, self._right)
        if data is None:
            return None
        self._shown.add(name)
        return picture.draw(data, self._names, name)
