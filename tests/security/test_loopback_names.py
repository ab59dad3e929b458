"""The viewer on this machine alone: reached by its own addresses, and under no other name."""

from __future__ import annotations

import re
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from webui.app import create_app


def _has_ipv6() -> bool:
    try:
        with socket.socket(socket.AF_INET6) as tried:
            tried.bind(("::1", 0))
    except OSError:
        return False
    return True


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("localhost", 200), ("localhost:8080", 200), ("127.0.0.1:8080", 200), ("[::1]", 200),
        ("[::1]:8080", 200), ("127.0.0.2", 200), ("tileworks.example", 400),
        ("localhost.tileworks.example", 400), ("127.0.0.1.tileworks.example:80", 400),
        ("192.0.2.1", 400), ("[2001:db8::1]", 400), ("[::1", 400), ("a@localhost", 400),
    ],
)  # fmt: skip
def test_no_page_elsewhere_reaches_it_by_a_name_of_its_own(
    works: Path, host: str, status: int
) -> None:
    answer = create_app(works, is_local=True).test_client().get("/", headers={"Host": host})
    assert answer.status_code == status


@pytest.mark.skipif(not _has_ipv6(), reason="this machine has no ::1")
@pytest.mark.parametrize("host", ["::1", "[::1]"])
def test_it_is_served_at_the_other_address_of_this_machine(
    works: Path, clean: dict[str, str], host: str
) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "vault", "--vault", str(works), "serve", "--host", host,
         "--port", "0"],
        env=clean, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    try:
        found = re.search(r"http://\[::1\]:\d+/", process.stdout.readline())
        assert found is not None
        with urllib.request.urlopen(found[0], timeout=30) as answer:
            assert answer.status == 200
        asked = urllib.request.Request(found[0], headers={"Host": "tileworks.example"})
        with pytest.raises(urllib.error.HTTPError, match="400"):
            urllib.request.urlopen(asked, timeout=30)
    finally:
        process.kill()
        process.communicate()
