"""The vault on disk: git repository, YAML text, derived index, lock."""

import os

# GitPython shall not stop the program where git is missing: `Repository` says it better.
os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")
