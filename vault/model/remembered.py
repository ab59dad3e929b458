"""What a process has worked out and may be asked again, bounded in number."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from random import Random
from threading import Lock
from typing import Generic, TypeVar

EACH_AXIS = 1 << 16
"""Answers that are asked for each axis of a vault, the largest that is meant to be one."""

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Remembered(Generic[Key, Value]):
    """Answers by all that they rest on; where there would be too many, any one of them goes.

    Any, and not the oldest: whoever goes through a few more than are kept, again and again, would
    find none of them, for each went just before it was asked for.
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._answers: dict[Key, Value] = {}
        self._keys: list[Key] = []
        self._any = Random(most)  # noqa: S311 (no secret: which one goes)
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self._answers)

    def of(self, key: Key, work_out: Callable[[], Value]) -> Value:
        """The answer, worked out where it is not known; what that raises is not remembered."""
        try:
            return self._answers[key]
        except KeyError:
            pass
        answer = work_out()
        with self._lock:
            if key not in self._answers:
                if len(self._keys) < self._most:
                    self._keys.append(key)
                else:
                    place = self._any.randrange(self._most)
                    del self._answers[self._keys[place]]
                    self._keys[place] = key
            self._answers[key] = answer
        return answer
