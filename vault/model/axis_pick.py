"""The rule by which a part of a controller's export is one axis's, as a snapshot keeps it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from vault.model.patterns import fits_glob


@dataclass(frozen=True, slots=True)
class AxisPick:
    """Which part of a controller's export is of an axis: its task, and globs over names."""

    match: tuple[str, ...]
    task: str | None = None

    def takes(self, names: Iterable[str]) -> bool:
        """Whether any of the names that something goes by fits; letters large and small alike.

        Names of a program mean the same however they are written (IEC 61131-3, 6.1.2; from memory).
        """
        return any(self.fitting(name) is not None for name in names)

    def fitting(self, name: str) -> str | None:
        """The first of the globs that a name fits, in small letters; None where none does."""
        folded = name.casefold()
        globs = (glob.casefold() for glob in self.match)
        return next((glob for glob in globs if fits_glob(folded, glob)), None)
