"""Writing what a command makes into a file that is not there yet."""

from __future__ import annotations

from pathlib import Path

from vault.model.errors import Unavailable, WrongUsage


def write_new(path: Path, content: bytes) -> None:
    """Write a new file. Raises WrongUsage where there is one, Unavailable where none can be."""
    try:
        with path.open("xb") as file:
            file.write(content)
    except FileExistsError as error:
        raise WrongUsage(f"{path} is there already", hint="name a new file") from error
    except OSError as error:
        raise Unavailable(f"{path} cannot be written: {error.strerror}") from error
