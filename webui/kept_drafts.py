"""Drafts that were made already: a page that is looked at again needs none anew."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.jobs.drafting.draft import Draft
    from vault.jobs.drafting.own_patterns import KnownBy

_MOST_PARAMETERS = 40_000


@dataclass(frozen=True, slots=True)
class MadeDraft:
    """A draft, and for each export by what it is known."""

    draft: Draft
    known: tuple[KnownBy, ...] = ()


class KeptDrafts:
    """The latest drafts by what they were made of: as many as have so many parameters together.

    Of a draft that is larger than that alone, it is kept until the next one.
    """

    def __init__(self, most_parameters: int = _MOST_PARAMETERS) -> None:
        self._most = most_parameters
        self._kept: OrderedDict[str, MadeDraft] = OrderedDict()
        self._lock = Lock()

    def of(self, key: str, make: Callable[[], MadeDraft]) -> MadeDraft:
        """The draft of a key, made where it is not kept. Raises what `make` does."""
        with self._lock:
            found = self._kept.get(key)
            if found is not None:
                self._kept.move_to_end(key)
                return found
        found = make()
        with self._lock:
            self._kept[key] = found
            while len(self._kept) > 1 and self._count() > self._most:
                self._kept.popitem(last=False)
        return found

    def _count(self) -> int:
        return sum(1 + len(made.draft.parameters) for made in self._kept.values())
