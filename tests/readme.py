"""The outputs that README.md and the manual show; `python -m tests.readme` writes them anew.

They are those of the demo vault.
"""

from __future__ import annotations

import re
import shlex
import tempfile
from collections.abc import Iterator
from contextlib import chdir
from functools import partial
from pathlib import Path
from shutil import copyfile

from click.testing import CliRunner

from example_machines.traces import FOLDER as TRACES
from vault.cli import axisvault

ROOT = Path(__file__).parents[1]
BY = "Mira Okafor <mira@tileworks.example>"
README = ROOT / "README.md"
PAGES = (README, *sorted((ROOT / "vault/manual").glob("*.md")))
# A console block that shows one command and what it prints.
_SHOWN = re.compile(r"```console\n\$ axisvault (?P<words>[^\n]+)\n(?P<output>[^$`]+)```\n")
_COMMIT = re.compile(r"\[[0-9a-f]{10}\]")
_SNAPSHOT = re.compile(r"\bsnapshot [0-9a-f]{10}\b")
_PLAN = re.compile(r"\b\d{4}-\d\d-\d\d-[0-9a-f]{4}\b")


def shown(text: str) -> Iterator[tuple[str, str]]:
    """Command lines and outputs that a text shows."""
    for block in _SHOWN.finditer(text):
        yield block["words"], block["output"]


def printed(words: str, works: Path) -> str:
    """What a command prints on the demo vault; commit ids and numbers of plans as dots."""
    with tempfile.TemporaryDirectory() as place, chdir(place):
        for recorded in TRACES.glob("kiln-loader-*.csv"):
            copyfile(recorded, recorded.name.removeprefix("kiln-loader-"))
        result = CliRunner(env={"AXISVAULT_BY": BY}).invoke(
            axisvault, ["--vault", str(works), *shlex.split(words)]
        )
    told = _SNAPSHOT.sub("snapshot ..........", _COMMIT.sub("[..........]", result.output))
    return _PLAN.sub("..........-....", told)


def make_works(folder: Path) -> None:
    """Build the demo vault."""
    CliRunner().invoke(axisvault, ["demo", str(folder)])


def main() -> None:
    """Write the outputs anew."""
    with tempfile.TemporaryDirectory() as folder:
        works = Path(folder) / "works"
        make_works(works)
        for page in PAGES:
            page.write_text(_SHOWN.sub(partial(_anew, works), page.read_text("utf-8")), "utf-8")


def _anew(works: Path, block: re.Match[str]) -> str:
    words = block["words"]
    return f"```console\n$ axisvault {words}\n{printed(words, works)}```\n"


if __name__ == "__main__":
    main()
