"""A vault with the family hazel for whoever logs in, and the viewer over it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from flask import Flask

from tests.webui import hostile
from tests.webui.browsing import chromium
from tests.webui.visiting import add_people
from webui.app import create_app

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


@pytest.fixture
def plant_folder(works: Path, tmp_path: Path) -> Path:
    """A copy of the vault that `axisvault demo` builds, with an account of each role."""
    folder = tmp_path / "plant"
    shutil.copytree(works, folder)
    add_people(folder)
    return folder


@pytest.fixture
def folder(tmp_path: Path, family_text: str, export_text: Callable[..., str]) -> Path:
    return hostile.made(tmp_path, family_text, export_text)


@pytest.fixture
def app(folder: Path) -> Iterator[Flask]:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)
