"""What scripts add, in a real browser: files dropped, fields kept, progress; and all without them.

Invented data.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.webui.browsing import Window, log_in
from tests.webui.visiting import PASSWORD, add_people
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault
from webui.background_work import Outcome, WorkQueue

if TYPE_CHECKING:
    from playwright.sync_api import Dialog, Page

HOIST = "kiln-loader/hoist"
# Drops files with names onto what a selector finds, as a hand would.
_DROP = """([selector, names]) => {
  const data = new DataTransfer();
  for (const name of names) data.items.add(new File([name], name));
  const place = document.querySelector(selector);
  for (const kind of ["dragover", "drop"]) {
    const event = new DragEvent(kind, {dataTransfer: data, bubbles: true, cancelable: true});
    if (!place.dispatchEvent(event)) continue;
    return `${kind} was left to the browser`;
  }
  return "";
}"""
_CHOSEN = "one => [...one.files].map(file => file.name)"


@pytest.fixture(scope="module")
def folder(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("comfort") / "plant"
    shutil.copytree(works, folder)
    add_people(folder)
    return folder


@pytest.fixture
def page(window: Window, folder: Path) -> Iterator[Page]:
    with window.over(folder) as tab:
        log_in(tab, "technician")
        yield tab


@pytest.fixture
def plain(window: Window, folder: Path) -> Iterator[Page]:
    """The same without scripts."""
    with window.over(folder, has_scripts=False) as tab:
        log_in(tab, "technician")
        yield tab


@pytest.mark.parametrize("address", ["/take-in", "/draft"])
def test_files_dropped_one_after_another_are_all_chosen_and_named(page: Page, address: str) -> None:
    page.goto(address)
    assert page.evaluate(_DROP, [".drop", ["a.csv", "b.csv"]]) == ""
    assert page.evaluate(_DROP, [".drop", ["b.csv", "c.csv"]]) == ""
    assert page.locator(".drop input").evaluate(_CHOSEN)[-1] == "c.csv"
    names = page.locator(".drop + .files li").all_inner_texts()
    assert names == page.locator(".drop input").evaluate(_CHOSEN)
    assert page.locator(".files").first.get_attribute("role") == "status"


def test_a_field_for_one_file_takes_the_first_and_says_so(page: Page) -> None:
    page.goto(f"/restore/{HOIST}/check")
    assert page.evaluate(_DROP, [".drop", ["left.csv", "other.csv"]]) == ""
    assert page.locator(".drop input").evaluate(_CHOSEN) == ["left.csv"]
    assert page.locator(".files").inner_text() == "One file is taken: left.csv"


def test_a_file_dropped_beside_the_field_does_not_replace_the_page(page: Page) -> None:
    page.goto("/take-in")
    assert page.evaluate(_DROP, ["h1", ["a.csv"]]) == ""
    assert page.locator(".drop input").evaluate(_CHOSEN) == []


def test_a_dropped_file_goes_on_as_a_chosen_one(page: Page) -> None:
    page.goto("/take-in")
    page.evaluate(_DROP, [".drop", ["holiday.csv"]])
    page.get_by_role("button", name="Look at them").click()
    page.wait_for_url("**/take-in/*")
    assert "holiday.csv" in page.locator("main").inner_text()


def test_what_is_filled_in_is_there_again_after_another_page(page: Page) -> None:
    page.goto("/take-in")
    page.get_by_label("Note").fill("after the storm")
    page.get_by_label("Occasion").select_option("as-found")
    page.get_by_role("link", name="Families").click()
    page.wait_for_url("**/families")
    page.goto("/take-in")
    assert page.get_by_label("Note").input_value() == "after the storm"
    assert page.get_by_label("Occasion").input_value() == "as-found"
    told = page.locator(".message")
    assert told.inner_text().startswith("2 fields are as you left them, and not sent yet.")
    told.get_by_role("button", name="As they were before").click()
    assert page.get_by_label("Note").input_value() == ""
    assert page.get_by_label("Occasion").input_value() == "routine"
    page.reload()
    assert page.locator(".message").count() == 0


def test_a_tick_on_the_sheet_that_was_not_kept_is_there_again(page: Page) -> None:
    page.goto("/restore/glaze-line-1/belt-feed")
    page.get_by_role("button", name="Make the plan").click()
    page.wait_for_url("**/plan/*")
    box = page.locator(".sheet-part input[type=checkbox]").first
    box.check()
    page.goto("/families")
    page.go_back()
    page.locator(".message").filter(has_text="not sent yet").wait_for()
    assert box.is_checked()
    page.get_by_role("button", name="Keep the ticks").click()
    page.get_by_text("The ticks are kept").wait_for()
    assert box.is_checked()
    assert page.locator(".message").count() == 1  # nothing is unsent any more


def test_what_was_sent_is_not_put_back(page: Page, tmp_path: Path) -> None:
    (tmp_path / "holiday.csv").write_text("no export\n")
    page.goto("/take-in")
    page.get_by_label("Note").fill("sent with it")
    page.get_by_label("Exports", exact=True).set_input_files(tmp_path / "holiday.csv")
    page.get_by_role("button", name="Look at them").click()
    page.wait_for_url("**/take-in/*")
    page.goto("/take-in")
    assert page.get_by_label("Note").input_value() == ""
    assert page.locator(".message").count() == 0


def test_what_did_not_arrive_is_put_back(page: Page, tmp_path: Path) -> None:
    """At the cabinet the network is away when the form is sent."""
    (tmp_path / "holiday.csv").write_text("no export\n")
    page.goto("/take-in")
    page.get_by_label("Note").fill("typed in the cellar")
    page.get_by_label("Exports", exact=True).set_input_files(tmp_path / "holiday.csv")
    page.context.set_offline(True)
    page.get_by_role("button", name="Look at them").click()
    page.wait_for_url("chrome-error://**")
    page.context.set_offline(False)
    page.goto("/take-in")
    assert page.get_by_label("Note").input_value() == "typed in the cellar"


def test_no_password_is_kept_and_logging_out_forgets_all(page: Page) -> None:
    page.goto("/take-in")
    page.get_by_label("Note").fill("mine")
    page.get_by_role("link", name="Tomas Quillfeather").click()
    page.get_by_label("Present password").fill(PASSWORD)
    kept = "Object.entries(sessionStorage).flat().join(' ')"
    assert "mine" in page.evaluate(kept)
    assert PASSWORD not in page.evaluate(kept)
    page.get_by_role("button", name="Log out").click()
    page.wait_for_load_state()
    assert "mine" not in page.evaluate(kept)


def test_what_one_person_typed_is_not_shown_to_the_next(page: Page) -> None:
    page.goto("/take-in")
    page.get_by_label("Note").fill("of the technician")
    page.context.clear_cookies()
    page.goto("/families")
    log_in(page, "approver")
    page.goto("/take-in")
    assert page.get_by_label("Note").input_value() == ""


@pytest.mark.parametrize(
    ("change", "warns"),
    [
        (lambda page, file: None, False),
        (lambda page, file: page.get_by_label("Note").fill("lost"), True),
        (lambda page, file: page.get_by_label("Exports", exact=True).set_input_files(file), True),
    ],
    ids=["nothing", "a text", "a file"],
)
def test_closing_warns_only_where_something_would_be_lost(
    page: Page, tmp_path: Path, change: Callable[[Page, Path], None], warns: bool
) -> None:
    asked: list[str] = []

    def answered(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.accept()

    page.goto("/take-in")
    page.locator("h1").click()  # a browser asks only where somebody has touched the page
    (tmp_path / "a.csv").write_text("x")
    change(page, tmp_path / "a.csv")
    page.on("dialog", answered)
    page.close(run_before_unload=True)
    page.context.new_page().goto("/healthz")  # the answer has come by then
    assert asked == ["beforeunload"] * warns


@dataclass
class SlowWork:
    """Work that goes on, from 1 to 2 of 4, until it is told to."""

    folder: Path
    at_two: threading.Event = field(default_factory=threading.Event)
    at_end: threading.Event = field(default_factory=threading.Event)

    def begin(self) -> str:
        """Begin it, and give its address."""
        with Accounts(self.folder / "axisvault") as accounts:
            account = next(one for one in accounts.all() if one.name == "technician")
        return f"/work/{WorkQueue(self.folder).start('Slow work', account, self.task).id}"

    def task(self, vault: Vault, place: Path, progress: Callable[[int, int], None]) -> Outcome:
        progress(1, 4)
        self.at_two.wait(60)
        while not self.at_end.wait(0.4):
            progress(2, 4)
        return Outcome(("It came to an end.",))


@pytest.fixture
def slow(folder: Path) -> Iterator[SlowWork]:
    work = SlowWork(folder)
    yield work
    work.at_two.set()
    work.at_end.set()


def test_progress_is_seen_without_loading_the_page_anew(page: Page, slow: SlowWork) -> None:
    page.goto(slow.begin())
    page.evaluate("window.isTheSame = true")
    page.get_by_text("It is under way: 1 of 4.").wait_for()
    slow.at_two.set()
    page.locator("main").get_by_text("It is under way: 2 of 4.").wait_for()
    assert page.get_by_text("It is under way: 1 of 4.").count() == 0
    assert page.locator("progress").evaluate("bar => [bar.value, bar.max]") == [2, 4]
    assert page.evaluate("window.isTheSame") is True
    slow.at_end.set()
    page.get_by_text("It came to an end.").wait_for()
    assert page.locator("progress").count() == 0


def test_progress_is_seen_without_scripts_too(plain: Page, slow: SlowWork) -> None:
    plain.goto(slow.begin())
    slow.at_two.set()
    plain.get_by_text("It is under way: 2 of 4.").wait_for()
    slow.at_end.set()
    plain.get_by_text("It came to an end.").wait_for()


def test_without_scripts_files_are_chosen_and_sent_and_no_field_is_missing(
    plain: Page, tmp_path: Path
) -> None:
    (tmp_path / "holiday.csv").write_text("no export\n")
    plain.goto("/take-in")
    plain.get_by_label("Exports", exact=True).set_input_files(tmp_path / "holiday.csv")
    plain.get_by_role("button", name="Look at them").click()
    assert "holiday.csv" in plain.locator("main").inner_text()


def on(page: Page) -> str:
    """What the keyboard is on, which must be seen to be."""
    found: list[str] = page.evaluate(
        "() => { const one = document.activeElement, style = getComputedStyle(one);"
        " const words = one.closest('label') ?? one;"
        " return [words.textContent.trim() || one.name, style.outlineStyle]; }"
    )
    assert found[1] != "none"
    return " ".join(found[0].split())


def tab_to(page: Page, words: str) -> None:
    for _ in range(80):
        page.keyboard.press("Tab")
        if words in on(page):
            return
    pytest.fail(f"the keyboard does not reach {words!r}")


def test_a_machine_is_folded_and_unfolded_by_the_keyboard_alone(page: Page) -> None:
    page.goto("/")
    fold = page.locator("details.machine").first
    assert fold.get_attribute("open") is not None
    tab_to(page, fold.locator("summary b").inner_text() + " ")  # with how many axes it has
    page.keyboard.press("Enter")
    assert fold.get_attribute("open") is None
    page.keyboard.press("Space")
    assert fold.get_attribute("open") is not None


def test_many_axes_are_picked_and_looked_at_by_the_keyboard_alone(page: Page) -> None:
    page.context.clear_cookies()
    log_in(page, "approver")
    page.goto("/baselines")
    tab_to(page, "What to do")
    tab_to(page, "Pattern")
    page.keyboard.type("kiln-loader/*")
    page.keyboard.press("Enter")
    page.wait_for_url("**pattern=*")
    boxes = page.locator("input[name=axis]")
    offered = boxes.count()
    count = page.locator("input[name=axis]:checked").count()
    tab_to(page, "kiln-loader/pusher")
    page.keyboard.press("Space")
    assert page.locator("input[name=axis]:checked").count() == count - 1
    tab_to(page, "Why these states are the right ones")
    page.keyboard.type("as delivered")
    tab_to(page, "Look again")
    with page.expect_navigation():
        page.keyboard.press("Enter")
    assert boxes.count() == offered
    assert page.locator("input[name=axis]:checked").count() == count - 1
    reason = page.get_by_label("Why these states are the right ones")
    assert reason.input_value() == "as delivered"
