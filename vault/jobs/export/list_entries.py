"""Second stage: what an export lists for one axis, entry by entry with its line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.formats.registry import ReadsAxes
from vault.formats.zipped import Zipped, in_archive
from vault.jobs.export.axis_rows import picked
from vault.jobs.export.content import MAX_PARAMETERS
from vault.jobs.export.recognise import Recognised
from vault.model.errors import Unreadable
from vault.model.export import Listing
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.model.axis_pick import AxisPick


def list_entries(
    recognised: Recognised,
    channel: int | None = None,
    node_id: int | None = None,
    pick: AxisPick | None = None,
) -> Listing:
    """Read the entries of an axis, the one numbered `channel` where the file holds several.

    `node_id` is what values refer to; None leaves it to the file. `pick` is the rule by which the
    axis is found in what a controller exports.
    Lines that cannot be understood are in the listing too. Raises Unreadable where nothing can be
    made of the file or it lists too much, WrongUsage where the axis must be chosen or is not there.
    """
    family, file = recognised.family, recognised.file
    dialect = family.family.export if family is not None else None
    given = {} if node_id is None else {"node_id": node_id}
    by_rule = _by_rule(recognised, pick) if channel is None else None
    if by_rule is None:
        listing = recognised.format.read(
            recognised.content, file=file, dialect=dialect, channel=channel, **given
        )
        listing = listing if pick is None else picked(listing, pick)
    else:
        listing = by_rule
    if len(listing.entries) > MAX_PARAMETERS:
        count = plural(len(listing.entries), "parameter")
        raise Unreadable(f"{count}; exports up to {MAX_PARAMETERS} are read", file=file)
    return listing


def _by_rule(recognised: Recognised, pick: AxisPick | None) -> Listing | None:
    """What a format reads that tells axes apart by the rule alone, packed or not."""
    reader, content, file = recognised.format, recognised.content, recognised.file
    if isinstance(reader, Zipped):
        if not isinstance(reader.inner, ReadsAxes):
            return None
        content, file = reader.inside(content, file), in_archive(file, reader.member)
        reader = reader.inner
    return (
        reader.read_axis(content, file=file, pick=pick) if isinstance(reader, ReadsAxes) else None
    )
