"""Mail against a real relay (aiosmtpd); what arrives is read by Python's own mail parser."""

from __future__ import annotations

import email
import email.policy
import shutil
import ssl
import subprocess
from collections.abc import Iterator
from email.message import EmailMessage
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.smtp import AuthResult, LoginPassword

from tests.receivers import (
    SITE,
    MailRelay,
    a_channel,
    an_alert,
    free_port,
    mail_relay,
    secrets,
)
from vault.jobs.alerts.channels import NotSent, send

TWO = ["mira@tileworks.example", "shift@tileworks.example"]


def channel_of(relay: MailRelay, **more: Any) -> Any:
    given = {"host": "127.0.0.1", "port": relay.port, "security": "none"}
    people = {"from": "vault@tileworks.example", "to": TWO}
    return a_channel(kind="email", **{**given, **people, **more})


def parsed(content: bytes) -> EmailMessage:
    return email.message_from_bytes(content, policy=email.policy.default)  # type: ignore[return-value]


def test_an_alert_arrives_as_plain_text(tmp_path: Path) -> None:
    alert = an_alert(sentences=("Der Rücklauf: 2 µm.", ".", "x" * 2000))
    with mail_relay() as relay:
        assert send(channel_of(relay), alert, secrets(tmp_path), SITE) is None
    [(recipients, content)] = relay.mails
    message = parsed(content)
    assert recipients == TWO
    assert message["To"] == ", ".join(TWO)
    assert message["From"] == "vault@tileworks.example"
    assert message["Subject"] == f"[{SITE}] {alert.subject}"
    assert parsedate_to_datetime(message["Date"]) == alert.time
    assert message.get_content_type() == "text/plain"
    told = message.get_content().replace("\r\n", "\n")
    assert told == "\n".join((*alert.sentences, "", *alert.links, ""))


def test_the_message_id_is_that_of_the_alert(tmp_path: Path) -> None:
    with mail_relay() as relay:
        for number in (1, 1, 2):
            send(channel_of(relay), an_alert(number), secrets(tmp_path), SITE)
    first, again, other = (parsed(content)["Message-ID"] for _, content in relay.mails)
    assert first == again != other
    assert first.endswith("@tileworks.example>")


def test_a_subject_of_several_lines_makes_no_header(tmp_path: Path) -> None:
    alert = an_alert(subject="lift\r\nBcc: eve@elsewhere.example")
    with mail_relay() as relay:
        send(channel_of(relay), alert, secrets(tmp_path), "Hall\n2")
    [(recipients, content)] = relay.mails
    assert recipients == TWO
    assert parsed(content)["Bcc"] is None


def test_a_recipient_refused_for_good_holds_up_no_other_and_is_told(tmp_path: Path) -> None:
    with mail_relay() as relay:
        relay.refuses = {TWO[0]: "550 no such box"}
        remark = send(channel_of(relay), an_alert(), secrets(tmp_path), SITE)
    assert remark is not None
    assert f"{TWO[0]}: 550 no such box" in remark
    assert [recipients for recipients, _ in relay.mails] == [TWO[1:]]


def test_while_one_recipient_is_refused_for_now_nobody_gets_it_twice(tmp_path: Path) -> None:
    with mail_relay() as relay:
        relay.refuses = {TWO[1]: "451 come back later"}
        with pytest.raises(NotSent, match="451 come back later"):
            send(channel_of(relay), an_alert(), secrets(tmp_path), SITE)
        assert not relay.mails
        relay.refuses = {}
        assert send(channel_of(relay), an_alert(), secrets(tmp_path), SITE) is None
    assert [recipients for recipients, _ in relay.mails] == [TWO]


def test_all_recipients_refused_is_not_sent(tmp_path: Path) -> None:
    with mail_relay() as relay:
        relay.refuses = dict.fromkeys(TWO, "550 no such box")
        with pytest.raises(NotSent, match="550"):
            send(channel_of(relay), an_alert(), secrets(tmp_path), SITE)


def test_a_relay_that_refuses_the_mail_is_not_sent(tmp_path: Path) -> None:
    with mail_relay() as relay:
        relay.answer = "452 disk full"
        with pytest.raises(NotSent, match="452 disk full"):
            send(channel_of(relay), an_alert(), secrets(tmp_path), SITE)


def test_nobody_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(NotSent, match="refused"):
        send(channel_of(MailRelay(free_port())), an_alert(), secrets(tmp_path), SITE)


def test_a_relay_without_the_wanted_security_gets_nothing(tmp_path: Path) -> None:
    with mail_relay() as relay, pytest.raises(NotSent, match="STARTTLS"):
        send(channel_of(relay, security="starttls"), an_alert(), secrets(tmp_path), SITE)
    assert not relay.mails


def checks_login(seen: list[tuple[bytes, bytes]], *, good: bool) -> dict[str, Any]:
    def check(server: Any, session: Any, envelope: Any, mechanism: str, given: Any) -> AuthResult:
        assert isinstance(given, LoginPassword)
        seen.append((given.login, given.password))
        return AuthResult(success=good, handled=False)

    return {"authenticator": check, "auth_required": True, "auth_require_tls": False}


def test_user_and_password_are_given(tmp_path: Path) -> None:
    seen: list[tuple[bytes, bytes]] = []
    login = {"user": "vault", "password": {"env": "MAIL"}}
    with mail_relay(**checks_login(seen, good=True)) as relay:
        send(channel_of(relay, **login), an_alert(), secrets(tmp_path, MAIL="word-7"), SITE)
    assert seen == [(b"vault", b"word-7")]
    assert relay.mails


def test_a_refused_password_is_said_and_not_shown(tmp_path: Path) -> None:
    login = {"user": "vault", "password": {"env": "MAIL"}}
    with (
        mail_relay(**checks_login([], good=False)) as relay,
        pytest.raises(NotSent, match="refused user and password") as error,
    ):
        send(channel_of(relay, **login), an_alert(), secrets(tmp_path, MAIL="word-7"), SITE)
    assert "word-7" not in str(error.value)
    assert not relay.mails


def test_a_password_that_no_login_can_carry_is_not_shown_in_part(tmp_path: Path) -> None:
    login = {"user": "vault", "password": {"env": "MAIL"}}
    with (
        mail_relay(**checks_login([], good=True)) as relay,
        pytest.raises(NotSent, match="cannot carry") as error,
    ):
        send(channel_of(relay, **login), an_alert(), secrets(tmp_path, MAIL="wörd"), SITE)
    assert "ö" not in str(error.value)


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A certificate for 127.0.0.1 that nobody trusts yet, with its key, by the openssl program."""
    program = shutil.which("openssl")
    if program is None:
        pytest.skip("the openssl program is not here to make a certificate")
    path = tmp_path_factory.mktemp("tls") / "both.pem"
    key = path.with_name("key.pem")
    subprocess.run(
        [
            program, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
            "-subj", "/CN=relay.example", "-addext", "subjectAltName=IP:127.0.0.1",
            "-keyout", str(key), "-out", str(path),
        ],
        check=True,
        capture_output=True,
    )  # fmt: skip
    yield path


def offers_tls(certificate: Path) -> ssl.SSLContext:
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.load_cert_chain(certificate, certificate.with_name("key.pem"))
    return context


def test_starttls_carries_the_mail(
    certificate: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SSL_CERT_FILE", str(certificate))
    how = {"tls_context": offers_tls(certificate), "require_starttls": True}
    with mail_relay(**how) as relay:
        send(channel_of(relay, security="starttls"), an_alert(), secrets(tmp_path), SITE)
    assert relay.mails


def test_a_certificate_that_is_not_trusted_gets_nothing(certificate: Path, tmp_path: Path) -> None:
    with (
        mail_relay(tls_context=offers_tls(certificate), require_starttls=True) as relay,
        pytest.raises(NotSent, match="certificate is not trusted"),
    ):
        send(channel_of(relay, security="starttls"), an_alert(), secrets(tmp_path), SITE)
    assert not relay.mails
