"""A vault with the family hazel for whoever logs in, and the viewer over it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from flask import Flask

from tests.conftest import BY
from tests.webui import hostile
from tests.webui.browsing import Window, chromium, log_in, served
from tests.webui.visiting import add_people
from vault.jobs.baseline.golden import approve, waive
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.demo.controllers import add_controllers
from vault.jobs.demo.lived_in import keep_trials, record_traces
from vault.store.clock import now
from vault.store.vault import Vault
from webui.app import create_app

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The one browser of a run; a test has a context of its own in it, or a page of all of them."""
    with chromium() as found:
        yield found


@pytest.fixture(scope="session")
def window(browser: Browser) -> Iterator[Window]:
    made = Window(browser)
    yield made
    made.close()


@pytest.fixture(scope="session")
def furnished(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo's vault in which an axis is approved and drifts, with an account a role.

    For tests that visit its pages: what one of them leaves there, the next may find.
    """
    folder = tmp_path_factory.mktemp("furnished") / "plant"
    shutil.copytree(works, folder)
    add_controllers(folder, lambda done, wanted: None)
    add_people(folder)
    with Vault.open(folder) as vault:
        keep_trials(vault)
        record_traces(vault)
        approve(vault, "glaze-line-2/lift:controller@first", BY, "built")
        approve(vault, "kiln-loader/hoist@first", BY, "as delivered")
        until = f"{now() + timedelta(days=9):%Y-%m-%d}"
        asked = parse_waiver_request("mov-133", allow="any", until=until, reason="worn")
        waive(vault, vault.address("kiln-loader/hoist"), asked, BY)
    return folder


@pytest.fixture(scope="session")
def page_of_all(browser: Browser, furnished: Path) -> Iterator[Page]:
    """A page of somebody who is logged in and may do everything, for whoever visits every page."""
    with served(furnished) as address:
        context = browser.new_context(base_url=address)
        page = context.new_page()
        log_in(page, "admin")
        yield page
        context.close()


@pytest.fixture
def page(page_of_all: Page) -> Page:
    """The page of all, as it was opened: on a desk, in the light, on a screen."""
    page_of_all.emulate_media(media="null", color_scheme="light")
    page_of_all.set_viewport_size({"width": 1280, "height": 720})
    return page_of_all


@pytest.fixture(scope="session")
def peopled(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vault that `axisvault demo` builds, with an account of each role, for copying only."""
    folder = tmp_path_factory.mktemp("peopled") / "plant"
    shutil.copytree(works, folder)
    add_people(folder)
    return folder


@pytest.fixture
def plant_folder(peopled: Path, tmp_path: Path) -> Path:
    """A copy of the vault that `axisvault demo` builds, with an account of each role."""
    return Path(shutil.copytree(peopled, tmp_path / "plant"))


@pytest.fixture(scope="session")
def with_axes(
    tmp_path_factory: pytest.TempPathFactory, family_text: str, export_text: Callable[..., str]
) -> Path:
    """Where `hostile.made` made a vault, for copying only."""
    place = tmp_path_factory.mktemp("axes")
    hostile.made(place, family_text, export_text)
    return place


@pytest.fixture
def folder(with_axes: Path, tmp_path: Path) -> Path:
    shutil.copytree(with_axes, tmp_path, dirs_exist_ok=True)
    return tmp_path / "plant"


@pytest.fixture
def app(folder: Path) -> Iterator[Flask]:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)
