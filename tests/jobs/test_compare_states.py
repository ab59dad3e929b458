"""Comparing states of the example machines (invented): one axis over time, and two axes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from vault.cli import axisvault


@pytest.fixture(scope="module")
def works(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    folder = tmp_path_factory.mktemp("works") / "vault"
    assert CliRunner().invoke(axisvault, ["demo", str(folder)]).exit_code == 0
    yield folder


def told(works: Path, *words: str) -> str:
    result = CliRunner().invoke(axisvault, ["--vault", str(works), *words])
    assert result.exit_code == 0, result.output
    return " ".join(result.output.split())


def test_what_a_new_encoder_shifts_is_folded_under_its_one_cause(works: Path) -> None:
    text = told(
        works, "compare", "glaze-line-1/lift@2019-12-31", "glaze-line-1/lift@2025-11-17T12:00:00Z"
    )
    assert text.count("## cause") == 1
    assert "really 0.0625 times what it was" in text  # 2^20 counted on an encoder of 2^24
    assert text.count("still") < 8
    assert "more; --all lists them" in text


def test_everything_lists_what_is_folded(works: Path) -> None:
    sides = ["glaze-line-1/lift@2019-12-31", "glaze-line-1/lift@2025-11-17T12:00:00Z"]
    assert told(works, "compare", *sides, "--all").count("shifted") > 8


def test_twins_are_named_by_what_tells_them_apart(works: Path) -> None:
    text = told(works, "compare", "glaze-line-1/lift@first", "glaze-line-2/lift")
    assert "Position gain: 30 1/s on glaze-line-1, 33 1/s on glaze-line-2" in text
    assert "became" not in text


def test_one_axis_is_told_over_time(works: Path) -> None:
    text = told(works, "compare", "glaze-line-1/belt-feed@first", "glaze-line-1/belt-feed")
    assert "became" in text
    assert " on glaze-line-1" not in text
