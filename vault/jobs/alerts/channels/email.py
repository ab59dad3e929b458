"""E-mail: plain text through a relay."""

from __future__ import annotations

import smtplib
import ssl
from contextlib import suppress
from email.message import EmailMessage
from email.utils import format_datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from vault.jobs.alerts.channels import NotSent, sends

if TYPE_CHECKING:
    from vault.model.alert_channels import EmailChannel
    from vault.model.alerts import Alert
    from vault.store.local.secrets import Secrets


def mail(channel: EmailChannel, alert: Alert, site: str) -> EmailMessage:
    """The alert as a mail. Its Message-ID comes from the alert's id alone: a second copy shows."""
    message = EmailMessage()
    message["Subject"] = f"[{' '.join(site.split())}] {alert.subject}"
    message["From"] = channel.from_
    message["To"] = ", ".join(channel.to)
    message["Date"] = format_datetime(alert.time)
    domain = channel.from_.rpartition("@")[2]
    message["Message-ID"] = f"<{sha256(alert.id.encode()).hexdigest()[:40]}@{domain}>"
    message["Auto-Submitted"] = "auto-generated"  # RFC 3834: no out-of-office reply to this
    message.set_content(f"{alert.text or alert.subject}\n", cte="quoted-printable")
    return message


@sends("email")
def send(channel: EmailChannel, alert: Alert, secrets: Secrets, site: str) -> str | None:
    """Hand the mail to the relay.

    Recipients that are refused for good are named in the remark and hold up no other; where one is
    refused for now, or all are, nobody gets it yet: nobody gets it twice.
    """
    password = secrets.read(channel.password) if channel.password else None
    if not (password or "").isascii():
        raise NotSent("the password holds characters that the login of a relay cannot carry")
    try:
        server = _connected(channel)
        try:
            if channel.user and password:
                server.login(channel.user, password)
            return _handed_over(server, channel, mail(channel, alert, site))
        finally:
            with suppress(smtplib.SMTPException, OSError):  # what was taken over stays so
                server.quit()
    except smtplib.SMTPAuthenticationError as error:
        raise NotSent(f"the relay refused user and password ({error.smtp_code})") from None
    except smtplib.SMTPResponseException as error:
        raise NotSent(f"the relay answered {error.smtp_code} {_said(error.smtp_error)}") from None
    except smtplib.SMTPServerDisconnected:
        raise NotSent("the relay closed the connection or did not answer") from None
    except smtplib.SMTPNotSupportedError as error:
        raise NotSent(f"the relay cannot do it: {error}") from None


def _connected(channel: EmailChannel) -> smtplib.SMTP:
    trusted = ssl.create_default_context()
    if channel.security == "tls":
        return smtplib.SMTP_SSL(
            channel.host, channel.port, timeout=channel.timeout, context=trusted
        )
    server = smtplib.SMTP(channel.host, channel.port, timeout=channel.timeout)
    if channel.security == "starttls":
        try:
            server.starttls(context=trusted)
        except BaseException:
            server.close()
            raise
    return server


def _handed_over(server: smtplib.SMTP, channel: EmailChannel, message: EmailMessage) -> str | None:
    server.ehlo_or_helo_if_needed()
    code, answer = server.mail(channel.from_)
    if code != 250:
        raise NotSent(f"the relay refused the sender: {code} {_said(answer)}")
    refused = {}
    for recipient in channel.to:
        code, answer = server.rcpt(recipient)
        if code not in (250, 251):
            refused[recipient] = code, f"{recipient}: {code} {_said(answer)}"
    why = "; ".join(text for _, text in refused.values())
    if len(refused) == len(set(channel.to)) or any(code < 500 for code, _ in refused.values()):
        raise NotSent(f"the relay refused {why}")
    code, answer = server.data(message.as_bytes(policy=message.policy.clone(linesep="\r\n")))
    if code != 250:
        raise NotSent(f"the relay refused the mail: {code} {_said(answer)}")
    return f"the relay refused {why}" if refused else None


def _said(answer: bytes | str) -> str:
    return answer.decode("utf-8", "replace") if isinstance(answer, bytes) else answer
