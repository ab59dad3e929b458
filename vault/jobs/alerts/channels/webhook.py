"""Webhook: a POST of one CloudEvents 1.0 document in structured mode."""

from __future__ import annotations

import http.client
import json
import urllib.error
import urllib.request
from email.message import Message
from typing import IO, TYPE_CHECKING, Any
from urllib.parse import quote, urlsplit

from vault import __version__
from vault.jobs.alerts.channels import NotSent, sends
from vault.model.alert_channels import is_loopback

if TYPE_CHECKING:
    from vault.model.alert_channels import WebhookChannel
    from vault.model.alerts import Alert
    from vault.store.local.secrets import Secrets

_TYPES = {
    "drifted": "axisvault.drift", "floor": "axisvault.floor", "overdue": "axisvault.overdue",
    "test": "axisvault.test",
}  # fmt: skip


def cloud_event(alert: Alert, site: str) -> dict[str, Any]:
    """The alert as CloudEvents 1.0 describes an event in JSON; `source` names the site.

    Source and id together tell a repeated delivery from a new alert.
    """
    return {
        "specversion": "1.0",
        "id": alert.id,
        "source": f"/axisvault/{quote(site, safe='')}",
        "type": _TYPES[alert.status],
        "subject": alert.axis,
        "time": alert.time.isoformat(),
        "datacontenttype": "application/json",
        "data": {"site": site, **alert.as_mapping()},
    }


@sends("webhook")
def send(channel: WebhookChannel, alert: Alert, secrets: Secrets, site: str) -> str | None:
    """Post the event; any answer of 2xx takes it over."""
    request = urllib.request.Request(  # noqa: S310 (http and https only, by the schema)
        channel.url,
        data=json.dumps(cloud_event(alert, site), ensure_ascii=False).encode(),
        headers={
            "Content-Type": "application/cloudevents+json; charset=utf-8",
            "User-Agent": f"axisvault/{__version__}",
        },
        method="POST",
    )
    if channel.token is not None:
        token = _ascii(secrets.read(channel.token))
        request.add_unredirected_header("Authorization", f"Bearer {token}")
    try:
        with _opener(channel).open(request, timeout=channel.timeout):
            return None
    except urllib.error.HTTPError as error:
        with error:
            raise NotSent(_refusal(error)) from None
    except urllib.error.URLError as error:
        if isinstance(error.reason, OSError):
            raise error.reason from None
        raise NotSent(str(error.reason)) from None
    except http.client.HTTPException as error:
        raise NotSent(f"what answers speaks no HTTP ({type(error).__name__})") from None


def _opener(channel: WebhookChannel) -> urllib.request.OpenerDirector:
    if is_loopback(urlsplit(channel.url).hostname or ""):  # stays here, whatever proxy is set
        return urllib.request.build_opener(_NoRedirect, urllib.request.ProxyHandler({}))
    return urllib.request.build_opener(_NoRedirect)


def _ascii(token: str) -> str:
    if not token.isascii():
        raise NotSent("the token holds characters that no HTTP header can carry")
    return token


def _refusal(error: urllib.error.HTTPError) -> str:
    if 300 <= error.code < 400:
        host = urlsplit(error.headers.get("Location") or "").hostname or "another address"
        return f"answered {error.code}, go to {host}: write the final URL into vault.yaml"
    return f"answered {error.code} {http.client.responses.get(error.code, '')}".strip()


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """Follows no redirect: a POST would become a GET without content, the token go astray."""

    def redirect_request(
        self,
        req: urllib.request.Request,
        fp: IO[bytes],
        code: int,
        msg: str,
        headers: Message,
        newurl: str,
    ) -> None:
        return None
