"""JSON on stdout."""

from __future__ import annotations

from collections.abc import Mapping

from vault.cli.terminal import echo_json


def print_json(document: Mapping[str, object]) -> None:
    """Print one JSON document."""
    echo_json(document, indent=2)
