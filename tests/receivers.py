"""Real receivers of alerts on this computer's loopback, on ports that the system chooses.

Each stops by itself at the end of its `with`. Plants, people and alerts are invented.
"""

from __future__ import annotations

import asyncio
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from aiosmtpd.smtp import SMTP
from pydantic import TypeAdapter

from vault.model.alert_channels import Channel
from vault.model.alerts import Alert
from vault.store.local.outbox import Outbox
from vault.store.local.secrets import Secrets

PATIENCE = 60.0
"""Seconds until a test that waits for something fails; nothing is expected to take that long."""
SITE = "Tile works, hall 2 (invented)"
_CHANNEL: TypeAdapter[Any] = TypeAdapter(Channel)


class Clock:
    """A clock that stands still until it is told to go on."""

    def __init__(self) -> None:
        self.moment = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.moment

    def go_on(self, **by: float) -> None:
        self.moment += timedelta(**by)


def an_alert(number: int | str = 1, **more: Any) -> Alert:
    given: dict[str, Any] = {
        "id": f"glaze-line-1.lift.{number}",
        "axis": "glaze-line-1/lift",
        "status": "drifted",
        "time": datetime(2026, 3, 1, 7, 30, tzinfo=UTC),
        "worst": "hazard",
        "subject": f"glaze-line-1/lift drifted ({number})",
        "sentences": ("Following error window: 2 mm became 20 mm (10 times as much).",),
        "links": ("http://vault.tileworks.example/axes/glaze-line-1/lift",),
        "snapshot": "0123456789abcdef0123456789abcdef01234567",
        "golden": "76543210fedcba9876543210fedcba9876543210",
    }
    return Alert(**{**given, **more})


def a_channel(**entry: Any) -> Any:
    """A channel as the entry of vault.yaml would give it."""
    return _CHANNEL.validate_python({"name": entry["kind"], "timeout": 20, **entry})


def secrets(folder: Path, **environment: str) -> Secrets:
    return Secrets(folder / "plant", environment, folders=(folder.resolve(),))


def announce(state: Path, channels: list[Any], *alerts: Alert, clock: Clock) -> None:
    with Outbox(state, clock) as outbox:
        for channel in channels:
            outbox.confirm(channel, "Mira Okafor <mira@tileworks.example>", channel.folder)
        outbox.announce("glaze-line-1/lift", "{}", alerts, channels)


@dataclass
class WebServer:
    """A web server.

    `answer` is a status, "hang" (until `release`, for nothing), "late" (200 after `release`) or
    "drip" (a byte at a time).
    """

    port: int = 0
    answer: int | str = 200
    headers: dict[str, str] = field(default_factory=dict)
    requests: list[tuple[dict[str, str], bytes]] = field(default_factory=list)
    reached: threading.Event = field(default_factory=threading.Event)
    release: threading.Event = field(default_factory=threading.Event)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.port}/alerts"


@contextmanager
def web_server() -> Iterator[WebServer]:
    seen = WebServer()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            answer = seen.answer
            seen.requests.append((dict(self.headers.items()), body))
            seen.reached.set()
            if answer == "drip":
                self.wfile.write(b"HTTP/1.1 200 OK\r\nX-Slow: ")
                while not seen.release.wait(0.02):
                    self.wfile.write(b"x")
                return
            if answer == "hang":
                seen.release.wait(PATIENCE)
                return
            if answer == "late":
                seen.release.wait(PATIENCE)
                answer = 200
            self.send_response(int(answer))
            for name, value in seen.headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", "0")
            self.end_headers()

        do_GET = do_POST  # noqa: N815

        def log_message(self, *_: Any) -> None:
            pass

    class Server(ThreadingHTTPServer):
        daemon_threads = True
        block_on_close = False

        def handle_error(self, *_: Any) -> None:
            pass  # a client that was killed, or let go

    server = Server(("127.0.0.1", 0), Handler)
    seen.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield seen
    finally:
        seen.release.set()
        server.shutdown()
        server.server_close()
        thread.join(PATIENCE)


@dataclass
class MailRelay:
    """A mail relay; `refuses` maps recipients to what it answers."""

    port: int = 0
    refuses: dict[str, str] = field(default_factory=dict)
    answer: str = "250 taken"
    mails: list[tuple[list[str], bytes]] = field(default_factory=list)

    async def handle_RCPT(  # noqa: N802
        self, server: Any, session: Any, envelope: Any, address: str, options: Any
    ) -> str:
        if address in self.refuses:
            return self.refuses[address]
        envelope.rcpt_tos.append(address)
        return "250 good"

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802
        if self.answer.startswith("250"):
            self.mails.append((list(envelope.rcpt_tos), envelope.content))
        return self.answer


@contextmanager
def mail_relay(**how: Any) -> Iterator[MailRelay]:
    """A relay by aiosmtpd; `how` goes to its SMTP class."""
    seen = MailRelay()
    loop = asyncio.new_event_loop()

    def serve() -> None:
        asyncio.set_event_loop(loop)
        loop.run_forever()

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()

    async def start() -> asyncio.Server:
        return await loop.create_server(
            lambda: SMTP(seen, hostname="relay.example", loop=loop, **how), "127.0.0.1", 0
        )

    server = asyncio.run_coroutine_threadsafe(start(), loop).result(PATIENCE)
    seen.port = server.sockets[0].getsockname()[1]
    try:
        yield seen
    finally:
        loop.call_soon_threadsafe(server.close)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(PATIENCE)
        loop.close()


@contextmanager
def syslog_listener() -> Iterator[socket.socket]:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as listener:
        listener.bind(("127.0.0.1", 0))
        listener.settimeout(PATIENCE)
        yield listener


def free_port(kind: int = socket.SOCK_STREAM) -> int:
    """A port at which nobody listens."""
    with socket.socket(socket.AF_INET, kind) as taken:
        taken.bind(("127.0.0.1", 0))
        port: int = taken.getsockname()[1]
        return port
