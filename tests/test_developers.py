"""What DEVELOPERS.md names is there."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
PAGE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
# Names of a thing to be made, and of what lies in a vault or outside.
NOT_OURS = ("NAME", "KIND", "axisvault/", "families/")


def named_files() -> set[str]:
    """Paths that stand in backticks: with a slash and plain letters."""
    found = re.findall(r"`((?:[a-z_]+/)+[a-z_*]*(?:\.[a-z]+)?)`", PAGE)
    return {name for name in found if not any(word in name for word in NOT_OURS)}


def is_there(name: str) -> bool:
    places = (ROOT, ROOT / "vault")
    return any(
        any(place.glob(pattern)) for place in places for pattern in (name.rstrip("/"), f"{name}.py")
    )


def test_every_file_that_is_named_is_there() -> None:
    names = named_files()
    assert len(names) > 60
    assert sorted(name for name in names if not is_there(name)) == []


def test_the_map_leads_to_at_least_ten_behaviours() -> None:
    rows = re.findall(r"^\| [^|]+ \| .*`vault/|`webui/", PAGE, re.MULTILINE)
    assert len(rows) >= 10
