"""The page of the manual about the rules of `check`, made from their register.

`python -m tests.reference` writes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from vault.meaning.checks import Rule, cross_rules, rules
from vault.model.wording import capitalised

PAGE = Path(__file__).parents[1] / "vault/manual/checks.md"
_HEAD = """\
# Checks

`axisvault check M/A` looks whether a parameter set is plausible: alone, against the axis record, among the other axes of the machine, and beside the
set of the controller where the axis has one. A rule says nothing where something is not known. Names stay: findings are accepted by them.

This page is made from the register that the program itself uses: `python -m tests.reference`.

"""  # noqa: E501
_ACROSS = """\
## Drive and controller

Where an axis has a set of its controller too (`axisvault ingest FILE --to M/A:controller`), both are held against each other and against the axis
record; `check` says which set it took: the latest beside the latest, that of its moment beside an older one, the golden one beside the golden one, and
the latest where there is none. `restore plan` and `restore check` tell where the controller's program does not fit the drive as restored, and `audit`
takes what does not fit for a suspect.

- Only constants of a program are judged: what it writes elsewhere, or knows at run time only, is no number that a set has.
- Positions, speeds and ramps are in the controller's user unit: that of `scale` under `controller` in the axis record, else of the way that the set gives
  its counts for; speeds and ramps are units per s and s^2. Without a unit nothing is held against the drive, which is said once.
- A count is one user unit of the drive. Of a drive whose scale is in parameters of the maker's own it may be an increment of the encoder: what fits to the
  count is taken. More than 1 % between both sides is a hazard, and no other figure of the controller's is told until that is mended.
- Positions of both sides are taken to count from one zero.
- What the controller writes into the drive when it starts is a parameter of the drive in the controller's set: check a restore after a power cycle of both.

"""  # noqa: E501
_OWN = "\n## The set alone, and the axis record\n\n"


def checks_page() -> str:
    """The whole page."""
    across = cross_rules()
    own = {name: found for name, found in rules().items() if name not in across}
    return "".join((_HEAD, _ACROSS, *_table(across.items()), _OWN, *_table(own.items())))


def _table(found: Iterable[tuple[str, Rule]]) -> Iterator[str]:
    yield "| rule | what it looks at |\n|---|---|\n"
    for name, function in sorted(found):
        said = " ".join((function.__doc__ or "").partition("\n\n")[0].split())
        yield f"| `{name}` | {capitalised(said)} |\n"


def write() -> None:
    """Write it."""
    PAGE.write_text(checks_page(), encoding="utf-8")
