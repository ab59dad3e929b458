"""Connections of the server: so many from one address, and little from who is not logged in.

Waitress keeps a whole body before the application sees anything of its request, so how much a
stranger may send is asked when the headers are there.
"""

from __future__ import annotations

from copy import copy
from functools import partial
from typing import TYPE_CHECKING, Any

from waitress.channel import HTTPChannel
from waitress.parser import HTTPRequestParser
from waitress.server import BaseWSGIServer

from webui.limits import STRANGERS_BODY
from webui.visitors import visitor

if TYPE_CHECKING:
    from collections.abc import Mapping

    from flask import Flask


def bound(dispatchers: Mapping[int, Any], app: Flask, per_address: int | None) -> None:
    """Bound what the servers among some dispatchers take; `per_address` None for no bound."""

    class Parser(HTTPRequestParser):  # type: ignore[misc]
        adj: Any

        def parse_header(self, header_plus: bytes) -> None:
            super().parse_header(header_plus)
            is_large = self.chunked or self.content_length > STRANGERS_BODY
            if is_large and not _is_known(app, self.headers):
                self.adj = copy(self.adj)
                self.adj.max_request_body_size = STRANGERS_BODY

    class Channel(HTTPChannel):  # type: ignore[misc]
        parser_class = Parser

    for server in dispatchers.values():
        if isinstance(server, BaseWSGIServer):
            server.channel_class = partial(_opened, Channel, per_address)


def _opened(
    channel: type[Any], most: int | None, server: Any, conn: Any, addr: Any, adj: Any, map: Any
) -> Any:
    """A channel for a connection; None where its address has as many as it may."""
    if most is not None:
        others = [one for one in list(map.values()) if isinstance(one, HTTPChannel)]
        if sum(one.addr[:1] == addr[:1] for one in others) >= most:
            conn.close()
            return None
    return channel(server, conn, addr, adj, map=map)


def _is_known(app: Flask, headers: Mapping[str, str]) -> bool:
    """Whether somebody with an account sends it."""
    sent = {
        name: headers[key]
        for name, key in (("Cookie", "COOKIE"), ("Authorization", "AUTHORIZATION"))
        if key in headers
    }
    if not sent:
        return False
    with app.test_request_context("/", headers=sent):
        return visitor() is not None
