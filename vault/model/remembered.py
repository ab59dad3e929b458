"""What a process has worked out and may be asked again, bounded in number."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Remembered(Generic[Key, Value]):
    """Answers by all that they rest on; where there would be too many, the oldest one goes."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._answers: dict[Key, Value] = {}
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
            if key not in self._answers and len(self._answers) >= self._most:
                del self._answers[next(iter(self._answers))]
            self._answers[key] = answer
        return answer
