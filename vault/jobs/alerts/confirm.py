"""Which channels may be used from this computer: those that somebody here confirmed.

vault.yaml comes along with a copy or a bundle, and says where messages go and which secrets go with
them. So a channel counts only as it was set up when somebody on this computer said so.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from vault.model.errors import WrongUsage
from vault.store.local.outbox import Outbox

if TYPE_CHECKING:
    from vault.model.alert_channels import Channel
    from vault.store.vault import Vault


def channels_of(vault: Vault) -> tuple[Channel, ...]:
    """The channels in vault.yaml. Raises Unreadable with file, line and key."""
    return vault.site_record.alerts


def confirmed_channels(outbox: Outbox, channels: Sequence[Channel]) -> list[Channel]:
    """The channels that somebody on this computer confirmed as they are set up now."""
    outbox.bind(channels)
    confirmed = outbox.confirmations()
    return [
        channel
        for channel in channels
        if channel.name in confirmed and confirmed[channel.name].content == channel.content
    ]


def unconfirmed_channels(vault: Vault) -> list[str]:
    """Names of channels in vault.yaml that are not used from this computer."""
    channels = channels_of(vault)
    with Outbox(vault.state) as outbox:
        usable = confirmed_channels(outbox, channels)
    return [channel.name for channel in channels if channel not in usable]


def confirm_channel(
    vault: Vault, name: str, by: str, below: Path | None = None
) -> tuple[Channel, Path | None]:
    """Have a channel of vault.yaml used from this computer, as it is set up now.

    `below` is the folder that a channel which writes files may write into, else that of its path;
    what it is comes back with the channel.
    Raises WrongUsage for an unknown channel, or a folder that its path does not lie in.
    """
    channel = channel_named(channels_of(vault), name)
    folder = channel.folder
    if below is not None:
        if folder is None or not folder.is_relative_to(below.resolve()):
            raise WrongUsage(f"channel {name} writes nothing below {below}")
        folder = below.resolve()
    with Outbox(vault.state) as outbox:
        outbox.confirm(channel, by, folder)
    return channel, folder


def named_folders(outbox: Outbox) -> list[Path]:
    """The folders below which channels may write on this computer."""
    found = outbox.confirmations().values()
    return [one.folder for one in found if one.folder is not None]


def channel_named(channels: Sequence[Channel], name: str) -> Channel:
    """The channel of that name. Raises WrongUsage where there is none."""
    known = {channel.name: channel for channel in channels}
    if name not in known:
        there = f"it has: {', '.join(known)}" if known else "it has none yet"
        raise WrongUsage(f"vault.yaml has no channel {name!r} ({there})")
    return known[name]
