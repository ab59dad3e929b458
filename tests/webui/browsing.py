"""A real browser on a real server, for tests: Chromium from the system's packages, headless."""

from __future__ import annotations

import os
import re
import shutil
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from flask import Flask, Response
from waitress.server import create_server

from tests.webui.visiting import PASSWORD
from webui.app import create_app

if TYPE_CHECKING:
    from _typeshed.wsgi import WSGIApplication
    from playwright.sync_api import Browser, Locator, Page

AXE = "/axe-for-tests.js"
"""Where a server has axe-core, so that a browser keeps it: sending it to each page costs more."""
# Nothing of the browser's own goes out.
_QUIET = (
    "--no-sandbox", "--disable-background-networking", "--disable-component-update",
    "--disable-default-apps", "--disable-sync", "--no-first-run", "--no-pings",
)  # fmt: skip


@contextmanager
def served(folder: Path, **how: Any) -> Iterator[str]:
    """The address of a server over a vault, on loopback, for as long as the block runs."""
    app = create_app(folder, is_local=True, **how)
    server = create_server(_with_axe(app), host="127.0.0.1", port=0, threads=8)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        server.close()
        app.extensions["work_queue"].wait(60)


def _with_axe(app: Flask) -> WSGIApplication:
    """The viewer, beside which axe-core lies."""
    kept = {"Cache-Control": "max-age=86400"}
    axe = Response(AXE_SCRIPT, headers=kept, mimetype="text/javascript")
    return lambda asked, begin: (axe if asked["PATH_INFO"] == AXE else app)(asked, begin)


@contextmanager
def chromium() -> Iterator[Browser]:
    """The browser. Skips where there is none, but never where all tests have to run."""
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("there is no Chromium, and here it has to be: install the system's package")
        pytest.skip("there is no Chromium on this machine: install the package 'chromium'")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=list(_QUIET))
        try:
            yield browser
        finally:
            browser.close()


class Hand:
    """What a person does at a page, counted: clicks, choices, files, fields that are typed into."""

    def __init__(self) -> None:
        self.acts = 0

    def click(self, thing: Locator) -> None:
        self.acts += 1
        thing.click()

    def fill(self, field: Locator, text: str) -> None:
        self.acts += 1
        field.fill(text)

    def select(self, field: Locator, text: str) -> None:
        self.acts += 1
        field.select_option(label=text)

    def choose(self, field: Locator, file: Path) -> None:
        self.acts += 1
        field.set_input_files(file)


def log_in(page: Page, name: str) -> None:
    page.goto("/log-in")
    page.get_by_label("Account", exact=True).fill(name)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    said = page.locator(".message")
    assert "You are logged in" in said.inner_text()


def go_to(page: Page, name: str) -> None:
    """Follow a link of the navigation, which is folded on a phone."""
    fold = page.get_by_text("Pages", exact=True)
    if fold.is_visible():
        fold.click()
    page.get_by_role("link", name=name, exact=True).click()


def outcome(page: Page) -> str:
    """Wait on the page of a work until that is over."""
    page.get_by_text(re.compile("^(Done|⚠)")).first.wait_for()
    return page.locator("main").inner_text()
