"""What follows from a difference beside the parameters: cabinet, link, mechanics, plates.

No export holds these, and people name cabinet settings as they like: those go by the words in their
names, and to a safety function also by the words in their values.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from vault.meaning import surrounding_effects as effects
from vault.meaning.changes import Surrounding
from vault.meaning.consequences import rank
from vault.meaning.sentences import surrounding_sentence
from vault.meaning.surrounding_effects import Case, Effect, says, times_as_much

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord

    Neighbours = Callable[[], Mapping[str, AxisRecord]]

TAKEN = (
    "{axes} of this machine {have} it too: on one bus, what the controller sends to one moves the "
    "other."
)
AS_TAKEN = "That is what was taken without it."
ADDRESS = (
    "The controller looks for the drive there: with another address it finds none, or moves the "
    "axis of another drive."
)
MAY_ADDRESS = (
    "If it sets the address: the controller finds no drive there, or moves the axis of another "
    "drive."
)
SAFE = "It belongs to a safety function: have it validated by the machine's own procedure."
OVER_TRAVEL = "Actuate the switch by hand and see that motion that way stops."
TURNS = (
    "It can decide which way the axis moves, or whether it is under control at all: make the first "
    "move slowly, ready to stop."
)
FOLLOWS = "Drift is judged against the baseline of the axis that is named there."
RELEASE = "The drive must wait as long before it moves: its brake release delay."
LOAD_ENCODER = "The drive must reckon with it: axisvault check holds 60E6h and 60EBh against it."
MOTOR = "Another motor has its own ratings, encoder and commutation: compare its plate."
GAIN_UNIT = "1 (m/min)/mm is 16.667 1/s: the same number is another stiffness."
SCALING = "Controller and drive must mean the same by a number, or every way is another one."
HOME_SWITCH = "Every position rests on it: home the axis anew and see that it homes where it did."
CABINET_BRAKE = "See that the brake opens, and holds when the drive is disabled."
CABINET = "No export holds it: compare it in the cabinet."


def explained(
    found: Iterable[Surrounding],
    left: AxisRecord | None,
    right: AxisRecord | None,
    sides: tuple[str, str] | None = None,
    *,
    neighbours: Neighbours = dict,
    alone: bool = False,
) -> tuple[Surrounding, ...]:
    """Differences with their consequence and a sentence each, worst first.

    `left` and `right` are the axis records, `sides` name two different axes. `neighbours` gives the
    records of the machine's other axes by name, asked for only where an address differs. `alone`
    tells that no causes stand beside: what those would say is said here then.
    """
    ask = cache(neighbours)
    told = [
        _explained(Case(one, left, right, alone), sides, ask)
        for around in found
        for one in _leaves(around)
    ]
    return tuple(sorted(told, key=lambda around: (rank(around.consequence), around.path)))


def _leaves(around: Surrounding) -> Iterator[Surrounding]:
    """A section that only one side has, setting by setting: each has its own consequence."""
    left, right = around.left, around.right
    section = right if left is None else left
    if not isinstance(section, Mapping) or None not in (left, right):
        yield around
        return
    for key, value in section.items():
        path = f"{around.path}.{key}"
        one, other = (value, None) if right is None else (None, value)
        if value not in (None, (), []):
            yield from _leaves(Surrounding(path, one, other))


def _explained(case: Case, sides: tuple[str, str] | None, neighbours: Neighbours) -> Surrounding:
    consequence, effect = _look_up(case, two_axes=sides is not None)
    more = effect(case) if effect is not None else ""
    if effect in _ADDRESSES:
        if sides is not None:  # two axes cannot have the same
            consequence, more = "record", ""
        elif taken := _taken(case, neighbours()):
            consequence = "hazard"
            have = "has" if len(taken) == 1 else "have"
            more += f" {TAKEN.format(axes=' and '.join(taken), have=have)}"
    if case.says_what_was_taken:
        consequence, more = "record", AS_TAKEN
    said = surrounding_sentence(case.around, sides)
    return replace(
        case.around, consequence=consequence, explanation=f"{said} {more}" if more else said
    )


def _look_up(case: Case, *, two_axes: bool) -> tuple[str, Effect | None]:
    path = re.sub(r"[\s-]+", "_", case.around.path.lower())
    if path.startswith("cabinet.") and any(
        _SAFETY.search(str(value).lower()) for value in (case.around.left, case.around.right)
    ):
        return "hazard", says(SAFE)
    for pattern, usual, hanging, effect in _RULES:
        if re.search(pattern, path):
            own = two_axes and path.startswith("position_gain_unit")  # each reads its gain by it
            return (hanging if case.may_hang and not own else usual), effect
    return "record", None


def _taken(case: Case, neighbours: Mapping[str, AxisRecord]) -> list[str]:
    """Names of the machine's other axes that have the same address."""
    section, _, key = case.around.path.partition(".")
    if section == "nameplate":
        section, key = "controller_link", "node_address"
    wanted = same_address(case.around.right)
    return [
        name
        for name, record in sorted(neighbours.items())
        if wanted is not None and same_address(getattr(record, section, {}).get(key)) == wanted
    ]


def same_address(value: object) -> int | str | None:
    """An address in the form in which two spellings of one are equal: 23, "023", "0x17"."""
    if value is None or isinstance(value, bool) or not str(value).strip():
        return None
    text = str(value).strip().lower()
    with suppress(ValueError):
        return int(text, 16 if text.startswith("0x") else 10)
    return text


def _words(*words: str) -> str:
    """Any of some words, not as a part of another one."""
    return rf"(?<![a-z])({'|'.join(words)})(?![a-z])"


_ADDRESSED = says(ADDRESS)
_MAY_ADDRESS = says(MAY_ADDRESS)
_ADDRESSES = (_ADDRESSED, _MAY_ADDRESS)
_SAFETY = re.compile(
    _words("sto", "ss1", "ss2", "sls", "sbc", "e.?stop", "emergency.?stop", "safe", "safety")
)

# path, consequence, consequence where a load hangs or may hang, what to say
_RULES: tuple[tuple[str, str, str, Effect | None], ...] = (
    (r"^nameplate\.node_id$", "link", "link", _ADDRESSED),
    (r"^nameplate\.encoder", "travel", "travel", None),
    (r"^nameplate\.motor$", "electrical", "electrical", None),
    (r"^(nameplate|designed)\.", "record", "record", None),
    (r"^(title|note|export_every)$", "record", "record", None),
    (r"^follows$", "record", "record", says(FOLLOWS)),
    (r"^mechanics\.(kind|lead|pulley|pinion|pole|gearbox)", "travel", "hazard", effects.way),
    (r"^mechanics\.(hard_stop|stroke)", "travel", "travel", effects.stops),
    (r"^mechanics\.(orientation|inclination|counterbalance)", "hazard", "hazard", effects.pull),
    (r"^mechanics\.moving_mass", "dynamics", "hazard", effects.weight),
    (r"^mechanics\.", "dynamics", "dynamics", times_as_much()),
    (r"^brake\.fitted", "electrical", "hazard", effects.fitted),
    (r"^brake\.apply_time", "electrical", "hazard", effects.drop),
    (r"^brake\.release_time", "electrical", "hazard", says(RELEASE)),
    (r"^brake\.", "electrical", "hazard", effects.holds),
    (r"^encoder\.", "travel", "travel", effects.increments),
    (r"^load_encoder", "travel", "travel", says(LOAD_ENCODER)),
    (r"^motor\.code", "electrical", "electrical", says(MOTOR)),
    (r"^motor\.", "electrical", "electrical", times_as_much()),
    (r"^supply\.resistor$", "electrical", "electrical", effects.resistor),
    (r"^supply\.voltage", "electrical", "electrical", effects.mains),
    (r"^supply\.", "electrical", "electrical", times_as_much()),
    (r"^position_gain_unit", "dynamics", "hazard", says(GAIN_UNIT)),
    (r"^controller_link\..*safe", "hazard", "hazard", says(SAFE)),
    (r"^controller_link\..*(address|alias|node|station)", "link", "link", _ADDRESSED),
    (r"^controller_link\..*(watchdog|heartbeat|time_?out|guard)", "link", "link",
     effects.patience),
    (r"^controller_link\..*(interval|period|cycle)", "link", "link", effects.interval),
    (r"^controller_link\..*(direction|invert|polarity)", "hazard", "hazard", says(TURNS)),
    (r"^controller_link\..*(scal|factor|gear|unit|per_turn|per_rev)", "travel", "hazard",
     says(SCALING)),
    (r"^controller_link\.", "link", "link", says(effects.LINK)),
    (r"^cabinet\..*(safe|emergency|" + _words(
        "sto", "ss1", "ss2", "e_?stop", "guard", "door", "interlock", "light_curtain") + ")",
     "hazard", "hazard", says(SAFE)),
    (r"^cabinet\..*(over_?travel|limit_?switch|end_?switch)", "hazard", "hazard",
     says(OVER_TRAVEL)),
    (r"^cabinet\..*(home|homing|reference|origin)_?(switch|sensor|cam)", "travel", "travel",
     says(HOME_SWITCH)),
    (r"^cabinet\..*brak(e|ing)_?(resist|chopper|unit|module)", "electrical", "electrical",
     times_as_much()),
    (r"^cabinet\..*brake", "electrical", "hazard", says(CABINET_BRAKE)),
    (r"^cabinet\..*(phase_?(order|sequence)|motor_?(phase|cable)|encoder_?cable|rotation|direction"
     r"|polarity)", "hazard", "hazard", says(TURNS)),
    (r"^cabinet\..*((main|power|supply|load|disconnect\w*|isolat\w*)_?(switch|breaker))",
     "electrical", "electrical", times_as_much()),
    (r"^cabinet\..*(address|" + _words("node", "node_?id", "station", "alias") + ")", "link",
     "link", _ADDRESSED),
    (r"^cabinet\..*(terminat|baud|bit_?rate|field_?bus|(?<!dc_)(?<![a-z])bus(?![a-z]))", "link",
     "link", says(effects.LINK)),
    (r"^cabinet\..*(switch|" + _words("dip", "rotary") + ")", "link", "link", _MAY_ADDRESS),
    (r"^cabinet\..*(supply|fuse|voltage|resist|filter|phase|contactor|mains|dc_bus|cable)",
     "electrical", "electrical", times_as_much()),
    (r"^cabinet\.", "electrical", "electrical", says(CABINET)),
)  # fmt: skip
