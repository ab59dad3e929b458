"""Who works at this computer, as git was told."""

from __future__ import annotations

from vault.store.git._program import user_setting


def git_user() -> str | None:
    """`Name <mail>` of the user by git's settings, None where they say nothing."""
    name = user_setting("user.name")
    return f"{name} <{user_setting('user.email')}>" if name else None
