"""The errors users meet, one class per exit code of the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.model.export import SkippedLine


class VaultError(Exception):
    """Base of every error that is shown to a user as one line.

    `file` and `line` name where the cause lies, `hint` what to do next. `problems` are all the
    lines of a file that something is wrong with, where there may be several.
    """

    exit_code = 1

    def __init__(
        self,
        message: str,
        *,
        file: str | None = None,
        line: int | None = None,
        hint: str | None = None,
        problems: tuple[SkippedLine, ...] = (),
    ) -> None:
        super().__init__(message)
        self.message = message
        self.file = file
        self.line = line
        self.hint = hint
        self.problems = problems

    @property
    def details(self) -> Mapping[str, object]:
        """What else its JSON says, by key."""
        return {}

    def __str__(self) -> str:
        place = ""
        if self.file is not None:
            place = f"{self.file}, line {self.line}: " if self.line else f"{self.file}: "
        elif self.line:
            place = f"line {self.line}: "
        hint = f" ({self.hint})" if self.hint else ""
        return " ".join(f"{place}{self.message}{hint}".split())


class WrongUsage(VaultError):
    """The call itself is wrong: a bad name, selector or option."""

    exit_code = 2


class AxisToChoose(WrongUsage):
    """A file holds several axes, and one must be chosen; `channels` are their numbers."""

    def __init__(self, channels: tuple[int, ...], *, file: str | None = None) -> None:
        listed = ", ".join(map(str, channels))
        super().__init__(
            f"the export holds channels {listed}", file=file, hint="pick one: --channel N"
        )
        self.channels = channels


class Refused(VaultError):
    """A guard said no: wrong axis, approval policy."""

    exit_code = 3


class Unreadable(VaultError):
    """An input file cannot be read or does not say what it should."""

    exit_code = 4


class Damaged(VaultError):
    """The vault contradicts itself."""

    exit_code = 5


class Unavailable(VaultError):
    """The vault is busy or cannot be written."""

    exit_code = 6


class InternalError(VaultError):
    """A fault of the program itself, told by a number that its log has too."""

    exit_code = 70  # EX_SOFTWARE of sysexits.h; from memory
