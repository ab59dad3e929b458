"""JSON of alerts: what waits, what was sent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import time_or_none
from vault.store.clock import time_text

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from vault.jobs.alerts.deliver import ChannelTest, Delivered, WaitingMessage
    from vault.model.alert_channels import Channel
    from vault.store.local.outbox import Message


class MessageDocument(TypedDict):
    """An alert on its way to one channel."""

    id: str
    """Id of the alert: the same change of state has the same one."""

    channel: str
    """Name of the channel in vault.yaml."""

    axis: str
    """`machine/axis`."""

    status: str
    """`drifted`, `floor` (a margin is not shown to keep its floor) or `overdue`."""

    worst: str | None
    """The worst consequence of what drifted, as in a change."""

    subject: str
    """It in one line."""


class WaitingMessageDocument(MessageDocument):
    """A message, and how it stands."""

    since: str
    """When the alert was raised."""

    attempts: int
    """How often it was tried."""

    error: str | None
    """What went wrong the last time."""

    next_try: str | None
    """When it is tried again, null where it went out."""

    sent: str | None
    """When it went out, null where it waits."""

    channel_gone: bool
    """Whether vault.yaml has no such channel any more."""

    channel_unconfirmed: bool
    """Whether nobody on this computer confirmed the channel as it is set up now."""


class ChannelConfirmedDocument(TypedDict):
    """A channel that may be used from this computer: `alerts confirm`."""

    channel: str
    """Name of the channel in vault.yaml."""

    kind: str
    """Its kind."""

    folder: str | None
    """The folder that it may write into; null for what writes no files."""


class AlertsDocument(TypedDict):
    """Messages about drift: `alerts list`."""

    alerts: list[WaitingMessageDocument]
    """What waits; with `--all` also what went out of late."""

    set_aside: list[str]
    """Damaged outboxes that were put aside, with what waited in them."""


class SentDocument(TypedDict):
    """What a sender did: `alerts send`."""

    sent: list[MessageDocument]
    """What went out."""

    failed: list[MessageDocument]
    """What was tried in vain."""

    busy: bool
    """Whether another process is sending, so that nothing was done."""

    waiting: int
    """How many messages wait still."""


class ChannelTestDocument(TypedDict):
    """What became of a test message: `alerts test`."""

    channel: str
    """Name of the channel."""

    sent: bool
    """Whether it went out."""

    error: str | None
    """What went wrong, in part or altogether."""

    id: str
    """Id of the message."""


def alerts_document(found: Iterable[WaitingMessage], set_aside: Iterable[Path]) -> AlertsDocument:
    """Messages, and outboxes that were put aside."""
    return {
        "alerts": [_waiting_document(each) for each in found],
        "set_aside": [str(path) for path in set_aside],
    }


def sent_document(done: Delivered, waits: int) -> SentDocument:
    """What a sender did, and how many messages wait still."""
    return {
        "sent": [_message_document(message) for message in done.sent],
        "failed": [_message_document(message) for message in done.failed],
        "busy": done.is_busy,
        "waiting": waits,
    }


def channel_test_document(channel: str, tried: ChannelTest) -> ChannelTestDocument:
    """What became of a test message."""
    return {
        "channel": channel,
        "sent": tried.is_sent,
        "error": tried.error,
        "id": tried.alert.id,
    }


def channel_confirmed_document(channel: Channel, folder: Path | None) -> ChannelConfirmedDocument:
    """A channel that was confirmed."""
    return {
        "channel": channel.name,
        "kind": channel.kind,
        "folder": str(folder) if folder is not None else None,
    }


def _waiting_document(waiting: WaitingMessage) -> WaitingMessageDocument:
    message = waiting.message
    return {
        **_message_document(message),
        "since": time_text(message.queued),
        "attempts": message.attempts,
        "error": message.error,
        "next_try": None if message.sent else time_text(message.next_try),
        "sent": time_or_none(message.sent),
        "channel_gone": waiting.is_gone,
        "channel_unconfirmed": waiting.is_unconfirmed,
    }


def _message_document(message: Message) -> MessageDocument:
    alert = message.alert
    return {
        "id": alert.id,
        "channel": message.channel,
        "axis": alert.axis,
        "status": alert.status,
        "worst": alert.worst,
        "subject": alert.subject,
    }
