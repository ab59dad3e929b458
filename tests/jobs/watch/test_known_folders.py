"""What watched folders refused is told beside the vault, as long as it lies there."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import BY
from vault.jobs.watch.known_folders import MOST_REFUSED, watched_folders
from vault.jobs.watch.watcher import Watcher
from vault.store.vault import Vault


@pytest.fixture
def dropped(vault: Vault, tmp_path: Path) -> Path:
    """A folder that was watched once: one file in it was refused."""
    place = tmp_path / "drop" / "line-1" / "lift"
    place.mkdir(parents=True)
    (place / "notes.txt").write_text("no export\n")
    Watcher(vault.repository.path, tmp_path / "drop", BY, settle=0).once()
    return tmp_path / "drop"


def test_a_folder_that_was_watched_is_known_with_what_it_refused(
    vault: Vault, dropped: Path
) -> None:
    (folder,) = watched_folders(vault.state)
    (one,) = folder.refused
    assert (folder.folder, one.file) == (str(dropped), "line-1/lift/notes.txt")
    assert one.reason
    assert one.at is not None


def test_a_file_that_was_taken_back_is_refused_no_more(vault: Vault, dropped: Path) -> None:
    (dropped / "refused" / "line-1" / "lift" / "notes.txt").unlink()
    (folder,) = watched_folders(vault.state)
    assert folder.refused == ()


def test_a_folder_that_is_gone_is_told_as_such(vault: Vault, dropped: Path) -> None:
    dropped.rename(dropped.with_name("elsewhere"))
    (folder,) = watched_folders(vault.state)
    assert "not there any more" in folder.problem


def test_no_link_leads_out_of_the_folder(vault: Vault, dropped: Path, tmp_path: Path) -> None:
    (tmp_path / "secret").write_text("reason   told to nobody\n")
    place = dropped / "refused"
    (place / "a").write_text("x")
    (place / "a.reason.txt").symlink_to(tmp_path / "secret")
    (folder,) = watched_folders(vault.state)
    assert [one.file for one in folder.refused] == ["line-1/lift/notes.txt"]


def test_of_many_refused_files_the_latest_are_told_and_the_rest_counted(
    vault: Vault, dropped: Path
) -> None:
    for number in range(MOST_REFUSED + 4):
        (dropped / "refused" / f"{number}").write_text("x")
        (dropped / "refused" / f"{number}.reason.txt").write_text("reason   many\n")
    (folder,) = watched_folders(vault.state)
    assert (len(folder.refused), folder.untold) == (MOST_REFUSED, 5)


@pytest.mark.parametrize("text", ["", "[]", '{"/x": 7}', '{"/x": "yesterday"}'])
def test_a_note_that_cannot_be_read_is_no_folder(vault: Vault, text: str) -> None:
    (vault.state / "watched.json").write_text(text)
    assert watched_folders(vault.state) == ()
