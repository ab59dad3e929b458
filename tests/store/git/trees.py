"""Trees that tests make with the program git, by hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping

Git = Callable[..., str]


def tree_of(git: Git, files: Mapping[str, str]) -> str:
    """The id of a tree with these files and no others."""
    git("read-tree", "--empty")
    for path, text in files.items():
        blob = git("hash-object", "-w", "--stdin", stdin=text.encode()).strip()
        git("update-index", "--add", "--cacheinfo", f"100644,{blob},{path}")
    return git("write-tree").strip()
