"""Secrets are read outside the vault, and are taken out of every text."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

from vault.model.alert_channels import Secret
from vault.model.errors import Unreadable
from vault.store.local.secrets import Secrets

WORD = "w0rd/of+nobody"


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    (tmp_path / "plant").mkdir()
    return tmp_path / "plant"


def in_file(path: Path) -> Secret:
    return Secret(file=str(path))


def test_a_secret_comes_from_the_environment(plant: Path) -> None:
    assert Secrets(plant, {"WORD": WORD}).read(Secret(env="WORD")) == WORD


def test_a_secret_comes_from_the_one_line_of_a_file(plant: Path) -> None:
    for text in (WORD, f"{WORD}\n", f"\ufeff{WORD}\r\n"):
        (plant.parent / "word").write_text(text, "utf-8", newline="")
        assert Secrets(plant).read(in_file(plant.parent / "word")) == WORD


@pytest.mark.parametrize(
    ("content", "said"),
    [(b"", "is empty"), (b" \n", "is empty"), (b"a\nb", "one line"), (b"\xff", "not UTF-8")],
)
def test_a_file_that_holds_no_secret_is_said(plant: Path, content: bytes, said: str) -> None:
    path = plant.parent / "word"
    path.write_bytes(content)
    with pytest.raises(Unreadable, match=said):
        Secrets(plant).read(in_file(path))


def test_what_is_missing_is_named(plant: Path) -> None:
    with pytest.raises(Unreadable, match="environment variable WORD is not set"):
        Secrets(plant, {}).read(Secret(env="WORD"))
    with pytest.raises(Unreadable, match="/word cannot be read: No such file"):
        Secrets(plant).read(in_file(plant.parent / "word"))


def test_a_file_in_the_vault_is_refused_also_by_a_link(plant: Path) -> None:
    (plant / "word").write_text(WORD)
    (plant.parent / "link").symlink_to(plant / "word")
    for path in (plant / "word", plant.parent / "link", plant / "x" / ".." / "word"):
        with pytest.raises(Unreadable, match="lies in the vault") as error:
            Secrets(plant).read(in_file(path))
        assert WORD not in str(error.value)


def test_what_was_read_is_taken_out_of_a_text(plant: Path) -> None:
    secrets = Secrets(plant, {"WORD": WORD, "OTHER": WORD + "-2"})
    secrets.read(Secret(env="WORD"))
    secrets.read(Secret(env="OTHER"))
    encoded = base64.b64encode(WORD.encode()).decode()
    text = f"a {WORD} b {WORD}-2 c w0rd%2Fof%2Bnobody d {encoded}"
    assert secrets.redacted(text).startswith("a *** b *** c *** d ***")
