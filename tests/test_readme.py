"""README.md and the manual show what the program really prints."""

import re
from pathlib import Path

from tests.readme import PAGES, README, ROOT, make_works, printed, shown
from vault.store.files.edited_files import read_site


def test_the_outputs_that_are_shown_are_those_of_the_demo_vault(tmp_path: Path) -> None:
    make_works(tmp_path / "works")
    assert len(list(shown(README.read_text(encoding="utf-8")))) == 4, "one for each job"
    found = [one for page in PAGES for one in shown(page.read_text(encoding="utf-8"))]
    for words, output in found:
        assert printed(words, tmp_path / "works") == output, (
            f"{words}: run python -m tests.readme to write it anew"
        )


def test_the_alert_channels_that_the_manual_shows_can_be_used() -> None:
    text = (ROOT / "vault/manual/golden.md").read_text(encoding="utf-8")
    [lines] = re.findall(r"```yaml\n(alerts:.*?)```", text, re.DOTALL)
    site = read_site(f"schema: axisvault/vault/1\nsite: Hall 2\n{lines}".encode(), "vault.yaml")
    assert [channel.kind for channel in site.alerts] == ["webhook", "email"]
    assert site.viewer is not None


def test_the_pictures_that_the_readme_shows_are_there_and_small() -> None:
    text = README.read_text(encoding="utf-8")
    pictures = re.findall(r'<img src="([^"]+)"[^>]* alt="[^"]+">', text)
    assert len(pictures) == 11
    for picture in pictures:
        content = (README.parent / picture).read_bytes()
        assert content.startswith(b"\x89PNG")
        assert len(content) < 100_000


def test_the_readme_is_short_and_its_links_lead_somewhere() -> None:
    text = README.read_text(encoding="utf-8")
    assert len(text.splitlines()) < 220
    links = re.findall(r"\]\(([^)#]+)\)", text)
    assert len(links) > 20
    assert [link for link in links if not (ROOT / link).is_file()] == []
