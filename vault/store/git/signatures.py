"""The signatures of commits: what git says of them, and whether they are the author's own."""

from __future__ import annotations

import base64
import binascii
import re
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_AT_ONCE = 500  # commits that one git command is given
_KEY = re.compile(r"^(?P<who>\S+(?: \S+)*?) (?:ssh|ecdsa|sk)-\S+ (?P<key>[A-Za-z0-9+/=]{40,})")
# What git says of a signature (git log, %G?).
_WHY = {
    "N": "it is not signed, and had to be",
    "B": "its signature is wrong: the commit was changed after it was signed",
    "U": "it is signed with a key that was not allowed then",
    "E": "its signature cannot be checked",
    "X": "its signature had expired",
    "Y": "it is signed with a key that had expired",
    "R": "it is signed with a key that was revoked",
}


@dataclass(frozen=True, slots=True)
class Signature:
    """Of a commit: git's verdict, a letter of `%G?` in the documentation of git log; `G` is good.

    `signer` are the principals that its key is allowed for, None where it is for none; `author` is
    who the commit says wrote it.
    """

    commit: str
    verdict: str
    author: str
    signer: str | None

    @property
    def objection(self) -> str | None:
        """What is wrong with it; None where it is good, and the author's own."""
        if self.verdict != "G":
            return _WHY.get(self.verdict, "its signature is not good")
        if self.signer is None or not _is_of(self.signer, self.author):
            return f"its author is {self.author}, and it is signed by {self.signer or 'nobody'}"
        return None


def signatures(
    repository: Repository, commits: Sequence[str], signers: bytes
) -> Iterator[Signature]:
    """The signatures of some commits, where `signers` are allowed to sign.

    `signers` is the content of a file of allowed signers, as OpenSSH reads it.
    """
    principals = _principals(signers)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "allowed_signers"
        file.write_bytes(signers)
        log = ("-c", f"gpg.ssh.allowedSignersFile={file}", "log", "--no-walk=unsorted")
        for start in range(0, len(commits), _AT_ONCE):
            some = commits[start : start + _AT_ONCE]
            for line in repository.git.lines(*log, "--format=%H %G? %GF%x00%an <%ae>", *some):
                found, _, author = line.partition("\0")
                commit, verdict, *key = found.split()
                yield Signature(commit, verdict, author, principals.get(key[0] if key else ""))


def _principals(signers: bytes) -> dict[str, str]:
    """For whom each key is allowed, by its fingerprint as OpenSSH writes it (SHA256:…)."""
    allowed: dict[str, str] = {}
    for line in signers.decode("utf-8", "replace").splitlines():
        match = _KEY.match(line.strip())
        if match is None:
            continue
        try:
            digest = sha256(base64.b64decode(match["key"], validate=True)).digest()
        except binascii.Error:
            continue
        fingerprint = f"SHA256:{base64.b64encode(digest).decode().rstrip('=')}"
        who = match["who"].split(" ")[0].strip('"')  # options may follow the principals
        allowed[fingerprint] = ",".join(filter(None, (allowed.get(fingerprint), who)))
    return allowed


def _is_of(principals: str, author: str) -> bool:
    """Whether principals, `a@b,*@c` with `!` before what is left out, take an author in."""
    mail = author.partition("<")[2].rstrip("> ").casefold()
    patterns = [pattern.casefold() for pattern in principals.split(",")]
    if any(fnmatchcase(mail, one[1:]) for one in patterns if one.startswith("!")):
        return False
    return any(fnmatchcase(mail, one) for one in patterns if not one.startswith("!"))
