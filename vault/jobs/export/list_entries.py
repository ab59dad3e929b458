"""Second stage: what an export lists for one axis, entry by entry with its line."""

from __future__ import annotations

from vault.jobs.export.content import MAX_PARAMETERS
from vault.jobs.export.recognise import Recognised
from vault.model.errors import Unreadable
from vault.model.export import Listing
from vault.model.wording import plural


def list_entries(
    recognised: Recognised, channel: int | None = None, node_id: int | None = None
) -> Listing:
    """Read the entries of an axis, the one numbered `channel` where the file holds several.

    `node_id` is what values refer to; None leaves it to the file.
    Lines that cannot be understood are in the listing too. Raises Unreadable where nothing can be
    made of the file or it lists too much, WrongUsage where the axis must be chosen or is not there.
    """
    family, file = recognised.family, recognised.file
    dialect = family.family.export if family is not None else None
    given = {} if node_id is None else {"node_id": node_id}
    listing = recognised.format.read(
        recognised.content, file=file, dialect=dialect, channel=channel, **given
    )
    if len(listing.entries) > MAX_PARAMETERS:
        count = plural(len(listing.entries), "parameter")
        raise Unreadable(f"{count}; exports up to {MAX_PARAMETERS} are read", file=file)
    return listing
