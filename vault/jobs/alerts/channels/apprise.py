"""Apprise: whatever the library apprise reaches, by one address that is a secret as a whole."""

from __future__ import annotations

import logging
from typing import TYPE_CHECKING

from vault.jobs.alerts.channels import NotSent, sends

if TYPE_CHECKING:
    from vault.model.alert_channels import AppriseChannel
    from vault.model.alerts import Alert
    from vault.store.local.secrets import Secrets


@sends("apprise")
def send(channel: AppriseChannel, alert: Alert, secrets: Secrets, site: str) -> str | None:
    """Notify through the library, which is an extra of ours.

    Its own reasons hold URLs, so no reason is given on failure.
    """
    url = secrets.read(channel.url)
    kind = url.partition("://")[0]
    kind = f" {kind}://" if "://" in url and kind.isalnum() else ""
    try:
        known, done = _notified(url, alert, site)
    except NotSent:
        raise
    except Exception as error:
        raise NotSent(f"the library apprise gave up: {type(error).__name__}") from None
    if not known:
        raise NotSent(f"the library apprise takes this{kind} address for none of its own")
    if not done:
        raise NotSent(f"the library apprise could not send it to this{kind} address")
    return None


def _notified(url: str, alert: Alert, site: str) -> tuple[bool, bool]:
    """Say whether the library knows such addresses, and whether it sent. Raises NotSent."""
    try:
        import apprise
    except ImportError:
        missing = "the library apprise is not installed here: pip install 'axisvault[apprise]'"
        raise NotSent(missing) from None

    _silence()
    asset = apprise.AppriseAsset(app_id="axisvault", storage_mode="memory", secure_logging=True)
    notifier = apprise.Apprise(asset=asset)
    if not notifier.add(url):
        return False, False
    severity = {"hazard": "failure", "travel": "failure"}.get(alert.worst or "", "warning")
    done = notifier.notify(
        title=f"[{site}] {alert.subject}",
        body=alert.text or alert.subject,
        notify_type=apprise.NotifyType("info" if alert.status == "test" else severity),
        body_format=apprise.NotifyFormat.TEXT,
    )
    return True, bool(done)


def _silence() -> None:
    """Keep addresses, which hold secrets, out of everybody's log."""
    for name in ("apprise", "requests", "urllib3"):
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    logging.getLogger("apprise").propagate = False
