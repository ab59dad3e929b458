"""The entries of `alerts:` in vault.yaml: what they may say, and how mistakes are named."""

from __future__ import annotations

import traceback

import pytest

from vault.model.alert_channels import (
    AppriseChannel,
    EmailChannel,
    FileChannel,
    SyslogChannel,
    WebhookChannel,
)
from vault.model.errors import Unreadable
from vault.store.files.edited_files import read_site

HEAD = "schema: axisvault/vault/1\nsite: Tile works (invented)\napproval: {reason: true}\n"
GOOD = """\
alerts:
- name: planning
  kind: webhook
  url: https://planning.tileworks.example:8443/hooks?line=1
  token: {env: PLANNING_TOKEN}
  timeout: 2.5
- name: shift
  kind: email
  host: mail.tileworks.example
  port: 587
  user: vault
  password: {file: /etc/axisvault/mail}
  from: vault@tileworks.example
  to: [mira@tileworks.example, shift@tileworks.example]
  from_class: travel
- {name: logs, kind: syslog, host: 192.0.2.7, facility: daemon}
- {name: file_1, kind: file, path: /var/log/axes.jsonl}
- {name: chat, kind: apprise, url: {env: CHAT}}
"""


def test_every_kind_of_channel_is_read() -> None:
    channels = read_site((HEAD + GOOD).encode(), "vault.yaml").alerts
    kinds = [WebhookChannel, EmailChannel, SyslogChannel, FileChannel, AppriseChannel]
    assert [type(channel) for channel in channels] == kinds
    web, mail, logs, *_ = channels
    assert web.timeout == 2.5
    assert mail.from_class == "travel"
    assert isinstance(mail, EmailChannel)
    assert (mail.security, mail.from_) == ("starttls", "vault@tileworks.example")
    assert isinstance(logs, SyslogChannel)
    assert (logs.port, logs.facility) == (514, "daemon")


@pytest.mark.parametrize("text", ["", "alerts:\n", "alerts: []\n"])
def test_there_may_be_no_channel(text: str) -> None:
    assert read_site((HEAD + text).encode(), "vault.yaml").alerts == ()


HOOK = "- name: hook\n  kind: webhook\n  url: https://hook.tileworks.example/\n"
MAIL = """\
- name: mail
  kind: email
  host: relay
  port: 25
  from: v@t.example
  to: [m@t.example]
"""


@pytest.mark.parametrize(
    ("entries", "line", "key", "said"),
    [
        (f"{HOOK}  token: w0rd\n", 8, "alerts.0.token", "write {env: NAME}"),
        (f"{HOOK}  token: [w0rd]\n", 8, "alerts.0.token", "never stands in the vault"),
        (f"{HOOK}  token: {{env: A, file: /b}}\n", 8, "alerts.0.token", "either env"),
        (f"{HOOK}  token: {{}}\n", 8, "alerts.0.token", "either env"),
        (f"{HOOK}  token: {{value: w0rd}}\n", 8, "alerts.0.token.value", "no such key"),
        (f"{HOOK}  token: {{env: 'w0rd w0rd'}}\n", 8, "alerts.0.token.env", "not of the form"),
        (f"{HOOK}  password: w0rd\n", 8, "alerts.0.password", "no such key"),
        (f"{HOOK}  timeout: 0\n", 8, "alerts.0.timeout", "greater than 0"),
        (f"{HOOK}  timeout: '5'\n", 8, "alerts.0.timeout", "number of seconds"),
        (f"{HOOK}  from_class: worst\n", 8, "alerts.0.from_class", "'hazard'"),
        (HOOK.replace("https://", "https://u:w0rd@"), 7, "alerts.0.url", "no user and password"),
        (HOOK.replace("https://", "https://w0rd@"), 7, "alerts.0.url", "no user and password"),
        (HOOK.replace("https://", "ftp://"), 7, "alerts.0.url", "https://"),
        (HOOK.replace("hook.", "[w0rd"), 7, "alerts.0.url", "Invalid"),
        (HOOK.replace("https", "http") + "  token: {env: A}\n", 5, "alerts.0", "read on its way"),
        (HOOK.replace("name: hook", "name: a hook"), 5, "alerts.0.name", "not of the form"),
        (HOOK + HOOK.replace("name: hook", "name: Hook"), 4, "alerts", "two channels are called"),
        (HOOK.replace("webhook", "carrier pigeon"), 5, "alerts.0", "webhook, email, syslog"),
        (HOOK.replace("  kind: webhook\n", ""), 5, "alerts.0", "a name and a kind"),
        ("- apprise://w0rd\n", 5, "alerts.0", "a name and a kind"),
        ("  hook: {}\n", 4, "alerts", "a list of channels"),
        ("- {name: a, kind: apprise, url: 'x://w0rd'}\n", 5, "alerts.0.url", "write {env: NAME}"),
        ("- {name: a, kind: file, path: logs/a}\n", 5, "alerts.0.path", "the whole path"),
        ("- {name: a, kind: syslog, host: 'a b'}\n", 5, "alerts.0.host", "host name"),
        ("- {name: a, kind: syslog, host: a, port: 0}\n", 5, "alerts.0.port", "less than 1"),
        ("- {name: a, kind: syslog, host: a, port: yes}\n", 5, "alerts.0.port", "whole number"),
        ("- {name: a, kind: syslog, host: a, facility: x}\n", 5, "alerts.0.facility", "'kern'"),
        (f"{MAIL}  user: vault\n", 5, "alerts.0", "go together"),
        (
            f"{MAIL}  security: none\n  user: v\n  password: {{env: A}}\n",
            5, "alerts.0", "security: tls",
        ),
        (MAIL.replace("m@t.example", "m"), 10, "alerts.0.to.0", "name@host"),
        (MAIL.replace("m@t.example", ""), 10, "alerts.0.to", "takes at least 1"),
        (MAIL.replace("v@t.example", "V <v@t.example>"), 9, "alerts.0.from", "name@host"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_by_line_and_key_and_no_secret_is_repeated(
    entries: str, line: int, key: str, said: str
) -> None:
    with pytest.raises(Unreadable) as caught:
        read_site(f"{HEAD}alerts:\n{entries}".encode(), "vault.yaml")
    error = caught.value
    assert (error.file, error.line) == ("vault.yaml", line)
    assert error.message.startswith(key)
    assert said in error.message
    assert "w0rd" not in "".join(traceback.format_exception(error))


@pytest.mark.parametrize("url", ["http://127.0.0.1:8000/", "http://localhost/", "http://[::1]/"])
def test_a_token_may_go_over_http_where_it_stays_on_this_computer(url: str) -> None:
    text = f"{HEAD}alerts:\n- {{name: a, kind: webhook, url: '{url}', token: {{env: A}}}}\n"
    assert read_site(text.encode(), "vault.yaml").alerts
