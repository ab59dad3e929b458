"""What others wrote commands no terminal, hides nothing and forges no line, wherever it shows.

Exports, notes and file names carry escapes of a terminal (ECMA-48), marks of direction (Unicode
Standard Annex 9) and line ends. What of them does something must be a visible sign on every way
out.
"""

from __future__ import annotations

import ast
import json
import logging
import os
import pty
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

import vault.cli
from tests.conftest import Outcome
from vault.cli import axisvault
from vault.jobs.alerts.channels.email import mail
from vault.jobs.alerts.channels.syslog import datagram
from vault.jobs.records.edit import add_family
from vault.model.alert_channels import EmailChannel, SyslogChannel
from vault.model.alerts import Alert
from vault.model.visible_text import STAND_IN, visible, visible_json, visible_line
from vault.store.vault import Vault
from webui.server import _Visible

BY = "Mira Okafor <mira@tileworks.example>"
Cli = Callable[..., Outcome]
Take = Callable[..., Any]
Export = Callable[..., str]
CLI = Path(vault.cli.__file__).parent

# Title, red, cursor up, a single-byte control sequence, bell, backspace, back to the line's begin,
# right-to-left override, isolate, no width, soft hyphen, a tag, line and paragraph separator.
NASTY = (
    "\x1b]0;owned\x07\x1b[31m\x1b[1A\x9b2J\b\r\u202e\u2066\u200b\xad\U000e0041\u2028\u2029\x85end"
)
UNSEEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb\U000e0000-\U000e007f]"
)
FORGED = "0 snapshots: everything is as it was recorded."


@pytest.fixture
def nasty(vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path) -> Vault:
    """A vault in which names, units, nameplate, note, lines and file name are as above."""
    escapes = (sign if sign.isprintable() else f"\\U{ord(sign):08X}" for sign in NASTY)
    quoted = f'"Window {"".join(escapes)}"'
    text = family_text.replace("name: Following error window", f"name: {quoted}")
    (tmp_path / "nasty.yaml").write_text(f"{text}# a remark \u202e\u2066\n")
    add_family(vault, tmp_path / "nasty.yaml", BY)
    export = export_text("1", serial=f"S{NASTY}".replace("\r", "").replace("\x85", "")
                         .replace("\u2028", "").replace("\u2029", ""))  # fmt: skip
    take(export, "2026-03-01", note=f"first {NASTY}\n{FORGED}", work_order=f"WO {NASTY}")
    again = export_text("2").replace("mov/speed;Profile velocity", "mov/speed;Velo \x1b[2J\u202e")
    broken = f'what is "this \x1b[31m{NASTY}\r\n'.replace("\r", "", 1)
    take(again + broken, "2026-03-02", partial=True, name="li\u202eft\x1b[31m.csv")
    return vault


def unseen(text: str) -> list[str]:
    """Where something that does anything is left in a text, but for its own line ends."""
    return [text[max(0, at.start() - 30) : at.end() + 5] for at in UNSEEN.finditer(text)]


COMMANDS = (
    "show m1/lift", "show m1/lift@first", "history m1/lift", "compare m1/lift@first m1/lift",
    "history m1/lift --parameter lim/lag", "check m1/lift", "find lim/lag --value '>1mm'",
    "spread m1/*", "audit m1/lift", "drift", "axis list", "verify", "site show", "family list",
    "golden show m1/lift", "note list m1/lift", "fault list m1/lift", "sync list", "user list",
)  # fmt: skip


@pytest.mark.parametrize("as_json", [False, True])
def test_nothing_of_an_export_commands_a_terminal(nasty: Vault, cli: Cli, *, as_json: bool) -> None:
    shown = ""
    for line in COMMANDS:
        words = [word.strip("'") for word in line.split(" ")]
        done = cli(*words, *(["--json"] if as_json else []))
        assert "Traceback" not in done.stderr, line
        assert unseen(done.stdout) == [], line
        assert unseen(done.stderr) == [], line
        if not as_json:
            assert FORGED not in done.stdout.splitlines(), line
        shown += done.stdout
    assert (r"\u001b" if as_json else STAND_IN) in shown  # it was there, and shows


def test_json_still_says_what_was_written(nasty: Vault, cli: Cli) -> None:
    parameters = cli("show", "m1/lift", "--json").json["parameters"]
    assert any(p["name"] == f"Window {NASTY}" for p in parameters)


@pytest.mark.parametrize(
    "words",
    [
        ["show", f"m1/{NASTY}"], ["ingest", f"no{NASTY}.csv", "--to", "m1/lift"], [NASTY],
        ["show", "m1/lift", f"--{NASTY}"], ["family", "show", NASTY], ["--vault", NASTY, "verify"],
        ["compare", f"m1/lift@{NASTY}", "m1/lift"], ["sync", "take", f"/no/{NASTY}"],
        ["create", f"new{NASTY}", "--site", NASTY, "--by", BY], ["fault", NASTY],
        ["recover", f"no{NASTY}", "there"], ["backup", f"there{NASTY}"],
    ],
)  # fmt: skip
def test_no_error_or_answer_says_it_as_it_was_typed(
    nasty: Vault, cli: Cli, words: list[str]
) -> None:
    words = [word.replace("\x00", "") for word in words]
    for more in ([], ["--json"]):
        done = cli(*words, *more)
        assert unseen(done.stdout) == []
        assert unseen(done.stderr) == []
        assert done.stderr.count("\n") <= 3


def on_a_terminal(command: list[str], environment: dict[str, str]) -> str:
    """What a program writes where its output is a terminal."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, env=environment, stdout=theirs, stderr=theirs) as process:
        os.close(theirs)
        written = b""
        try:
            while block := os.read(ours, 65536):
                written += block
        except OSError:  # nobody writes any more
            pass
        process.wait()
    os.close(ours)
    return written.decode("utf-8", "replace")


def test_a_terminal_gets_colours_of_ours_and_nothing_else(
    nasty: Vault, clean: dict[str, str]
) -> None:
    nasty.close()
    for words in (["history", "m1/lift"], ["show", "m1/lift"], ["family", "show", "hazel"]):
        written = on_a_terminal([sys.executable, "-m", "vault", *words], {**clean, "TERM": "xterm"})
        assert STAND_IN in written
        plain = re.sub(r"\x1b\[(0|1|3[0-7])m", "", written.replace("\r\n", "\n"))
        assert unseen(plain) == []
    assert "\x1b[1m" in on_a_terminal(
        [sys.executable, "-m", "vault", "show", "m1/lift"], {**clean, "TERM": "xterm"}
    )


def test_a_file_that_somebody_wrote_goes_into_a_pipe_as_it_is(nasty: Vault, cli: Cli) -> None:
    """What is taken out to be edited and put in again has to be the same."""
    held = nasty.family_file("hazel").content.decode()
    assert cli("family", "show", "hazel").stdout == held


def test_files_for_people_show_it_too(nasty: Vault, cli: Cli, tmp_path: Path) -> None:
    assert cli("audit", "m1/lift", "--from", "2026-01-01", "--out", "evidence").code == 0
    done = cli("restore", "plan", "m1/lift@first", "--out", "plan", "--adapt")
    assert done.code == 0, done.stderr
    looked = 0
    for folder in ("evidence", "plan"):
        for path in (tmp_path / folder).rglob("*"):
            assert unseen(path.name) == []
            exact = {"snapshots", "export", "machines", "families", "kept"} & set(path.parts)
            is_load = path.suffix in (".csv", ".dcf", ".bundle")
            if path.is_file() and not exact and not is_load:
                looked += 1
                assert unseen(path.read_text()) == [], path
    assert looked > 4


def channel_alert() -> Alert:
    return Alert(
        "id", "m1/lift", "drifted", datetime(2026, 3, 1, tzinfo=UTC), "travel", f"Drift {NASTY}",
        (f"It is {NASTY}\nnow",),
    )  # fmt: skip


def test_messages_show_it() -> None:
    relay = EmailChannel.model_validate(
        {
            "name": "shift",
            "kind": "email",
            "host": "mail.tileworks.example",
            "port": 25,
            "from": "v@tileworks.example",
            "to": ["s@tileworks.example"],
        }
    )
    message = mail(relay, channel_alert(), "Works")
    assert unseen(str(message["Subject"])) == []
    assert unseen(message.get_content()) == []
    log = SyslogChannel(name="log", kind="syslog", host="log.tileworks.example")
    told = datagram(log, channel_alert(), "Works").decode()
    assert unseen(told.replace("\ufeff", "")) == []  # the mark that RFC 5424 wants
    assert unseen(json.dumps(channel_alert().as_mapping(), ensure_ascii=False)) == []
    assert STAND_IN in told


def test_the_servers_log_shows_it() -> None:
    try:
        raise ValueError(f"wrong: {NASTY}")
    except ValueError:
        record = logging.LogRecord("a", 40, "b", 1, "unexpected %s", (NASTY,), sys.exc_info())
    text = _Visible("%(message)s").format(record)
    assert unseen(text) == []
    assert "ValueError" in text


def direct_output(path: Path) -> Iterator[str]:
    """Calls that write to a stream past `vault/cli/terminal`."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            if name in ("click.echo", "click.secho", "print", "click.style") or name.endswith(
                ("stdout.write", "stderr.write")
            ):
                yield f"{path.name}: {name}"


def test_every_command_prints_by_the_one_way_out() -> None:
    files = [path for path in CLI.glob("*.py") if path.name != "terminal.py"]
    assert [found for path in files for found in direct_output(path)] == []
    assert list(direct_output(CLI / "terminal.py"))  # what is looked for is found where it is


def test_the_whole_help_is_plain() -> None:
    assert isinstance(axisvault, click.Group)
    assert unseen(axisvault.get_help(click.Context(axisvault))) == []


@given(st.text())
def test_a_line_stays_one_and_does_nothing(text: str) -> None:
    line = visible_line(text)
    assert unseen(line) == []
    assert not {"\n", "\r"} & set(line)
    assert len(line) == len(text)
    assert visible_line(line) == line


@given(st.recursive(st.text() | st.none() | st.integers(), lambda one: st.lists(one)
                    | st.dictionaries(st.text(), one), max_leaves=8))  # fmt: skip
def test_json_means_the_same_and_does_nothing(document: object) -> None:
    for indent in (None, 1):
        text = visible_json(json.dumps(document, ensure_ascii=False, indent=indent))
        assert unseen(text) == []
        text.encode()  # halves of characters too
        assert json.loads(text) == document


@pytest.mark.parametrize("sign", ["\xad", "\u180e", "\ufff9", "\U000e0041", "\x9b", "\u2066"])
def test_more_that_nobody_sees_is_marked(sign: str) -> None:
    assert visible(f"2{sign}5") == f"2{STAND_IN}5"
