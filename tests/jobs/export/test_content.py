"""Reading the bytes of an export."""

from __future__ import annotations

from pathlib import Path

import pytest

from vault.jobs.export.content import MAX_BYTES, read_content
from vault.model.errors import Unreadable


@pytest.mark.parametrize(("size", "is_read"), [(MAX_BYTES, True), (MAX_BYTES + 1, False)])
def test_a_file_is_read_up_to_a_size(tmp_path: Path, size: int, is_read: bool) -> None:
    path = tmp_path / "a.csv"
    with path.open("wb") as stream:
        stream.write((b"x" * 1023 + b"\n") * (size // 1024) + b"x" * (size % 1024))
    if is_read:
        assert len(read_content(path)) == size
        return
    with pytest.raises(Unreadable, match="exports up to 32 MiB are read") as caught:
        read_content(path)
    assert (caught.value.file, caught.value.line) == (str(path), 1)


def test_a_file_that_grows_while_it_is_read_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(b"x" * 101)
    monkeypatch.setattr("vault.jobs.export.content.MAX_BYTES", 100)
    small = tmp_path / "small.csv"
    small.write_bytes(b"x")
    seen = small.stat()
    with monkeypatch.context() as growing:
        growing.setattr(Path, "stat", lambda *_, **__: seen)
        with pytest.raises(Unreadable, match="longer than"):
            read_content(path)


@pytest.mark.parametrize(
    ("content", "said"), [(None, "cannot be read: No such file"), (b" \r\n\t", "file is empty")]
)
def test_a_file_that_is_missing_or_empty_is_named(
    tmp_path: Path, content: bytes | None, said: str
) -> None:
    path = tmp_path / "a.csv"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(Unreadable, match=said) as caught:
        read_content(path)
    assert caught.value.file == str(path)


def test_a_folder_is_no_export(tmp_path: Path) -> None:
    with pytest.raises(Unreadable, match="this is a folder, not an export"):
        read_content(tmp_path)


@pytest.mark.parametrize(
    "content",
    [b"\xef\xbb\xbf", b"\xef\xbb\xbf \r\n", b"\xff\xfe", b"\xfe\xff\0 \0\n", b" \n", b""],
)
def test_a_file_of_blanks_behind_its_mark_is_empty(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    with pytest.raises(Unreadable, match="the file is empty"):
        read_content(path)


@pytest.mark.parametrize("content", [b"\xef\xbb\xbfa", b"\xff\xfea\0", b"\0\0"])
def test_a_file_of_anything_else_is_not(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.csv"
    path.write_bytes(content)
    assert read_content(path) == content
