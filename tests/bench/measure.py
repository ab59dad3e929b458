"""Measuring: two things in turn, time and peak memory of a program, bytes on disk."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median
from time import perf_counter

CHECKOUT = Path(__file__).resolve().parents[2]
_KIBIBYTE = 1 if sys.platform == "darwin" else 1024  # unit of ru_maxrss
# Started from a small process of its own: a child's peak is never below that of its parent.
_PEAK = """
import resource, subprocess, sys
status = subprocess.call(sys.argv[1:], stdout=subprocess.DEVNULL)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
sys.exit(status)
"""

_OWN_PEAK = """
import resource, sys
from vault.cli import run
status = run(sys.argv[1:])
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, file=sys.stderr)
sys.exit(status)
"""


def seconds(work: Callable[[], object]) -> float:
    """How long one call takes."""
    start = perf_counter()
    work()
    return perf_counter() - start


def in_turn(
    ours: Callable[[], object], against: Callable[[], object], runs: int
) -> tuple[float, float]:
    """Median seconds of either, run by turns after a first run of each that does not count."""
    ours(), against()
    pairs = [(seconds(ours), seconds(against)) for _ in range(runs)]
    return median(pair[0] for pair in pairs), median(pair[1] for pair in pairs)


def program(*arguments: str | Path, folder: Path = CHECKOUT) -> None:
    """Run a program to its end. Raises CalledProcessError where it fails."""
    subprocess.run(
        list(map(str, arguments)), cwd=folder, check=True, stdout=subprocess.DEVNULL, env=_SETTINGS
    )


def peak_memory(*arguments: str | Path) -> int:
    """Peak resident bytes of a program, or of the largest of its own children."""
    command = [sys.executable, "-c", _PEAK, *map(str, arguments)]
    found = subprocess.run(
        command, cwd=CHECKOUT, check=True, stdout=subprocess.PIPE, env=_SETTINGS, text=True
    )
    return int(found.stdout) * _KIBIBYTE


def own_peak_memory(*arguments: str | Path, status: int = 0) -> int:
    """Peak resident bytes of one of our commands, without the git processes that it starts.

    Raises CalledProcessError where it leaves with another status.
    """
    inner = [sys.executable, "-c", _OWN_PEAK, *map(str, arguments)]
    command = [sys.executable, "-c", _PEAK, *inner]
    found = subprocess.run(
        command, cwd=CHECKOUT, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env=_SETTINGS,
        text=True,
    )  # fmt: skip
    if found.returncode != status:
        raise subprocess.CalledProcessError(found.returncode, command, stderr=found.stderr)
    return int(found.stderr.split()[-1]) * _KIBIBYTE


def size_on_disk(folder: Path) -> int:
    """Bytes of all files below a folder."""
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


def axisvault(*arguments: str | Path) -> Sequence[str | Path]:
    """Command line of our program from this checkout."""
    return (sys.executable, "-m", "vault", *arguments)


# As installed: what is compiled once is kept.
_SETTINGS = {
    **{name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"},
    "AXISVAULT_BY": "Bench <bench@localhost>",
    "GIT_AUTHOR_NAME": "Bench",
    "GIT_AUTHOR_EMAIL": "bench@localhost",
    "GIT_COMMITTER_NAME": "Bench",
    "GIT_COMMITTER_EMAIL": "bench@localhost",
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_CONFIG_GLOBAL": os.devnull,
}
