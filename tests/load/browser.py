"""A browser without scripts: it keeps its connection and cookies, fetches style and scripts as
their headers say, fills in forms and sends them, and follows where it is sent.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from html.parser import HTMLParser
from http.client import HTTPConnection, HTTPException, HTTPResponse
from http.cookies import SimpleCookie
from time import monotonic
from urllib.parse import urlencode
from uuid import uuid4

_PATIENCE = 120.0  # seconds until a browser says that the server does not answer
_STALE = 20.0  # seconds after which the server may have closed a connection that lies idle
_MOST_STEPS = 5  # that one is sent on


class NoAnswer(Exception):
    """The server did not answer, or not to its end."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back: where from, its status, its bytes, and the seconds until the last of them."""

    address: str
    status: int
    content: bytes
    kind: str
    seconds: float
    goes_on: str = ""
    tag: str = ""
    stays: bool = False
    """Whether a browser keeps it for longer than any run (RFC 8246)."""

    @property
    def text(self) -> str:
        """The bytes as text."""
        return self.content.decode()


@dataclass(slots=True)
class PageForm:
    """A form of a page: where it is sent, and its fields as they stand."""

    action: str
    is_multipart: bool
    fields: dict[str, str] = field(default_factory=dict)


class _Reader(HTMLParser):
    """The forms of a page, and the files that it is shown with."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self.files: list[str] = []
        self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = {name: value or "" for name, value in attrs}
        match tag:
            case "link" if said.get("rel") == "stylesheet":
                self.files.append(said["href"])
            case "script" if "src" in said:
                self.files.append(said["src"])
            case "form":
                kind = said.get("enctype", "")
                self.forms.append(PageForm(said.get("action", ""), kind.startswith("multipart")))
            case "input" if self.forms and said.get("type") not in ("checkbox", "file"):
                if name := said.get("name"):
                    self.forms[-1].fields[name] = said.get("value", "")
            case "select":
                self._select = said.get("name", "")
            case "option" if self.forms and self._select and "selected" in said:
                self.forms[-1].fields[self._select] = said.get("value", "")


def form_of(page: Answer, action: str) -> PageForm:
    """The form of a page that is sent to an address. Raises NoAnswer where there is none."""
    reader = _Reader()
    reader.feed(page.text)
    for form in reader.forms:
        if form.action == action:
            return form
    raise NoAnswer(f"{page.address} has no form for {action}: {page.status}")


class Browser:
    """One person's browser. Raises NoAnswer where the server does not answer."""

    def __init__(self, port: int) -> None:
        self._link = HTTPConnection("127.0.0.1", port, timeout=_PATIENCE)
        self._used = monotonic()
        self._cookies = SimpleCookie()
        self._tags: dict[str, str] = {}
        self._fresh: set[str] = set()

    def close(self) -> None:
        """Close the connection."""
        self._link.close()

    def get(self, address: str, headers: Mapping[str, str] | None = None) -> Answer:
        """What lies at an address, as it is answered."""
        return self._asked("GET", address, None, dict(headers or {}))

    def files_of(self, page: Answer) -> list[Answer]:
        """Style and scripts of a page, but for those that need not be asked for again."""
        reader = _Reader()
        reader.feed(page.text)
        answers = []
        for address in dict.fromkeys(reader.files):
            if address in self._fresh:
                continue
            tag = self._tags.get(address)
            answer = self.get(address, {"If-None-Match": tag} if tag else None)
            if answer.tag:
                self._tags[address] = answer.tag
            if answer.stays:
                self._fresh.add(address)
            answers.append(answer)
        return answers

    def send(
        self,
        form: PageForm,
        fields: Mapping[str, str],
        files: Mapping[str, tuple[str, bytes]] | None = None,
    ) -> Answer:
        """Fill a form in, send it, and follow to the page that it leads to."""
        filled = {**form.fields, **fields}
        if form.is_multipart:
            kind, body = multipart(filled, files or {})
        else:
            kind, body = "application/x-www-form-urlencoded", urlencode(filled).encode()
        answer = self._asked("POST", form.action, body, {"Content-Type": kind})
        for _ in range(_MOST_STEPS):
            if not answer.goes_on:
                break
            answer = self.get(answer.goes_on)
        return answer

    def _asked(
        self, method: str, address: str, body: bytes | None, headers: dict[str, str]
    ) -> Answer:
        if monotonic() - self._used > _STALE:
            self._link.close()
        if self._cookies:
            pairs = (f"{name}={kept.value}" for name, kept in self._cookies.items())
            headers["Cookie"] = "; ".join(pairs)
        begun = monotonic()
        try:
            self._link.request(method, address, body, headers)
            came = self._link.getresponse()
            content = came.read()
        except (OSError, HTTPException) as error:
            self._link.close()
            raise NoAnswer(f"{method} {address}: {error!r}") from error
        self._used = monotonic()
        return self._kept(address, came, content, self._used - begun)

    def _kept(self, address: str, came: HTTPResponse, content: bytes, seconds: float) -> Answer:
        for line in came.headers.get_all("Set-Cookie") or ():
            self._cookies.load(line)
        leads_on = came.status in (301, 302, 303, 307, 308)
        return Answer(
            address,
            came.status,
            content,
            came.headers.get_content_type(),
            seconds,
            came.headers["Location"] if leads_on else "",
            came.headers.get("ETag", ""),
            "immutable" in came.headers.get("Cache-Control", ""),
        )


def multipart(
    fields: Mapping[str, str], files: Mapping[str, tuple[str, bytes]]
) -> tuple[str, bytes]:
    """Content type and body of a form with files, as RFC 7578 writes it."""
    edge = uuid4().hex
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
        for name, text in fields.items()
    ]
    for name, (file, content) in files.items():
        head = f'Content-Disposition: form-data; name="{name}"; filename="{file}"'
        parts += [f"--{edge}\r\n{head}\r\n\r\n".encode(), content, b"\r\n"]
    return f"multipart/form-data; boundary={edge}", b"".join((*parts, f"--{edge}--\r\n".encode()))
