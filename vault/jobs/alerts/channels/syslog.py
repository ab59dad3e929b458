"""Syslog: one RFC 5424 message in one UDP datagram (RFC 5426)."""

from __future__ import annotations

import os
import re
import socket
from contextlib import suppress
from datetime import UTC
from typing import TYPE_CHECKING

from vault.jobs.alerts.channels import sends
from vault.model.alert_channels import FACILITIES

if TYPE_CHECKING:
    from vault.model.alert_channels import SyslogChannel
    from vault.model.alerts import Alert
    from vault.store.local.secrets import Secrets

LARGEST = 2048
"""Octets that a receiver should take (RFC 5424, 6.1)."""
_SEVERITIES = {
    "hazard": 2,
    "travel": 3,
    "unclassified": 4,
    "dynamics": 4,
    "electrical": 4,
    "link": 4,
    "record": 5,
}
_OVERDUE, _TEST = 4, 6
_ENTERPRISE = 32473
"""The number kept free for examples (RFC 5612): we own none."""
_BOM = b"\xef\xbb\xbf"
_LONGEST_VALUE = 128


def datagram(channel: SyslogChannel, alert: Alert, site: str) -> bytes:
    """The alert as an RFC 5424 message, cut between characters to what receivers should take."""
    priority = FACILITIES.index(channel.facility) * 8 + _severity(alert)
    time = alert.time.astimezone(UTC).isoformat(timespec="microseconds")
    host = re.sub(r"[^\x21-\x7e]", "", socket.gethostname())[:255] or "-"
    head = f"<{priority}>1 {time} {host} axisvault {os.getpid()} {alert.status.upper()} "
    start = (head + _structured(alert, site) + " ").encode() + _BOM
    text = " ".join((alert.subject, *alert.sentences, *alert.links))
    return start + _cut(" ".join(text.split()).encode("utf-8", "replace"), LARGEST - len(start))


def _severity(alert: Alert) -> int:
    if alert.status == "test":
        return _TEST
    return _SEVERITIES.get(alert.worst or "", _OVERDUE)


def _structured(alert: Alert, site: str) -> str:
    values = {
        "id": alert.id,
        "site": site,
        "axis": alert.axis,
        "status": alert.status,
        "worst": alert.worst,
        "snapshot": alert.snapshot,
        "golden": alert.golden,
    }
    given = "".join(f' {name}="{_escaped(value)}"' for name, value in values.items() if value)
    return f"[axisvault@{_ENTERPRISE}{given}]"


def _escaped(value: str) -> str:
    plain = " ".join(value[:_LONGEST_VALUE].split()).encode("utf-8", "replace").decode()
    return re.sub(r'(["\\\]])', r"\\\1", plain)


def _cut(text: bytes, room: int) -> bytes:
    if len(text) <= room:
        return text
    mark = "…".encode()
    return text[: room - len(mark)].decode("utf-8", "ignore").encode() + mark


@sends("syslog")
def send(channel: SyslogChannel, alert: Alert, secrets: Secrets, site: str) -> str | None:
    """Send the datagram; a host that says nobody listens there counts as dead."""
    del secrets  # syslog needs none
    address = socket.getaddrinfo(channel.host, channel.port, type=socket.SOCK_DGRAM)[0]
    with socket.socket(address[0], socket.SOCK_DGRAM) as connection:
        connection.connect(address[4])
        connection.send(datagram(channel, alert, site))
        connection.settimeout(min(channel.timeout, 0.2))
        with suppress(TimeoutError):  # silence is all that UDP has to say when it went well
            connection.recv(1)
    return None
