"""`axisvault serve`: a real server on loopback, stopped as an administrator stops it."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import threading
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.conftest import Outcome


@pytest.fixture
def server(works: Path, clean: dict[str, str]) -> Iterator[tuple[subprocess.Popen[str], str]]:
    process = subprocess.Popen(
        [sys.executable, "-m", "vault", "--vault", str(works), "serve", "--port", "0"],
        env=clean, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        found = re.search(r"http://127\.0\.0\.1:\d+/", process.stdout.readline())
        assert found is not None, process.stderr.read() if process.stderr else ""
        yield process, found[0]
    finally:
        process.kill()
        process.communicate()


def get(address: str) -> str:
    with urllib.request.urlopen(address, timeout=30) as answer:
        return str(answer.read().decode())


def test_it_serves_many_at_once_logs_them_and_stops_when_asked(
    server: tuple[subprocess.Popen[str], str],
) -> None:
    process, address = server
    assert get(f"{address}healthz") == "ok\n"
    answers: list[str] = []
    readers = [
        threading.Thread(target=lambda: answers.append(get(f"{address}machine/kiln-loader")))
        for _ in range(12)
    ]
    for reader in readers:
        reader.start()
    for reader in readers:
        reader.join()
    assert len(set(answers)) == 1
    assert "kiln-loader/hoist" in answers[0]
    process.send_signal(signal.SIGTERM)
    _, log = process.communicate(timeout=30)
    assert process.returncode == 0
    assert log.count("127.0.0.1 GET /machine/kiln-loader 200") == 12
    assert "Traceback" not in log


def test_it_does_not_listen_where_others_could_read_without_a_log_in(
    works: Path, cli: Callable[..., Outcome]
) -> None:
    done = cli("--vault", works, "serve", "--host", "0.0.0.0")
    assert done.code == 2
    assert "there is no account to log in with" in done.stderr


def test_an_address_that_is_taken_is_told(
    server: tuple[subprocess.Popen[str], str], works: Path, cli: Callable[..., Outcome]
) -> None:
    port = server[1].rstrip("/").rpartition(":")[2]
    done = cli("--vault", works, "serve", "--port", port)
    assert done.code == 6
    assert "cannot be listened on" in done.stderr


def test_a_folder_that_is_no_vault_is_told(tmp_path: Path, cli: Callable[..., Outcome]) -> None:
    assert cli("--vault", tmp_path / "none", "serve").code == 2
