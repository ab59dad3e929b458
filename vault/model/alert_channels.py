"""Where alerts go: pydantic schema of the entries of `alerts:` in vault.yaml.

People write them by hand, and everybody who has the vault can read them: secrets are named, never
given.
"""

from __future__ import annotations

import json
import pathlib
import re
from hashlib import sha256
from ipaddress import ip_address
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args
from urllib.parse import urlsplit

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    StrictInt,
    StrictStr,
    StringConstraints,
    model_validator,
)

from vault.model.strict import Strict

if TYPE_CHECKING:
    from vault.model.alerts import Alert

Consequence = Literal[
    "hazard", "travel", "unclassified", "dynamics", "electrical", "link", "record"
]
_WORST_FIRST = get_args(Consequence)
_MAIL_ADDRESS = re.compile(r"[^\s@<>,;:\"()\\\x00-\x1f]+@[^\s@<>,;:\"()\\\x00-\x1f]+")
FACILITIES = (
    "kern", "user", "mail", "daemon", "auth", "syslog", "lpr", "news", "uucp", "cron", "authpriv",
    "ftp", "ntp", "audit", "alert", "clock", *(f"local{n}" for n in range(8)),
)  # fmt: skip
"""Facilities in the order of their numbers (RFC 5424, table 1; short names from memory)."""


class Secret(Strict):
    """Where a secret is read when it is needed: an environment variable, or a file's one line."""

    env: Annotated[str, StringConstraints(pattern=r"^[A-Za-z_][A-Za-z0-9_]*$")] | None = Field(
        None, description="the environment variable that holds it"
    )
    file: Annotated[StrictStr, Field(min_length=1)] | None = Field(
        None, description="the file outside the vault whose one line it is"
    )

    @model_validator(mode="before")
    @classmethod
    def _is_named_only(cls, value: Any) -> Any:
        if not isinstance(value, dict | Secret):
            raise ValueError(
                "a secret never stands in the vault; write {env: NAME} to take it from an"
                " environment variable, or {file: PATH} for a file outside the vault"
            )
        return value

    @model_validator(mode="after")
    def _one_of(self) -> Secret:
        if (self.env is None) == (self.file is None):
            raise ValueError("name either env (an environment variable) or file (a path)")
        return self


def is_loopback(host: str) -> bool:
    """Say whether what is sent to a host stays on this computer."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host.casefold() == "localhost"


def _web_address(value: str) -> str:
    if re.search(r"[\x00-\x20\x7f-\uffff]", value):
        raise ValueError("a URL holds no blanks and ASCII only")
    parts = urlsplit(value)  # refuses brackets that do not match
    if parts.scheme not in ("http", "https") or not parts.hostname:
        raise ValueError("write a URL that starts with https:// or http:// and names a host")
    if "@" in parts.netloc:
        raise ValueError("a URL here holds no user and password; name a secret under token")
    if parts.fragment:
        raise ValueError("a URL to send to ends before the #")
    _ = parts.port  # refuses ports that are none
    return value


def _mail_address(value: str) -> str:
    if not _MAIL_ADDRESS.fullmatch(value) or not value.isascii():
        raise ValueError("write a mail address alone, as name@host")
    return value


def _host(value: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9._:-]{1,253}", value):
        raise ValueError("write a host name or an address, without port")
    return value


def _one_or_more(value: Any) -> Any:
    return [value] if isinstance(value, str) else value


def _absolute(value: str) -> str:
    if not re.match(r"/|~|[A-Za-z]:[\\/]|\\\\", value) or "\x00" in value:
        raise ValueError("write the whole path, from the root: it does not depend on who sends")
    return value


ChannelName = Annotated[StrictStr, StringConstraints(pattern=r"^[A-Za-z0-9_-]{1,64}$")]
WebAddress = Annotated[StrictStr, AfterValidator(_web_address)]
MailAddress = Annotated[StrictStr, AfterValidator(_mail_address)]
Host = Annotated[StrictStr, AfterValidator(_host)]
Port = Annotated[StrictInt, Field(ge=1, le=65535)]
Path = Annotated[StrictStr, AfterValidator(_absolute)]


def _number(value: Any) -> Any:
    if isinstance(value, bool | str):
        raise ValueError("write a number of seconds")
    return value


class _Channel(Strict):
    """What all channels have."""

    name: ChannelName = Field(description="what the channel is called")
    from_class: Consequence | None = Field(
        None,
        description="the mildest consequence that is sent; what has none, as an overdue export, "
        "always is",
    )
    timeout: Annotated[float, BeforeValidator(_number), Field(gt=0, le=300)] = Field(
        15, description="seconds without an answer, after which the channel counts as hanging"
    )

    @property
    def content(self) -> str:
        """Stands for where the channel leads and what goes along, SHA-256 of its entry.

        How bad an alert must be and how long is waited is left out.
        """
        stated = self.model_dump(
            mode="json", by_alias=True, exclude_defaults=True, exclude={"from_class", "timeout"}
        )
        return sha256(json.dumps(stated, sort_keys=True).encode()).hexdigest()

    @property
    def folder(self) -> pathlib.Path | None:
        """The folder that it writes into; None for what writes no files."""
        return None

    def wants(self, alert: Alert) -> bool:
        """Say whether the alert is bad enough for this channel."""
        if self.from_class is None or alert.worst not in _WORST_FIRST:
            return True
        return _WORST_FIRST.index(alert.worst) <= _WORST_FIRST.index(self.from_class)


class WebhookChannel(_Channel):
    """A POST of one CloudEvents 1.0 JSON document; the token goes along as bearer."""

    kind: Literal["webhook"] = Field(description="by HTTP")
    url: WebAddress = Field(description="where to")
    token: Secret | None = Field(None, description="where the bearer token is read")

    @model_validator(mode="after")
    def _keeps_the_token(self) -> WebhookChannel:
        parts = urlsplit(self.url)
        if self.token and parts.scheme == "http" and not is_loopback(parts.hostname or ""):
            raise ValueError("a token sent over http can be read on its way; write https://")
        return self


class EmailChannel(_Channel):
    """A plain text mail through a relay."""

    kind: Literal["email"] = Field(description="by mail")
    host: Host = Field(description="the relay")
    port: Port = Field(description="its port")
    security: Literal["none", "starttls", "tls"] = Field(
        "starttls", description="how the connection is protected"
    )
    user: Annotated[StrictStr, Field(min_length=1)] | None = Field(
        None, description="the account at the relay, where it wants one"
    )
    password: Secret | None = Field(None, description="where its password is read")
    from_: MailAddress = Field(alias="from", description="who it comes from")
    to: Annotated[tuple[MailAddress, ...], BeforeValidator(_one_or_more), Field(min_length=1)] = (
        Field(description="one address or several")
    )

    @model_validator(mode="after")
    def _keeps_the_password(self) -> EmailChannel:
        if (self.user is None) != (self.password is None):
            raise ValueError("user and password go together")
        if self.user and self.security == "none" and not is_loopback(self.host):
            raise ValueError(
                "a password can be read on its way without security: starttls or security: tls"
            )
        return self


class SyslogChannel(_Channel):
    """One RFC 5424 message by UDP. A datagram brings no receipt: sent means handed over."""

    kind: Literal["syslog"] = Field(description="by syslog")
    host: Host = Field(description="the collector")
    port: Port = Field(514, description="its UDP port")
    facility: Literal[FACILITIES] = Field(  # type: ignore[valid-type]
        "local0", description="the facility of the messages (RFC 5424)"
    )


class FileChannel(_Channel):
    """One JSON line after the other in a file outside the vault; its folder must exist."""

    kind: Literal["file"] = Field(description="into a file")
    path: Path = Field(description="its whole path; the folder must exist")

    @property
    def folder(self) -> pathlib.Path:
        """The folder that it writes into, links followed."""
        return pathlib.Path(self.path).expanduser().parent.resolve()


class AppriseChannel(_Channel):
    """Whatever the library apprise reaches; its addresses hold secrets, so all of it is one."""

    kind: Literal["apprise"] = Field(description="by the library apprise")
    url: Secret = Field(description="where its whole address is read")


KINDS = ("webhook", "email", "syslog", "file", "apprise")


def _of_a_kind(value: Any) -> Any:
    if isinstance(value, _Channel):
        return value
    if not isinstance(value, dict) or value.get("kind") not in KINDS:
        raise ValueError(f"a channel has a name and a kind: {', '.join(KINDS)}")
    return value


Channel = Annotated[
    WebhookChannel | EmailChannel | SyslogChannel | FileChannel | AppriseChannel,
    Field(discriminator="kind"),
    BeforeValidator(_of_a_kind),
]
"""An entry of `alerts:`, told apart by its `kind`."""


def _list(value: Any) -> Any:
    if value is None:  # the key stands there with nothing under it
        return ()
    if not isinstance(value, list | tuple):
        raise ValueError("write a list of channels, each with a name and a kind")
    return value


def _unique(channels: tuple[Channel, ...]) -> tuple[Channel, ...]:
    seen: set[str] = set()
    for channel in channels:
        if channel.name.casefold() in seen:
            raise ValueError(f"two channels are called {channel.name}")
        seen.add(channel.name.casefold())
    return channels


Channels = Annotated[tuple[Channel, ...], BeforeValidator(_list), AfterValidator(_unique)]
"""All entries of `alerts:`, each name once."""
