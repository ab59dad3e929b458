"""The file of JSON lines."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from tests.receivers import SITE, a_channel, an_alert, secrets
from vault.jobs.alerts.channels import NotSent, send


def lines(path: Path) -> list[Any]:
    text = path.read_text("utf-8")
    assert text.endswith("\n")
    return [json.loads(line) for line in text.splitlines()]


def test_each_alert_is_one_line(tmp_path: Path) -> None:
    log = tmp_path / "alerts.jsonl"
    for number in (1, 2):
        alert = an_alert(number, sentences=("two\nlines, µ",))
        assert send(a_channel(kind="file", path=str(log)), alert, secrets(tmp_path), SITE) is None
    assert [line["id"] for line in lines(log)] == ["glaze-line-1.lift.1", "glaze-line-1.lift.2"]
    assert lines(log)[0] == {"site": SITE, **an_alert(1, sentences=("two\nlines, µ",)).as_mapping()}


def test_a_line_that_was_written_before_a_crash_is_not_written_again(tmp_path: Path) -> None:
    log = tmp_path / "alerts.jsonl"
    for number in (1, 2, 1, 2):
        send(a_channel(kind="file", path=str(log)), an_alert(number), secrets(tmp_path), SITE)
    assert len(lines(log)) == 2


def test_a_torn_line_swallows_no_other(tmp_path: Path) -> None:
    log = tmp_path / "alerts.jsonl"
    send(a_channel(kind="file", path=str(log)), an_alert(1), secrets(tmp_path), SITE)
    whole = log.read_bytes()
    for length in (1, len(whole) // 2, len(whole) - 1):
        log.write_bytes(whole[:length])
        send(a_channel(kind="file", path=str(log)), an_alert(1), secrets(tmp_path), SITE)
        assert log.read_bytes() == whole[:length] + b"\n" + whole


def test_a_file_in_the_vault_is_refused(tmp_path: Path) -> None:
    (tmp_path / "plant").mkdir()
    (tmp_path / "beside").symlink_to(tmp_path / "plant")
    for path in ("plant/alerts.jsonl", "beside/alerts.jsonl", "plant/../plant/alerts.jsonl"):
        with pytest.raises(NotSent, match="lies in the vault"):
            send(
                a_channel(kind="file", path=f"{tmp_path}/{path}"),
                an_alert(),
                secrets(tmp_path),
                SITE,
            )
    assert not list((tmp_path / "plant").iterdir())


def test_a_folder_that_is_missing_is_named_and_not_made(tmp_path: Path) -> None:
    channel = a_channel(kind="file", path=str(tmp_path / "none/alerts.jsonl"))
    with pytest.raises(NotSent, match="none does not exist"):
        send(channel, an_alert(), secrets(tmp_path), SITE)
    assert not (tmp_path / "none").exists()


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")  # opening it would hang
    for path in (tmp_path / "pipe", tmp_path):
        with pytest.raises(NotSent, match="is no file"):
            send(a_channel(kind="file", path=str(path)), an_alert(), secrets(tmp_path), SITE)
