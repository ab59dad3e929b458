"""Names of what is kept under the moment it was taken at: trials and traces."""

from __future__ import annotations

import re
from datetime import UTC, datetime

_FORM = "%Y-%m-%dT%H%M%SZ"
_NAME = re.compile(r"\d{4}-\d{2}-\d{2}T\d{6}Z", re.ASCII)


def name_of_moment(taken_at: datetime) -> str:
    """What it is called: when it was taken, to the second, in UTC."""
    return taken_at.astimezone(UTC).strftime(_FORM)


def moment_of_name(name: str) -> datetime:
    """When what has this name was taken, to the second."""
    return datetime.strptime(name, _FORM).replace(tzinfo=UTC)


def is_moment_name(text: str) -> bool:
    """Whether a text names a moment that there is."""
    if _NAME.fullmatch(text) is None:
        return False
    try:
        moment_of_name(text)
    except ValueError:
        return False
    return True
