"""The export formats we know, and those that other packages bring.

A format is an object with the members of `Format`. Ours are listed in `_OURS`; any package
may add its own through the entry point group `axisvault.formats`.
"""

from __future__ import annotations

from functools import cache
from importlib import import_module
from importlib.metadata import entry_points
from typing import TYPE_CHECKING, Protocol, cast, runtime_checkable

from vault.model.errors import WrongUsage

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from vault.model.axis_pick import AxisPick
    from vault.model.export import Listing, Scalar
    from vault.model.export_dialect import ExportDialect

# In the order in which they are asked: the last two know their files by weak signs.
_OURS = {
    "dcf": "vault.formats.dcf",
    "xdc": "vault.formats.xdc",
    "iec61131": "vault.formats.iec61131",
    "records": "vault.formats.records",
    "delimited": "vault.formats.delimited",
    "sheet": "vault.formats.sheet",
    "keyed": "vault.formats.keyed",
    "fixed": "vault.formats.fixed",
}


class Format(Protocol):
    """What a format module must offer (module-level functions do)."""

    def recognises(self, content: bytes, file: str) -> bool:
        """Say whether the bytes look like this format, without a dictionary."""

    def read(
        self,
        content: bytes,
        *,
        file: str,
        dialect: ExportDialect | None,
        channel: int | None,
        node_id: int | None = None,
    ) -> Listing:
        """Read one axis of an export; values that refer to a node id are of the one given.

        Bad entries go to `skipped` and do not hide the good ones. Raises Unreadable when
        nothing can be made of the file, WrongUsage when it holds several channels and none
        was chosen, or when the chosen one is not in it.
        """


@runtime_checkable
class Writes(Protocol):
    """What a format offers beside `Format` if it can write a file anew."""

    def write(self, listing: Listing, *, dialect: ExportDialect | None) -> bytes:
        """Write an export that reads back with the same values."""


@runtime_checkable
class WritesBack(Protocol):
    """What a format offers beside `Format` if it can put values into an export that there is."""

    def write_back(
        self,
        original: bytes,
        values: Mapping[str, Scalar],
        *,
        file: str,
        dialect: ExportDialect | None,
        channel: int | None,
        drop: Collection[str] = (),
    ) -> bytes:
        """Put values into an original, by code; every byte that is none of them stays.

        A value is a number in the terms and the unit of its entry in the original, or a text as
        it is to stand there; numbers are spelled as the original spells its own (decimal mark,
        base, unit behind). What stands under the codes of `drop` is taken out whole.
        Raises WrongUsage naming a code that is not there, or that the file cannot hold.
        """


@runtime_checkable
class ReadsAxes(Protocol):
    """What a format offers beside `Format` if a file of it holds axes that only a rule tells."""

    def read_axis(self, content: bytes, *, file: str, pick: AxisPick | None) -> Listing:
        """Read what of a file is of the axis that a rule picks.

        Raises as `Format.read` does, and WrongUsage where nothing fits the rule, or where there is
        none and several axes, with what there is.
        """


@runtime_checkable
class RecognisesFamilies(Protocol):
    """What a format offers beside `Format` if it needs a dictionary to be told apart."""

    def matches(self, content: bytes, dialect: ExportDialect) -> bool:
        """Say quickly whether the bytes look like an export in this dialect."""


@cache
def _foreign() -> dict[str, Format]:
    return {e.name: cast("Format", e.load()) for e in entry_points(group="axisvault.formats")}


def format_named(name: str) -> Format:
    """Return the format of that name; raises WrongUsage for an unknown one."""
    if name in _OURS:
        return cast("Format", import_module(_OURS[name]))
    if name in _foreign():
        return _foreign()[name]
    known = ", ".join(format_names())
    raise WrongUsage(f"no export format is called {name!r}", hint=f"known formats: {known}")


def format_names() -> tuple[str, ...]:
    """Names of all formats that can be read."""
    return (*_OURS, *sorted(_foreign()))
