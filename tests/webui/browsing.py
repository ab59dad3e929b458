"""A real browser on a real server, for tests: Chromium from the system's packages, headless."""

from __future__ import annotations

import os
import re
import shutil
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from flask import Response
from waitress.server import create_server

from tests.webui.visiting import PASSWORD
from webui.app import create_app

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment
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


def _with_axe(app: WSGIApplication) -> WSGIApplication:
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


class Window:
    """The one window in which tests look at vaults: opening one costs more than many pages do.

    It has a tab with scripts and one without. What a test left in them is gone for the next.
    """

    def __init__(self, browser: Browser) -> None:
        self._browser = browser
        self._tabs: dict[bool, Page] = {}
        self._shown: WSGIApplication | None = None
        self._server = create_server(_with_axe(self._answer), host="127.0.0.1", port=0, threads=8)
        threading.Thread(target=self._server.run, daemon=True).start()

    def _answer(self, asked: WSGIEnvironment, begin: StartResponse) -> Iterable[bytes]:
        assert self._shown is not None, "a page asks for something after its test"
        return self._shown(asked, begin)

    @contextmanager
    def over(self, folder: Path, width: int = 1280, has_scripts: bool = True) -> Iterator[Page]:
        """A tab so wide, and a server over a vault for as long as the block runs."""
        assert self._shown is None, "it shows another vault"
        app = create_app(folder, is_local=True)
        self._shown = app
        try:
            tab = self._tabs.pop(has_scripts, None) or self._opened(has_scripts)
            tab.set_viewport_size({"width": width, "height": 850})
            yield tab
            if self._tidied(tab):
                self._tabs[has_scripts] = tab
        finally:
            app.extensions["work_queue"].wait(60)
            self._shown = None

    def _opened(self, has_scripts: bool) -> Page:
        address = f"http://127.0.0.1:{self._server.effective_port}"
        context = self._browser.new_context(base_url=address, java_script_enabled=has_scripts)
        context.set_default_timeout(60_000)
        return context.new_page()

    def _tidied(self, tab: Page) -> bool:
        """Leave nothing of a test; a tab that it closed, or beside which it opened one, is none."""
        if tab.is_closed() or len(tab.context.pages) > 1:
            tab.context.close()
            return False
        tab.context.clear_cookies()
        tab.unroute_all(behavior="ignoreErrors")
        tab.goto("/healthz")
        tab.evaluate("sessionStorage.clear(); localStorage.clear()")
        return True

    def close(self) -> None:
        self._server.close()


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
    page.wait_for_load_state("load")  # with its style, by which a desk has nothing folded
    fold = page.get_by_text("Pages", exact=True)
    if fold.is_visible():
        fold.click()
    page.get_by_role("link", name=name, exact=True).click()


def sideways(page: Page) -> int:
    """How far a page can be scrolled sideways, in CSS pixels; needs no script of the page."""
    page.wait_for_load_state("load")  # with its style
    beyond = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    found: int = page.evaluate(beyond)
    return found


def outcome(page: Page) -> str:
    """Wait on the page of a work until that is over."""
    page.get_by_text(re.compile("^(Done|⚠)")).first.wait_for()
    return page.locator("main").inner_text()
