"""What git says of the signatures of commits."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_AT_ONCE = 500  # commits that one git command is given


def signature_verdicts(
    repository: Repository, commits: Sequence[str], signers: bytes
) -> Iterator[tuple[str, str]]:
    """What git says of the signatures of some commits, where `signers` are allowed to sign.

    `signers` is the content of a file of allowed signers, as OpenSSH reads it; a verdict is the
    letter of `%G?` in git's own documentation of its log: `G` is good, `N` is none.
    """
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "allowed_signers"
        file.write_bytes(signers)
        log = ("-c", f"gpg.ssh.allowedSignersFile={file}", "log", "--no-walk=unsorted")
        for start in range(0, len(commits), _AT_ONCE):
            some = commits[start : start + _AT_ONCE]
            for line in repository.git.lines(*log, "--format=%H %G?", *some):
                commit, verdict = line.split()[:2]
                yield commit, verdict
