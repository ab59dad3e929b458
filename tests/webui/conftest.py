"""A vault with the family hazel for whoever logs in, and the viewer over it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from flask import Flask

from tests.webui import hostile
from webui.app import create_app


@pytest.fixture
def folder(tmp_path: Path, family_text: str, export_text: Callable[..., str]) -> Path:
    return hostile.made(tmp_path, family_text, export_text)


@pytest.fixture
def app(folder: Path) -> Iterator[Flask]:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)
