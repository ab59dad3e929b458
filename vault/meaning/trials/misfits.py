"""What of a trial cannot be of its axis: degrees on one that moves in a line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.scale import is_linear
from vault.model.axis_quantities import not_of_kind

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Measure
    from vault.model.trial import TrialRecord

Path = tuple[str | int, ...]


def misfits(record: TrialRecord, view: AxisView) -> Iterator[tuple[Path, str]]:
    """Path and reason of every quantity that an axis of this kind does not have."""
    straight = view.state.asked(is_linear)
    if straight is None:
        return
    way = "length" if straight else "angle"
    speed = "velocity" if straight else "angular_velocity"
    for path, measure in _quantities(record):
        size = measure.physical() if measure is not None else None
        wanted = speed if path[-1] == "from" and path[0] != "moves" else way
        if size is not None and size.kind != wanted:
            yield path, not_of_kind(measure, size.kind, wanted)


def _quantities(record: TrialRecord) -> Iterator[tuple[Path, Measure | None]]:
    for number, move in enumerate(record.moves):
        for key, measure in (
            ("commanded", move.commanded), ("measured", move.measured), ("from", move.start),
            ("to", move.to),
        ):  # fmt: skip
            yield ("moves", number, key), measure
    for number, reading in enumerate(record.home.readings):
        yield ("home", "readings", number), reading
    yield ("home", "allowed"), record.home.allowed
    for number, stop in enumerate(record.stops):
        yield ("stops", number, "from"), stop.speed
        yield ("stops", number, "way"), stop.way
    yield ("drop",), record.drop
    yield ("emergency_stop", "from"), record.emergency_stop.speed
    yield ("emergency_stop", "way"), record.emergency_stop.way
