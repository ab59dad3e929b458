"""A format that another package brings is found by its entry point, as it is installed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from vault.formats.registry import format_names

ROOT = Path(__file__).parents[2]
# An invented format: one line `code value` for each parameter.
FORMAT = """\
def recognises(content, file):
    return content.startswith(b"pebble")

def read(content, *, file, dialect, channel, node_id=None):
    raise NotImplementedError

def write(listing, *, dialect):
    raise NotImplementedError
"""
ASK = (
    "from vault.formats.registry import format_names, format_named;"
    "print(*format_names());"
    "print(format_named('pebble').recognises(b'pebble 1', 'a.txt'))"
)


def names_with(group: str, place: Path) -> subprocess.CompletedProcess[str]:
    """Ask a Python that has a package installed with an entry point of a group."""
    info = place / "pebble-1.0.dist-info"
    info.mkdir()
    (place / "pebble_format.py").write_text(FORMAT)
    (info / "METADATA").write_text("Metadata-Version: 2.1\nName: pebble\nVersion: 1.0\n")
    (info / "entry_points.txt").write_text(f"[{group}]\npebble = pebble_format\n")
    return subprocess.run(
        [sys.executable, "-c", ASK],
        env={"PYTHONPATH": f"{ROOT}:{place}"},
        capture_output=True,
        text=True,
        check=False,
    )


def test_a_format_of_another_package_is_found_by_the_group_that_the_guide_names(
    tmp_path: Path,
) -> None:
    assert "`axisvault.formats`" in (ROOT / "DEVELOPERS.md").read_text("utf-8")
    done = names_with("axisvault.formats", tmp_path)
    assert done.returncode == 0, done.stderr
    names, recognised = done.stdout.splitlines()
    assert set(names.split()) == {*format_names(), "pebble"}
    assert recognised == "True"


def test_an_entry_point_of_another_group_is_no_format(tmp_path: Path) -> None:
    done = names_with("axisvault.format", tmp_path)
    assert "pebble" not in done.stdout.splitlines()[0].split()
    assert done.returncode != 0
