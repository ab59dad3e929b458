"""The outputs that README.md shows; `python -m tests.readme` writes them anew from the demo."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from click.testing import CliRunner

from vault.cli import axisvault

README = Path(__file__).parents[1] / "README.md"
# A console block that shows one command and what it prints.
_SHOWN = re.compile(r"```console\n\$ axisvault (?P<words>[^\n]+)\n(?P<output>[^$`]+)```\n")
_COMMIT = re.compile(r"\[[0-9a-f]{10}\]")


def shown(text: str) -> Iterator[tuple[str, str]]:
    """Command lines and outputs that a text shows."""
    for block in _SHOWN.finditer(text):
        yield block["words"], block["output"]


def printed(words: str, works: Path) -> str:
    """What a command prints on the demo vault; commit ids, which differ by vault, as dots."""
    result = CliRunner().invoke(axisvault, ["--vault", str(works), *words.split()])
    return _COMMIT.sub("[..........]", result.output)


def make_works(folder: Path) -> None:
    """Build the demo vault."""
    CliRunner().invoke(axisvault, ["demo", str(folder)])


def main() -> None:
    """Write the outputs anew."""
    with tempfile.TemporaryDirectory() as folder:
        works = Path(folder) / "works"
        make_works(works)
        text = _SHOWN.sub(
            lambda block: (
                f"```console\n$ axisvault {block['words']}\n{printed(block['words'], works)}```\n"
            ),
            README.read_text(encoding="utf-8"),
        )
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
