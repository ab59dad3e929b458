"""A folder of wheels is all that it takes to install the program where no network is.

The commands are those of the manual's page; wheels of other packages are those that pip has or gets
when the test runs.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT
from vault import __version__

PAGE = (ROOT / "vault/manual/install.md").read_text(encoding="utf-8")
DOWNLOAD, INSTALL = re.findall(r"```sh\n(.*?)```", PAGE, re.DOTALL)
# Without compiling, and without asking for a newer pip, it is quicker, and the same is installed.
NO_NETWORK = {
    "PIP_INDEX_URL": "http://127.0.0.1:9/", "PIP_RETRIES": "0", "PIP_NO_CACHE_DIR": "1",
    "PIP_NO_COMPILE": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1",
}  # fmt: skip


def shell(lines: str, place: Path, **environment: str) -> str:
    done = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", lines],
        cwd=place, env={**os.environ, **environment}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheels(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the program's wheel and those of all that it needs."""
    place = tmp_path_factory.mktemp("carried")
    source = place / "source"
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    for name in filter(None, listed.split("\0")):
        if (ROOT / name).is_file() and not name.startswith("tests/"):
            (source / name).parent.mkdir(parents=True, exist_ok=True)
            (source / name).write_bytes((ROOT / name).read_bytes())
    (place / "bin").mkdir()
    (place / "bin/pip").write_text(f'#!/bin/sh\nexec {sys.executable} -m pip "$@"\n')
    (place / "bin/pip").chmod(0o755)
    shell(DOWNLOAD, source, PATH=f"{place / 'bin'}:{os.environ['PATH']}")
    (source / "wheels").rename(place / "wheels")
    return place


@pytest.mark.slow
def test_it_installs_from_the_folder_alone_and_shows_its_manual(wheels: Path) -> None:
    python = f"{sys.executable} "
    told = shell(INSTALL.replace("python3 ", python), wheels, **NO_NETWORK)
    assert f"axisvault {__version__}\n" in told
    assert "Installing\n==========\n" in told
    assert "--no-index --find-links wheels" in told
