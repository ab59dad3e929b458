"""Who gets what, where each may have one and each goes to one: the best all in all."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence


def best_assignment(worth: Sequence[Mapping[str, float]]) -> list[str | None]:
    """What each takes, so that the sum of what it is worth to them is the greatest.

    `worth` is what each of the things that one wants is worth to it, above 0. One after the other
    is let in along the path of exchanges that gains most, which keeps the whole the best (the
    incremental form of the Hungarian method; common knowledge, no source).
    """
    takes: list[str | None] = [None] * len(worth)
    owner: dict[str, int] = {}
    for newcomer in range(len(worth)):
        gain: dict[int, float] = {newcomer: 0.0}
        came: dict[int, tuple[int, str]] = {}
        best: tuple[float, int, str | None] = (0.0, newcomer, None)
        waiting = deque([newcomer])
        while waiting:
            one = waiting.popleft()
            for thing, value in worth[one].items():
                if thing == takes[one]:
                    continue
                reached, other = gain[one] + value, owner.get(thing)
                if other is None:
                    if reached > best[0] + 1e-12:
                        best = (reached, one, thing)
                    continue
                passed_on = reached - worth[other][thing]
                if passed_on > gain.get(other, float("-inf")) + 1e-12:
                    gain[other], came[other] = passed_on, (one, thing)
                    waiting.append(other)
                    if passed_on > best[0] + 1e-12:
                        best = (passed_on, other, None)
        _exchange(best[1], best[2], came, takes, owner)
    return takes


def _exchange(
    last: int,
    thing: str | None,
    came: Mapping[int, tuple[int, str]],
    takes: list[str | None],
    owner: dict[str, int],
) -> None:
    """Hand things on along a path, from its end to the newcomer."""
    while True:
        takes[last] = thing
        if thing is not None:
            owner[thing] = last
        if last not in came:
            return
        last, thing = came[last]
