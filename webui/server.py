"""The viewer served by waitress: several threads, an access log on stderr, a graceful stop."""

from __future__ import annotations

import logging
import signal
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from time import monotonic
from typing import Any

from vault.model.visible_text import STAND_IN, log_line, visible
from webui.app import LARGEST_REQUEST, create_app

_THREADS = 8
_IDLE_SECONDS = 30  # a request that sends nothing for so long is dropped; it held no thread
_CONNECTIONS = 800  # those that are silent too, so that a hundred of them shut nobody out
_PER_ADDRESS = 400  # half of them, so that one address leaves room for the others
_HEADER_BYTES = 32 * 1024
Wsgi = Callable[..., Iterable[bytes]]


def serve(
    folder: Path,
    host: str,
    port: int,
    started: Callable[[str], None],
    *,
    is_local: bool = True,
    proxies: int = 0,
    most_work: int | None = None,
) -> None:
    """Serve until SIGINT or SIGTERM; requests and work that are under way are ended first.

    Work gets ten seconds; taking in goes on where it was when it is asked for again. Raises OSError
    where the address cannot be listened on.
    """
    from flask.logging import default_handler
    from waitress.server import create_server

    from webui.connections import bound

    app = create_app(folder, is_local=is_local, proxies=proxies, most_work=most_work)
    logging.getLogger("waitress").setLevel(logging.WARNING)
    default_handler.setFormatter(_Visible("[%(asctime)s] %(levelname)s in %(module)s: %(message)s"))
    app.logger.addHandler(default_handler)
    logging.getLogger("waitress").addHandler(default_handler)
    dispatchers: dict[int, Any] = {}
    server = create_server(
        logged(app), map=dispatchers, host=host, port=port, threads=_THREADS, ident=None,
        max_request_body_size=LARGEST_REQUEST, channel_timeout=_IDLE_SECONDS,
        connection_limit=_CONNECTIONS, asyncore_use_poll=True,
        max_request_header_size=_HEADER_BYTES,
    )  # fmt: skip
    bound(dispatchers, app, None if proxies else _PER_ADDRESS)  # behind one all have its address
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _stop)
    shown = f"[{host}]" if ":" in host else host
    started(f"http://{shown}:{server.effective_port}/")
    try:
        server.run()
    finally:
        server.close()
        app.extensions["work_queue"].wait(10)
        app.extensions["vaults"].close()


class _Visible(logging.Formatter):
    """Lines of the log that others had a say in, such as the text of an error."""

    def format(self, record: logging.LogRecord) -> str:
        """The record in words, with a mark for what would do something unseen."""
        return visible(super().format(record)).replace("\r", STAND_IN)


def _stop(_number: int, _frame: object) -> None:
    raise KeyboardInterrupt  # waitress ends its loop and waits for its threads


def logged(app: Wsgi) -> Wsgi:
    """Write a line for every answer: who, what, how it went, how long it took."""

    def call(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        begun = monotonic()

        def start(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
            took = 1000 * (monotonic() - begun)
            path = environ["PATH_INFO"].encode("latin-1").decode("utf-8", "backslashreplace")
            line = f"{environ.get('REMOTE_ADDR', '-')} {environ['REQUEST_METHOD']} {path} "
            print(f"{log_line(line)}{status[:3]} {took:.0f} ms", file=sys.stderr, flush=True)
            return start_response(status, headers, *rest)

        return app(environ, start)

    return call
