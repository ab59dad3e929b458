"""The JSON objects of the `alerts` commands, one function per object."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from vault.jobs.alerts.deliver import Delivered, Waiting
from vault.jobs.state.documents import Json
from vault.store.clock import time_text
from vault.store.local.outbox import Message


def waiting_json(found: Waiting) -> Json:
    """A message: of which alert, where to, and how it stands."""
    message = found.message
    return {
        **message_json(message),
        "since": time_text(message.queued),
        "attempts": message.attempts,
        "error": message.error,
        "next_try": None if message.sent else time_text(message.next_try),
        "sent": time_text(message.sent) if message.sent else None,
        "channel_gone": found.is_gone,
    }


def alerts_json(found: Iterable[Waiting], set_aside: Iterable[Path]) -> Json:
    """What `alerts list` shows."""
    return {
        "alerts": [waiting_json(each) for each in found],
        "set_aside": [str(path) for path in set_aside],
    }


def delivered_json(done: Delivered, waits: int) -> Json:
    """What a sender did, and how many messages wait still."""
    return {
        "sent": [message_json(message) for message in done.sent],
        "failed": [message_json(message) for message in done.failed],
        "busy": done.is_busy,
        "waiting": waits,
    }


def message_json(message: Message) -> Json:
    """Which alert, and where to."""
    alert = message.alert
    return {
        "id": alert.id,
        "channel": message.channel,
        "axis": alert.axis,
        "status": alert.status,
        "worst": alert.worst,
        "subject": alert.subject,
    }
