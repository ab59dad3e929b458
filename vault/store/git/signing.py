"""Signing commits with an SSH key that its owner has already, as git itself does (gpg.format ssh).

$AXISVAULT_SIGNING_KEY names the key: a private key file, or a public one whose private part an
agent holds. Signatures are made and checked by OpenSSH's ssh-keygen.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from vault.model.errors import Unavailable

VARIABLE = "AXISVAULT_SIGNING_KEY"
_INSTALL = "install it: openssh-client in Debian"


def signing_key() -> Path | None:
    """The key to sign with; None where nothing is to be signed. Raises Unavailable."""
    name = os.environ.get(VARIABLE)
    if not name:
        return None
    path = Path(name).expanduser()
    if not path.is_file():
        raise Unavailable(f"there is no signing key at {path}", hint=f"${VARIABLE} names it")
    return path


def signed(commit: bytes, key: Path) -> bytes:
    """The raw text of a commit with its signature in the header. Raises Unavailable."""
    try:
        done = subprocess.run(  # noqa: S603 (words of ours, no shell)
            ["ssh-keygen", "-Y", "sign", "-n", "git", "-f", str(key)],  # noqa: S607 (as git finds it)
            input=commit, capture_output=True, check=False,
        )  # fmt: skip
    except FileNotFoundError as error:
        raise Unavailable("the program ssh-keygen is not installed", hint=_INSTALL) from error
    if done.returncode != 0:
        reason = done.stderr.decode("utf-8", "replace").strip().splitlines()
        complaint = reason[-1] if reason else f"it ended with status {done.returncode}"
        raise Unavailable(f"the commit could not be signed: {complaint}")
    head, message = commit.split(b"\n\n", 1)
    signature = done.stdout.decode().strip().replace("\n", "\n ")
    return head + b"\ngpgsig " + signature.encode() + b"\n\n" + message
