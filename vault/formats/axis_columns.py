"""Exports with a column of values for each axis: every one is read as a table with that column."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from typing import TYPE_CHECKING, Any, TypeVar, cast

from vault.formats.rows import choose
from vault.model.errors import Unreadable, WrongUsage

if TYPE_CHECKING:
    from vault.model.export import Listing
    from vault.model.export_dialect import ExportDialect

_Function = TypeVar("_Function", bound=Callable[..., Any])


def reads_by_axis(read: _Function) -> _Function:
    """Let the `read` of a format choose the column of an axis; an axis without a value is none."""

    @wraps(read)
    def read_one(
        content: bytes,
        *,
        file: str,
        dialect: ExportDialect | None,
        channel: int | None,
        **more: Any,
    ) -> Listing:
        ways = {} if dialect is None else dialect.by_axis()
        if not ways:
            listing = read(content, file=file, dialect=dialect, channel=channel, **more)
            return cast("Listing", listing)
        found: dict[int, Listing] = {}
        wrong = Unreadable("no axis has a value in it", file=file, line=1)
        for number, own in ways.items():
            try:
                listing = read(content, file=file, dialect=own, channel=None, **more)
            except Unreadable as error:
                wrong = error
            else:
                found |= {number: listing} if listing.entries else {}
        if not found:
            raise wrong
        channels = tuple(sorted(found))
        chosen = choose(channels, channel, file) or channels[0]
        return replace(found[chosen], channel=chosen, channels=channels)

    return cast("_Function", read_one)


def matches_by_axis(matches: _Function) -> _Function:
    """Let the `matches` of a format take a file in which any axis has its column."""

    @wraps(matches)
    def match_one(content: bytes, dialect: ExportDialect) -> bool:
        ways = dialect.by_axis().values() or (dialect,)
        return any(matches(content, own) for own in ways)

    return cast("_Function", match_one)


def writes_back_by_axis(write_back: _Function) -> _Function:
    """Let the `write_back` of a format put values into the column of an axis."""

    @wraps(write_back)
    def write_one(
        original: bytes,
        *values: Any,
        dialect: ExportDialect | None,
        channel: int | None,
        **more: Any,
    ) -> bytes:
        if dialect is not None and (ways := dialect.by_axis()):
            number = choose(tuple(ways), channel, more["file"])
            dialect, channel = ways[number or 0], None
        written = write_back(original, *values, dialect=dialect, channel=channel, **more)
        return cast("bytes", written)

    return cast("_Function", write_one)


def writes_by_axis(write: _Function) -> _Function:
    """Let the `write` of a format write the column of the axis that a listing is of."""

    @wraps(write)
    def write_one(listing: Listing, *, dialect: ExportDialect | None) -> bytes:
        if dialect is not None and (ways := dialect.by_axis()):
            if listing.channel not in ways:
                raise WrongUsage(f"no column is of axis {listing.channel}")
            dialect = ways[listing.channel]
        return cast("bytes", write(listing, dialect=dialect))

    return cast("_Function", write_one)
