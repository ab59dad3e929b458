"""The page of the manual about margins, made from their register and the example works.

`python -m tests.reference` writes it, and adds names that are new to `margin_names.json`, which
holds every name that ever was: people put floors under margins by name, so none is taken away.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from vault.behaviour.behave import THEMES, load_themes, margins_of
from vault.behaviour.facts import MARGINS, MarginRule
from vault.behaviour.state import State, Value
from vault.jobs.state.selectors import resolve, view_of
from vault.meaning.margin_text import KINDS
from vault.meaning.missing_words import is_record_key
from vault.model import roles
from vault.model.axis import AxisRecord, Duty
from vault.model.quantities import Measure
from vault.model.wording import capitalised
from vault.store.vault import Vault

PAGE = Path(__file__).parents[1] / "vault/manual/margins.md"
NAMES_FILE = Path(__file__).with_name("margin_names.json")
_HEAD = """\
# Margins

A margin is what an axis has, held against what it must cover: its ratio is have over need, and 1 is the edge. `axisvault margins M/A` shows
every margin of an axis, of each kind first what is short or below its floor, the least ratio first; what has no sense for the axis is missing, and
what cannot be told says what to enter. The viewer has the same at `/axis/M/A/margins`. A comparison begins with the margins that are short or crossed 1,
and ends with those that merely moved; `axisvault spread PATTERN --margins` sets axes side by side.

- `!!` (page: ▼) short of 1, or below its floor · `?!` (▽) it may be, as the true ratio may be more · `ok` (△) holds · `??` (?) cannot be told.
- Stops and drops are reckoned from the speed that the axis may have when its controller fails, and name it: the set's own limit, else the motor's highest.

- A margin that **protects** keeps people or machine from harm; one of **availability** keeps the axis running. Some availability margins
  protect where the load hangs, since the drive lets go when it trips.
- A ratio is `exact`, or the true one is `at_least` or `up_to` so much; `unknown` with a ratio may be more as well as less.
- In JSON figures are in SI and strings; `Infinity` is one without end: nothing is needed, or nothing stops the axis.
- A hedge says what a maker may do otherwise, so that the figure would be another.

A floor under a margin, of 1 or more, stands in the axis record, and `check`, `drift` and alerts tell where a margin is not shown to be that much:

```yaml
margins: {stop_room: 1.2, brake_hold: 1.5}
```

Names stay. *Asks for* lists what a margin may rest on: keys of the axis record, and parameters by their role; which of them, the axis decides.

This page is made from the register that the program itself uses: `python -m tests.reference`.

| name | what is held against what | kind |
|---|---|---|
"""  # noqa: E501
_NO_RESISTOR = Value(0.0, None, 0.0, 0, 0)
_POSITION_MODE = Value(1.0, None, 1.0, 1, 1)
_GAIN = Value(40.0, "gain", 40.0, None, 40)
_DUTY = Duty.model_validate({"cycle": "4 s", "moves": [{"distance": "300 mm"}]})


def margins_page(works: Path) -> str:
    """The whole page; `works` is the folder of the example vault."""
    load_themes()
    needs = _needs(works)
    by_theme = {theme: [r for r in MARGINS.values() if r.theme == theme] for theme in THEMES}
    parts = [_HEAD, *(_line(rule) for rules in by_theme.values() for rule in rules)]
    for theme, rules in by_theme.items():
        if rules:
            parts.append(f"\n## {theme.capitalize()}\n")
        for rule in rules:
            parts += _section(rule, needs.get(rule.name, set()))
    return "".join(parts)


def _line(rule: MarginRule) -> str:
    link = f"[`{rule.name}`](#{rule.name})"
    return f"| {link} | {rule.title} | {rule.kind} |\n"


def _section(rule: MarginRule, needs: set[str]) -> Iterator[str]:
    why = (rule.compute.__doc__ or "").split("\n\n")[0]
    yield f"\n### {rule.name}\n\n{capitalised(rule.title)}: {KINDS[rule.kind]}. {why}\n"
    keys = sorted(name for name in needs if is_record_key(name))
    named = sorted({name.partition(".")[0] for name in needs if roles.find(name) is not None})
    for words, names in (("the axis record", keys), ("the set", named)):
        if names:
            yield f"\n- asks {words} for {', '.join(f'`{name}`' for name in names)}"
    yield "\n" if needs else ""


def _needs(works: Path) -> dict[str, set[str]]:
    """Everything that was asked for each margin on one of the example axes, or a variant of it."""
    found: dict[str, set[str]] = {}
    with Vault.open(works) as vault:
        for address in vault.axes():
            state = view_of(resolve(vault, str(address))).state
            for each in (state, *_variants(state)):
                for name, margin in margins_of(each).items():
                    found.setdefault(name, set()).update(margin.rests_on, margin.missing)
    return found


def _variants(state: State) -> Iterator[State]:
    """The same axis without a resistor, with a gain that tells a bandwidth, in another mode, with
    a fuller record."""
    yield state.substituted({"modes_of_operation": _POSITION_MODE})
    yield state.substituted({"braking_resistor_used": _NO_RESISTOR})
    yield state.substituted({"velocity_gain": _GAIN})
    if state._record is not None:
        yield state.substituted({}, record=_fuller(state._record))


def _fuller(record: AxisRecord) -> AxisRecord:
    """The record with what the examples leave out."""
    update: dict[str, object] = {"duty": _DUTY}
    if record.mechanics is not None:
        more = {"resonance": Measure.parse("180 Hz")}
        update["mechanics"] = record.mechanics.model_copy(update=more)
    if record.motor is not None:
        corner = {"corner_speed": record.motor.rated_speed}
        update["motor"] = record.motor.model_copy(update=corner)
    return record.model_copy(update=update)


def frozen_names() -> list[str]:
    """Names of margins that there ever were."""
    found: list[str] = json.loads(NAMES_FILE.read_text(encoding="utf-8"))
    return found


def write(works: Path) -> None:
    """Write the page, and add names that are new."""
    PAGE.write_text(margins_page(works), encoding="utf-8")
    names = sorted({*frozen_names(), *MARGINS})
    NAMES_FILE.write_text(f"{json.dumps(names, indent=1)}\n", encoding="utf-8")
