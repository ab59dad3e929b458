"""The viewer served by waitress: several threads, an access log on stderr, a graceful stop."""

from __future__ import annotations

import logging
import signal
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from time import monotonic
from typing import Any

from webui import create_app

_THREADS = 8
Wsgi = Callable[..., Iterable[bytes]]


def serve(folder: Path, host: str, port: int, started: Callable[[str], None]) -> None:
    """Serve until SIGINT or SIGTERM; requests that are under way are answered first.

    Raises OSError where the address cannot be listened on.
    """
    from waitress.server import create_server  # type: ignore[import-untyped]

    logging.getLogger("waitress").setLevel(logging.WARNING)
    server = create_server(
        logged(create_app(folder)), host=host, port=port, threads=_THREADS, ident=None,
        max_request_body_size=32 * 1024 * 1024, channel_timeout=30,
    )  # fmt: skip
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _stop)
    started(f"http://{host}:{server.effective_port}/")
    try:
        server.run()
    finally:
        server.close()


def _stop(_number: int, _frame: object) -> None:
    raise KeyboardInterrupt  # waitress ends its loop and waits for its threads


def logged(app: Wsgi) -> Wsgi:
    """Write a line for every answer: who, what, how it went, how long it took."""

    def call(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        begun = monotonic()

        def start(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
            took = 1000 * (monotonic() - begun)
            path = environ["PATH_INFO"].encode("latin-1").decode("utf-8", "backslashreplace")
            printable = "".join(c if c.isprintable() else "?" for c in path)
            line = f"{environ.get('REMOTE_ADDR', '-')} {environ['REQUEST_METHOD']} {printable} "
            print(f"{line}{status[:3]} {took:.0f} ms", file=sys.stderr, flush=True)
            return start_response(status, headers, *rest)

        return app(environ, start)

    return call
