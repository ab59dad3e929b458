"""Syslog against a real UDP listener, and against the grammar of RFC 5424."""

from __future__ import annotations

import re
import socket
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from tests.receivers import SITE, a_channel, an_alert, free_port, secrets, syslog_listener
from vault.jobs.alerts.channels import NotSent, send
from vault.jobs.alerts.channels.syslog import LARGEST, datagram

# Source: RFC 5424, section 6 (ABNF), written as a regular expression over octets from memory.
_SD_NAME = rb"[!#-<>-\\^-~]{1,32}"  # printable ASCII but = ] " and blank
_VALUE = rb'(?:[^"\\\]]|\\["\\\]])*'
GRAMMAR = re.compile(
    rb"<(?P<pri>0|[1-9]\d{0,2})>(?P<version>[1-9]\d{0,2})"
    rb" (?P<time>\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d{1,6})?(?:Z|[+-]\d\d:\d\d))"
    rb" (?P<host>[!-~]{1,255}) (?P<app>[!-~]{1,48}) (?P<proc>[!-~]{1,128}) (?P<msgid>[!-~]{1,32})"
    rb" (?P<data>-|(?:\[" + _SD_NAME + rb"(?: " + _SD_NAME + rb'="' + _VALUE + rb'")*\])+)'
    rb"(?: (?P<msg>\xef\xbb\xbf.*))?",
    re.DOTALL,
)
SYSLOG = a_channel(kind="syslog", host="127.0.0.1")


def parsed(content: bytes) -> dict[str, bytes]:
    found = GRAMMAR.fullmatch(content)
    assert found is not None, content
    content.decode("utf-8")  # structured data and a message with BOM are UTF-8
    return found.groupdict()


def values(content: bytes) -> dict[str, str]:
    data = parsed(content)["data"].decode()
    pairs = re.findall(r' ([^= ]+)="((?:[^"\\\]]|\\.)*)"', data)
    return {name: re.sub(r"\\(.)", r"\1", value) for name, value in pairs}


def test_an_alert_arrives_as_one_datagram(tmp_path: Path) -> None:
    with syslog_listener() as listener:
        channel = a_channel(kind="syslog", host="127.0.0.1", port=listener.getsockname()[1])
        send(channel, an_alert(), secrets(tmp_path), SITE)
        content = listener.recv(65536)
    found = parsed(content)
    assert found["version"] == b"1"
    assert found["app"] == b"axisvault"
    assert found["msgid"] == b"DRIFTED"
    assert datetime.fromisoformat(found["time"].decode()) == an_alert().time
    assert found["msg"].startswith(b"\xef\xbb\xbfglaze-line-1/lift drifted (1) Following error")
    assert values(content) == {
        "id": "glaze-line-1.lift.1",
        "site": SITE,
        "axis": "glaze-line-1/lift",
        "status": "drifted",
        "worst": "hazard",
        "snapshot": an_alert().snapshot,
        "golden": an_alert().golden,
    }


@pytest.mark.parametrize(
    ("facility", "worst", "status", "priority"),
    [
        # PRI = facility x 8 + severity (RFC 5424, 6.2.1): local0 is 16, daemon 3, local7 23;
        # critical 2, error 3, warning 4, notice 5, informational 6. Which class is which severity
        # is ours.
        ("local0", "hazard", "drifted", 16 * 8 + 2),
        ("local0", "travel", "drifted", 16 * 8 + 3),
        ("daemon", "dynamics", "drifted", 3 * 8 + 4),
        ("local7", "record", "drifted", 23 * 8 + 5),
        ("local7", None, "overdue", 23 * 8 + 4),
        ("kern", None, "test", 6),
    ],
)
def test_the_priority_is_facility_and_severity(
    facility: str, worst: str | None, status: str, priority: int
) -> None:
    channel = a_channel(kind="syslog", host="127.0.0.1", facility=facility)
    content = datagram(channel, an_alert(worst=worst, status=status), SITE)
    assert int(parsed(content)["pri"]) == priority


@pytest.mark.parametrize("text", ['a"b\\c]d', "]]\\\\", "line\nbreak\x00", "µ-Ring ü]", "\ud800"])
def test_whatever_a_value_holds_the_grammar_is_kept(text: str) -> None:
    alert = an_alert(id=text, sentences=(text,))
    expected = " ".join(text.split()).replace("\ud800", "?")
    assert values(datagram(SYSLOG, alert, text))["id"] == expected


def test_a_long_message_is_cut_between_characters_to_what_a_receiver_takes() -> None:
    # 2,048 octets: what receivers should take (RFC 5424, 6.1, from memory).
    for shift in range(4):
        alert = an_alert(sentences=("x" * shift + "µ€𝄞" * 2000,), worst=None)
        content = datagram(SYSLOG, alert, SITE)
        assert LARGEST - 4 < len(content) <= LARGEST == 2048
        assert parsed(content)["msg"].decode().endswith("…")


def test_endless_names_leave_room_for_the_message() -> None:
    alert = an_alert("µ" * 5000, axis="m" * 5000)
    content = datagram(SYSLOG, alert, "S" * 5000)
    assert len(content) <= LARGEST
    assert len(parsed(content)["msg"]) > 100


def test_a_moment_with_an_odd_offset_is_written_as_the_rfc_wants() -> None:
    odd = timezone(timedelta(minutes=53, seconds=28))  # local mean time, as zones had it once
    alert = an_alert(time=datetime(2026, 3, 1, 8, 0, 0, 1, tzinfo=odd))
    assert datetime.fromisoformat(parsed(datagram(SYSLOG, alert, SITE))["time"].decode()) == (
        alert.time
    )


def test_a_host_at_which_nobody_listens_is_not_sent(tmp_path: Path) -> None:
    port = free_port(socket.SOCK_DGRAM)
    channel: Any = a_channel(kind="syslog", host="127.0.0.1", port=port)
    with pytest.raises(NotSent, match="refused"):
        send(channel, an_alert(), secrets(tmp_path), SITE)
