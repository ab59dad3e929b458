"""JSON on stdout."""

from __future__ import annotations

import json
from collections.abc import Mapping

import click


def print_json(document: Mapping[str, object]) -> None:
    """Print one JSON document."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2))
