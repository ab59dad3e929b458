"""Faults of the program itself: each gets a number and a line in the log, and stops one thing."""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import PurePath
from traceback import extract_tb

from vault.model.errors import InternalError, VaultError
from vault.model.visible_text import log_line

LOG = logging.getLogger("axisvault")
_MOST_FRAMES = 12
_MOST_TEXT = 300
_OURS = ("vault", "webui", "example_machines")


def internal_error(error: BaseException, what: str, *, is_secret: bool = False) -> InternalError:
    """The error to show for an exception that nobody expected in `what`; the log has its reason.

    `is_secret` keeps the text of the exception out of the log, where it may hold a password.
    """
    if isinstance(error, InternalError):
        return error
    number = secrets.token_hex(4)
    said = "" if is_secret else f": {str(error)[:_MOST_TEXT]}"
    frames = extract_tb(error.__traceback__)[-_MOST_FRAMES:]
    places = " < ".join(f"{_place(f.filename)}:{f.lineno} {f.name}" for f in reversed(frames))
    LOG.error("%s", log_line(f"{number} {what}: {type(error).__name__}{said} at {places}"))
    return InternalError(
        f"internal error {number} ({what})",
        hint="this is a fault of the program, not yours; its log has a line with that number",
    )


def _place(filename: str) -> str:
    """A file of the program below its top folder, of any other its name."""
    parts = PurePath(filename).parts
    start = next((at for at, part in reversed(list(enumerate(parts))) if part in _OURS), -1)
    return "/".join(parts[start:])


@contextmanager
def told_apart(
    tell: Callable[[VaultError], None], what: str, *passing: type[BaseException]
) -> Iterator[None]:
    """Tell an error of one thing of many, and go on with the next.

    `what` names the thing. What is an instance of `passing` concerns them all and is raised.
    """
    try:
        yield
    except passing:
        raise
    except VaultError as error:
        tell(error)
    except Exception as error:
        tell(internal_error(error, what))
