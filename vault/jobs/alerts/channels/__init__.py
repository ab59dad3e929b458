"""Alert channels: how a message goes out, one module per kind of channel.

A module registers its function with `@sends("kind")`. The function hands one alert over and
returns None, or a remark where it went out only in part. It raises NotSent, VaultError or OSError
where it did not; it may block for the channel's timeout at every step.
"""

from __future__ import annotations

import socket
import ssl
from collections.abc import Callable
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING, Any, TypeVar

from vault.model.errors import VaultError
from vault.model.visible_text import visible_line

if TYPE_CHECKING:
    from vault.model.alert_channels import Channel
    from vault.model.alerts import Alert
    from vault.store.local.secrets import Secrets

Sender = Callable[[Any, "Alert", "Secrets", str], str | None]
"""Gets the channel of its kind, the alert, what reads secrets, and the site's name."""
AnySender = TypeVar("AnySender", bound=Callable[..., str | None])

_SENDERS: dict[str, Sender] = {}


class NotSent(Exception):
    """A message was not handed over; the text says why, and holds no secret."""


def sends(kind: str) -> Callable[[AnySender], AnySender]:
    """Register the function that sends by channels of a kind."""

    def register(sender: AnySender) -> AnySender:
        if kind in _SENDERS:
            raise ValueError(f"two ways to send by {kind}")
        _SENDERS[kind] = sender
        return sender

    return register


@cache
def registered() -> dict[str, Sender]:
    """All senders by kind, every module loaded."""
    for module in iter_modules(__path__):
        import_module(f"{__name__}.{module.name}")
    return _SENDERS


def send(channel: Channel, alert: Alert, secrets: Secrets, site: str) -> str | None:
    """Send one alert by one channel; returns a remark where it went out only in part.

    Raises NotSent, whatever went wrong, with secrets taken out of the text.
    """
    try:
        remark = registered()[channel.kind](channel, alert, secrets, visible_line(site))
    except Exception as error:
        # Not chained: the cause may hold what the text no longer does.
        raise NotSent(secrets.redacted(_reason(error, channel))) from None
    return None if remark is None else secrets.redacted(remark)


def _reason(error: Exception, channel: Channel) -> str:
    if isinstance(error, NotSent | VaultError):
        text = str(error)
    elif isinstance(error, TimeoutError):
        text = f"no answer within {channel.timeout:g} s"
    elif isinstance(error, socket.gaierror):
        text = f"the host's name cannot be resolved: {error.strerror}"
    elif isinstance(error, ssl.SSLCertVerificationError):
        text = f"the certificate is not trusted: {error.verify_message}"
    elif isinstance(error, OSError) and error.strerror:
        text = error.strerror
    elif isinstance(error, UnicodeError):  # its text shows what could not be encoded
        text = "something holds characters that this channel cannot carry"
    else:
        text = f"{type(error).__name__}: {error}"
    return visible_line(" ".join(text.split())[:500])
