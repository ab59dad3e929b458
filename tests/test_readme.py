"""README.md shows what the program really prints."""

from pathlib import Path

from tests.readme import README, make_works, printed, shown


def test_the_outputs_that_the_readme_shows_are_those_of_the_demo_vault(tmp_path: Path) -> None:
    make_works(tmp_path / "works")
    found = list(shown(README.read_text(encoding="utf-8")))
    assert len(found) >= 3
    for words, output in found:
        assert printed(words, tmp_path / "works") == output, (
            f"{words}: run python -m tests.readme to write it anew"
        )
