"""The dictionary of the example family hazel; `python -m tests.drafted_dictionary` drafts it anew.

It is what a draft makes of the palletiser's workbooks, with the roles that an (invented) person
confirmed or denied. What that person said is read from the dictionary itself, so it stays.
"""

from __future__ import annotations

import re

from example_machines import FAMILIES, FOLDER
from vault.jobs.demo.unknown_drive import draft_example
from vault.jobs.drafting.draft_text import draft_text
from vault.jobs.families.role_edits import comments, with_roles
from vault.store.files.edited_files import read_family

DICTIONARY = FAMILIES / "hazel.yaml"
_SAID = re.compile(r"(role confirmed by|no role, says) (.+)$")


def drafted() -> bytes:
    """What a draft makes of the workbooks, before anybody looked at it."""
    return draft_text(draft_example(FOLDER, []))


def said() -> tuple[dict[str, str | None], str]:
    """Roles by code as a person said them, None for no role; and who that was, and when."""
    content = DICTIONARY.read_bytes()
    parameters = read_family(content, DICTIONARY.name).parameters
    found = {code: _SAID.search(text) for code, text in comments(content).items()}
    settled = {code: match for code, match in found.items() if match}
    (who,) = {match[2] for match in settled.values()}
    return {code: parameters[code].role for code in settled}, who


def settled() -> bytes:
    """The draft with what was said."""
    roles, who = said()
    return with_roles(drafted(), DICTIONARY.name, roles, who)


if __name__ == "__main__":
    DICTIONARY.write_bytes(settled())
