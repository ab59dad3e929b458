"""Many objects out of one git process: the same as each by itself, damaged ones too."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import islice, pairwise
from typing import Any

from vault.store.git import object_stream as git_stream
from vault.store.vault import Vault

Take = Callable[..., Any]
Git = Callable[..., str]
PATH = "machines/m1/lift/parameters.yaml"


def every_object(git: Git) -> list[str]:
    lines = git("cat-file", "--batch-check", "--batch-all-objects").splitlines()
    return [line.split()[0] for line in lines]


def test_a_stream_gives_what_asking_for_each_does(
    vault: Vault, take: Take, export_text: Callable[..., str], git: Git
) -> None:
    for day in range(1, 10):
        take(export_text(str(day)), f"2026-03-0{day}T08:00:00+00:00")
    names = every_object(git) * 3
    assert len(names) > 200
    with vault.repository.stream() as stream:
        found = list(stream.find(names))
    for name, one in zip(names, found, strict=True):
        assert one is not None
        assert one[0] == name
        assert one == vault.repository.object(name)


def test_what_is_not_there_is_none_and_the_others_come_in_their_order(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    commit = take(export_text("1"), "2026-03-01T08:00:00+00:00").snapshot.id
    there = f"{commit}:{PATH}"
    odd = ["0" * 40, "", "no such name", "a\nb", f"{commit}:no/such/file", f"{commit}:\udcff", "é"]
    odd.append("x" * 9000)  # more than a pipe takes at once
    names = [name for one in odd for name in (there, one)] * 20
    content = vault.read(PATH, commit)
    with vault.repository.stream() as stream:
        assert list(stream.contents(names)) == [content, None] * (len(names) // 2)
        assert list(stream.contents([there], "commit")) == [None]
    with vault.repository.stream_ids() as ids:
        wanted = vault.repository.resolve(there)
        assert list(ids.ids(names)) == [wanted, None] * (len(names) // 2)


def test_a_question_that_nobody_heard_to_its_end_spoils_no_other(
    vault: Vault, take: Take, export_text: Callable[..., str], git: Git
) -> None:
    take(export_text("1"), "2026-03-01T08:00:00+00:00")
    names = every_object(git)
    with vault.repository.stream() as stream:
        left = stream.find(names)
        assert len(list(islice(left, 2))) == 2
        assert [found and found[0] for found in stream.find(names)] == names


def test_a_damaged_object_is_none_and_those_after_it_are_read(
    vault: Vault, take: Take, export_text: Callable[..., str], git: Git, unpack: Callable[[], None]
) -> None:
    commits = [
        take(export_text(str(day)), f"2026-03-0{day}T08:00:00+00:00").snapshot.id
        for day in range(1, 6)
    ]
    unpack()
    names = [f"{commit}:{PATH}" for commit in commits]
    before = [vault.read(PATH, commit) for commit in commits]
    blob = vault.repository.resolve(names[2]) or ""
    path = vault.repository.path / "objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    path.write_bytes(path.read_bytes()[:30])
    before[2] = None
    with Vault.open(vault.repository.path) as again, again.repository.stream() as stream:
        assert list(stream.contents(names)) == before
        assert list(stream.contents(names * 4)) == before * 4


def test_names_are_taken_some_at_once_and_never_many_ahead(vault: Vault) -> None:
    taken: list[int] = []

    def names() -> Iterator[str]:
        for number in range(100):
            taken.append(number)
            yield "HEAD"

    with vault.repository.stream() as stream:
        ahead = []
        for answered, found in enumerate(stream.find(names())):
            assert found is not None
            ahead.append(len(taken) - answered)
    assert len(ahead) == 100
    assert max(ahead) <= git_stream._AHEAD
    assert ahead[0] > 1
    refilled = sum(after >= before for before, after in pairwise(ahead))
    assert refilled < 20
