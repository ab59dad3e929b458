"""The short form of the campaign: hostile variants of every kind of input, some hundreds."""

from __future__ import annotations

import logging
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.fuzz.campaign import Report, lines, run
from tests.fuzz.edits import edited
from tests.fuzz.targets import Target, targets
from tests.sweeps import part_of
from vault.model.errors import Unreadable


def test_every_variant_is_read_or_refused_in_our_words(works: Path, tmp_path: Path) -> None:
    logging.getLogger("webui").setLevel(logging.CRITICAL)
    with targets(works, tmp_path) as wanted:
        report = run(wanted, part_of(5, 2), 1)
    assert report.findings == {}, "\n".join(lines(report))
    assert min(report.inputs[target.name] for target in wanted) >= 1
    assert sum(report.refused.values()) > 100, "else nothing hostile was tried"


def test_every_seed_is_whole(works: Path, tmp_path: Path) -> None:
    with targets(works, tmp_path) as wanted:
        assert any(target.name == "export .dcf" for target in wanted)
        for target in wanted:
            for seed in target.seeds:
                target.read(seed)


def one_target(read: Callable[[bytes], object]) -> Report:
    return run([Target("one", (b"abc",), read, 100)], 1, 1)


def test_what_is_not_ours_is_a_finding_with_its_place() -> None:
    def bad(content: bytes) -> object:
        raise ZeroDivisionError("by 0")

    def refusing(content: bytes) -> object:
        raise Unreadable("no")

    found = one_target(bad)
    assert [finding.reason for finding in found.findings.values()] == ["ZeroDivisionError: by 0"]
    assert not found.is_clean
    assert one_target(refusing).is_clean
    assert one_target(len).refused["one"] == 0


@pytest.mark.parametrize(
    ("edit", "wanted"),
    [
        (("put", 32768, 0, b"X"), b"ab\nXcd\n"),
        (("replace", 0, 0, b"X"), b"Xb\ncd\n"),
        (("cut", 0, 0, b""), b"b\ncd\n"),
        (("end", 32768, 0, b""), b"ab\n"),
        (("flip", 0, 0, b""), b"`b\ncd\n"),
        (("lines", 0, 1, b""), b"cd\nab\n"),
        (("double", 0, 0, b""), b"aab\ncd\n"),
    ],
)
def test_edits_do_what_they_say(edit: tuple[str, int, int, bytes], wanted: bytes) -> None:
    assert edited(b"ab\ncd\n", [edit]) == wanted
