"""Who reads and who writes, a thread each: they keep to their plan, or are late where they wait."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random
from threading import Event

from tests.bench.measure import CHECKOUT
from tests.load.browser import Answer, Browser, NoAnswer, form_of
from tests.load.fleet import PASSWORD, NewExport, NewExports, person
from tests.load.pages import choices, fault_of
from tests.load.tally import Tally, Written
from vault.model.names import Address

FILES = "style and scripts"
"""Kind of what a page is shown with."""
WAYS = ("browser", "command line")
_LONGEST_COMMAND = 300.0
_LOOK_AGAIN = 1.0  # seconds after which the page of work asks how far it is, as work.js does
_LOOKS = 300


class _NotStored(Exception):
    """An export is not stored; why."""


@dataclass(frozen=True, slots=True)
class Pace:
    """Something every so many seconds, first after `begin`, until `end` or until all is stopped.

    It is done `least` times, however late that becomes.
    """

    every: float
    begin: float
    end: float
    stop: Event
    least: int = 0

    def turns(self, tally: Tally) -> Iterator[int]:
        """The number of each turn, when it is time for it; who is late asks at once, and goes on
        from there.
        """
        number, due = 0, self.begin
        while due < self.end or number < self.least:
            if self.stop.wait(max(0.0, due - tally.now)):
                return
            yield number
            number, due = number + 1, due + self.every
            if tally.now > due:
                tally.was_late()
                due = tally.now


def read(port: int, axes: Sequence[Address], chance: Random, pace: Pace, tally: Tally) -> None:
    """Ask for one page after the other, each with its style and scripts."""
    browser = Browser(port)
    wanted = choices(chance, axes)
    for _ in pace.turns(tally):
        kind, address = next(wanted)
        try:
            _turn_to(browser, kind, address, tally)
        except NoAnswer as error:
            tally.fault(str(error))
        except Exception as error:  # else a reader would be gone without a word
            tally.fault(f"GET {address}: {error!r}")
    browser.close()


def _turn_to(browser: Browser, kind: str, address: str, tally: Tally) -> None:
    page = _noted(browser.get, address, kind, tally)
    if page.kind != "text/html":
        return
    for file in browser.files_of(page):
        if file.status not in (200, 304):
            tally.fault(f"GET {file.address}: {file.status}")
        tally.answered(FILES, tally.now, file.seconds)


def _noted(get: Callable[[str], Answer], address: str, kind: str, tally: Tally) -> Answer:
    at = tally.now
    page = get(address)
    if wrong := fault_of(page):
        tally.fault(f"GET {address}: {wrong}")
    else:
        tally.answered(kind, at, page.seconds)
    return page


@dataclass(frozen=True, slots=True)
class Writer:
    """Somebody who takes exports in: their number of so many, and the way they do it."""

    number: int
    of: int

    @property
    def name(self) -> str:
        """What they are called."""
        return f"writer-{self.number + 1}"

    @property
    def way(self) -> str:
        """In a browser, or on the command line: by turns."""
        return WAYS[self.number % len(WAYS)]

    def write(self, port: int, folder: Path, exports: NewExports, pace: Pace, tally: Tally) -> None:
        """Take one export after the other in; all writers together leave out none."""
        browser = Browser(port)
        is_logged_in = False
        for turn in pace.turns(tally):
            new, at = exports.at(turn * self.of + self.number), tally.now
            snapshot = None
            try:
                if self.way == WAYS[1]:
                    snapshot = _by_command(folder, self.name, new)
                else:
                    if not is_logged_in:
                        _log_in(browser, self.name)
                        is_logged_in = True
                    snapshot = _by_browser(browser, new, pace.stop)
            except (NoAnswer, _NotStored) as error:
                tally.fault(f"{new.axis} by {self.way}: {error}")
            except Exception as error:  # else a writer would be gone without a word
                tally.fault(f"{new.axis} by {self.way}: {error!r}")
            took = tally.now - at
            tally.wrote(Written(str(new.axis), new.digest, self.way, at, took, snapshot))
        browser.close()


def _by_command(folder: Path, name: str, new: NewExport) -> str:
    """The snapshot that `axisvault ingest` made of it. Raises _NotStored."""
    file = folder / f"{name}.csv"
    file.write_bytes(new.export.content)
    command = [sys.executable, "-m", "vault", "--vault", str(folder / "vault"), "ingest", str(file)]
    command += ["--to", str(new.axis), "--taken-at", str(new.export.day), "--json"]
    settings = {**os.environ, "AXISVAULT_BY": person(name)}
    try:
        done = subprocess.run(
            command, cwd=CHECKOUT, env=settings, capture_output=True, text=True,
            timeout=_LONGEST_COMMAND,
        )  # fmt: skip
    except subprocess.TimeoutExpired as error:
        raise _NotStored(f"the command did not end in {_LONGEST_COMMAND:g} s") from error
    if done.returncode:
        raise _NotStored(f"the command left with {done.returncode}: {done.stderr.strip()[-300:]}")
    return str(json.loads(done.stdout)["snapshot"])


def _log_in(browser: Browser, name: str) -> None:
    form = form_of(browser.get("/log-in"), "/log-in")
    page = browser.send(form, {"name": name, "password": PASSWORD})
    if page.status != 200 or "You are logged in" not in page.text:
        raise _NotStored(f"{name} cannot log in: {page.status}")


def _by_browser(browser: Browser, new: NewExport, stop: Event) -> str:
    """Send it by the form, look at what it would change, store it, and wait until it is done."""
    chosen = form_of(_page(browser.get("/take-in")), "/take-in")
    files = {"export": (new.export.path.name, new.export.content)}
    looked = _page(browser.send(chosen, {"axis": str(new.axis)}, files))
    form = form_of(looked, looked.address)
    taken = next(name for name in form.fields if name.startswith("taken_at-"))
    begun = _page(browser.send(form, {taken: str(new.export.day), "do": "store"}))
    for _ in range(_LOOKS):
        answer = browser.get(f"/api/v1{begun.address}")
        if answer.status != 200:
            raise _NotStored(f"{begun.address} answers {answer.status}")
        work = json.loads(answer.content)
        if work["ended"] or work["state"] == "stopped":
            return _stored(work)
        if stop.wait(_LOOK_AGAIN):
            break
    raise _NotStored("storing did not end")


def _stored(work: dict[str, object]) -> str:
    data = work["data"]
    assert isinstance(data, dict)
    if work["state"] != "done" or data["left"] or len(data["stored"]) != 1:
        raise _NotStored(f"{work['state']}: {work['sentences']}")
    return str(data["stored"][0]["snapshot"])


def _page(answer: Answer) -> Answer:
    if wrong := fault_of(answer):
        raise _NotStored(f"{answer.address}: {wrong}")
    return answer
