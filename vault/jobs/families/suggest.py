"""Which role a parameter of an unknown export may have, from its address, name and unit.

Nothing here decides: a suggestion counts for nothing until a person confirms it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from vault.jobs.families.assignment import best_assignment
from vault.jobs.families.lexicon import lexicon
from vault.jobs.families.phrases import Likeness, phrase_index
from vault.model import choices, roles
from vault.model.names import Side
from vault.model.quantities import UnknownUnit, canonical_unit, unit_named
from vault.model.role_units import UNITS_OF, fits
from vault.model.roles import Role
from vault.model.visible_text import one_line

MOST = 4
"""Suggestions for one parameter."""

# Weights and limits are our own choice, tried on invented names (tests/jobs/families).
_NEAR = 24  # phrases that are looked at closely
_LEAST = 0.42
OF_OBJECT = 0.98
"""How sure an address of a standard object makes a role."""
_OF_DOTTED = 0.9
_BY_GROUP, _BY_COMMENT, _BY_CODE = 0.75, 0.4, 0.3
_LONGEST_QUOTED = 60  # characters of a name in a reason
_LONGEST_NAME = 200  # characters of a name that are looked at
_UNITLESS = frozenset(["choice", "bits", "flag", "text", "identity", "version", "address"])
_TEXTS = frozenset(["text", "identity", "version"])
_CHOSEN = frozenset(["choice", "flag", "bits"])
_ADDRESS = re.compile(
    r"(?:16#|0x|\$)?([0-9a-f]{4})h?(?:[:._/ -](?:0x)?([0-9a-f]{1,2})h?)?", re.IGNORECASE
)
_MARKED = re.compile(r"16#|0x|\$|h\b", re.IGNORECASE)
_THEMES: Mapping[str, frozenset[str]] = {
    "motor": frozenset(["motor"]),
    "homing": frozenset(["homing"]),
    "brake": frozenset(["brake"]),
    "encoder": frozenset(["encoder"]),
    "link": frozenset(["bus", "node"]),
    "safety": frozenset(["safety"]),
    "supply": frozenset(["mains", "dc_link", "braking_resistor", "chopper"]),
    "io": frozenset(["input", "output", "digital", "analogue"]),
    "control": frozenset(["loop"]),
    "motion": frozenset(["profile"]),
    "stop": frozenset(["stop", "quick_stop"]),
    "limits": frozenset(["limit", "watchdog"]),
    "status": frozenset(["status", "actual"]),
    "device": frozenset(["device"]),
}
_LIVE_WORDS = frozenset(["actual", "demand", "target", "status"])


@dataclass(frozen=True, slots=True)
class Candidate:
    """A parameter as an export states it.

    `unit` is canonical or as spelled; `words` are the distinct values seen that are no numbers;
    `group` is the heading it stands under.
    """

    code: str
    name: str
    unit: str | None = None
    is_text: bool = False
    words: tuple[str, ...] = ()
    read_only: bool = False
    group: str = ""
    comment: str = ""


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A role that may be meant, how sure that is (0..1), and why."""

    role: str
    confidence: float
    reason: str


@dataclass(frozen=True, slots=True)
class _Match:
    """A suggestion before it is known who else wants the role."""

    role: Role
    number: int | None
    score: float
    reason: str
    by_object: bool = False


def suggest(candidates: Sequence[Candidate], side: Side = "drive") -> list[tuple[Suggestion, ...]]:
    """Suggest roles for the parameters of one export: best first, at most four each.

    By name only those of the side whose export it is; an address of a standard object counts on
    both, since controllers write such objects into the drive.

    A role is the first choice of one parameter at most, so that they fit best all in all; the
    entries of a numbered role follow the numbers in the names.
    """
    have_units = any(candidate.unit for candidate in candidates)
    matches = [_matches(candidate, have_units, side) for candidate in candidates]
    from_zero = {
        match.role.name
        for found in matches
        for match in found[:1]
        if match.role.numbered and match.number == 0
    }
    named = [
        {_name_of(match, match.role.name in from_zero): match for match in reversed(found)}
        for found in matches
    ]
    scores = [{name: match.score for name, match in found.items()} for found in named]
    chosen = best_assignment([{n: s**3 for n, s in found.items()} for found in scores])
    return [
        _ranked(found, first) if first is not None else ()
        for found, first in zip(named, chosen, strict=True)
    ]


def _ranked(found: Mapping[str, _Match], first: str) -> tuple[Suggestion, ...]:
    others = sorted((n for n in found if n != first), key=lambda name: -found[name].score)
    best = found[first].score
    rival = found[others[0]].score if others else 0.0
    sure = best if found[first].by_object else best * _clear(best, rival)
    said = [Suggestion(first, round(sure, 2), found[first].reason)]
    for name in others[: MOST - 1]:
        match = found[name]
        weaker = min(match.score * _clear(match.score, best), sure)
        said.append(Suggestion(name, round(weaker, 2), match.reason))
    return tuple(said)


def _clear(score: float, rival: float) -> float:
    """How much is left of a score beside that of a rival."""
    nearness = rival / score if score else 1.0
    return 1.0 - 0.4 * max(0.0, min(1.0, (nearness - 0.7) / 0.35))


def _name_of(match: _Match, from_zero: bool) -> str:
    """The role's name with its number, where it has one."""
    name = match.role.name
    if not match.role.numbered or match.number is None:
        return name
    number = match.number + (from_zero and not match.by_object)
    numbered = f"{name}.{number}"
    return numbered if number >= 2 and roles.find(numbered) is not None else name


def _matches(candidate: Candidate, have_units: bool, side: Side) -> list[_Match]:
    """Roles that may be meant, best first, each once."""
    found: dict[str, _Match] = {}
    of_object = _by_object(candidate)
    if of_object is not None:
        found[of_object.role.name] = of_object
    for match in _by_name(candidate, have_units, side):
        found.setdefault(match.role.name, match)
    return sorted(found.values(), key=lambda match: -match.score)[: MOST + 2]


def _by_object(candidate: Candidate) -> _Match | None:
    """By the address of a standard object: 0x6065:00, 6065h, 6065.0; never a bare number."""
    code = candidate.code.strip()
    parts = _ADDRESS.fullmatch(code)
    if parts is None or not (parts[2] or _MARKED.search(code)):
        return None
    address = f"0x{parts[1].upper()}:{int(parts[2] or '0', 16):02X}"
    role = roles.for_object(address)
    if role is None or not _can_be_in(role, candidate.unit):
        return None
    is_marked = _MARKED.search(code) is not None
    reason = f"{candidate.code} is the standard object {address}"
    base = roles.find(role.name) or role
    number = int(role.name.partition(".")[2] or 1) if role.numbered else None
    score = OF_OBJECT if is_marked else _OF_DOTTED
    return _Match(base, number, score, reason, by_object=True)


def _can_be_in(role: Role, unit: str | None) -> bool:
    symbol = _symbol(unit)
    return symbol is None or role.kind == "bits" or fits(role, symbol)


@lru_cache(maxsize=1024)
def _symbol(unit: str | None) -> str | None:
    """The canonical spelling of a unit; None where there is none, or nobody knows it."""
    if unit is None:
        return None
    try:
        return canonical_unit(unit)
    except UnknownUnit:
        return None


def _by_name(candidate: Candidate, have_units: bool, side: Side) -> Iterable[_Match]:
    """By the name, with what stands around it."""
    words, index = lexicon(), phrase_index(side)
    name = words.read((candidate.name or candidate.code)[:_LONGEST_NAME])
    if not name.parts:
        return
    around: dict[str, float] = {}
    for text, weight in (
        (candidate.code if candidate.name else "", _BY_CODE),
        (candidate.comment, _BY_COMMENT),
        (candidate.group, _BY_GROUP),
    ):
        if text:
            around |= dict.fromkeys(words.read(text[:_LONGEST_NAME]).meanings(), weight)
    symbol = _symbol(candidate.unit)
    meanings = name.meanings()
    in_units = _factors(symbol, bool(candidate.unit) or not have_units)
    wide = replace(name, parts=(*name.parts, *words.read(candidate.group[:_LONGEST_NAME]).parts))
    best: dict[str, tuple[float, Likeness]] = {}
    for phrase in index.near(wide, _NEAR):
        factor = in_units.get(phrase.role, 0.0)
        if not factor:
            continue
        role = _ROLES[phrase.role]
        like = index.likeness(name, phrase, around, _HOME[phrase.role])
        if like is None:
            continue
        score = like.score * factor * _by_kind(role, candidate, meanings, around)
        if name.numbers and not role.numbered and phrase.number is None:
            score *= 0.97 if name.numbers[-1] < 2 else 0.9
        if score > best.get(phrase.role, (0.0, like))[0]:
            best[phrase.role] = (score, like)
    for role_name, (score, like) in best.items():
        if score >= _LEAST:
            number = name.numbers[-1] if name.numbers else None
            reason = _reason(candidate, like, symbol)
            yield _Match(_ROLES[role_name], number, min(score, 0.97), reason)


def _by_kind(
    role: Role, candidate: Candidate, meanings: frozenset[str], around: Mapping[str, float]
) -> float:
    """How well what is seen of the values goes with the kind of a role."""
    factor = 1.0
    if candidate.is_text and candidate.words:
        if role.kind not in _TEXTS and role.kind not in _CHOSEN:
            return 0.0
        if role.kind == "flag" and len(candidate.words) > 2:
            factor *= 0.6
        if role.choices and _knows(role.choices, candidate.words):
            factor *= 1.1
    elif role.kind == "text":
        factor *= 0.5
    if role.volatile and not candidate.read_only and not _LIVE_WORDS & meanings:
        factor *= 0.88
    if candidate.read_only and not role.volatile and role.access == "rw":
        factor *= 0.85
    if "actual" in meanings and not role.volatile and role.kind not in ("time", "choice"):
        factor *= 0.8
    if _THEMES.get(role.group, frozenset()) & around.keys():
        factor *= 1.05
    return factor


@lru_cache(maxsize=256)
def _labels(table: str) -> frozenset[str]:
    return frozenset(label.casefold() for label in choices.table(table).values())


def _knows(table: str, words: Iterable[str]) -> bool:
    """Whether values are those of the role's own table."""
    return bool(_labels(table) & {word.casefold() for word in words})


@lru_cache(maxsize=256)
def _factors(symbol: str | None, is_usual: bool) -> Mapping[str, float]:
    """By role, how well a unit goes with it; none where it does not.

    `is_usual`: a missing unit says nothing, since the export states none at all.
    """
    found = {}
    kind = unit_named(symbol).kind if symbol else None
    for role in roles.all_roles():
        factor = _factor(role, symbol, kind, is_usual)
        if factor:
            found[role.name] = factor
    return found


def _factor(role: Role, symbol: str | None, kind: str | None, is_usual: bool) -> float:
    table = UNITS_OF.get(role.kind)
    if symbol is None or kind is None:
        has_unit = role.unit is not None or table is not None
        return 0.9 if has_unit and not is_usual else 1.0
    if role.name == "consumer_heartbeat_time":
        return 1.0 if kind == "time" else 0.0
    if role.kind in _UNITLESS:
        return 0.0
    if table is None:
        return _of_other_kind(role, kind)
    if not fits(role, symbol):
        return 0.0
    usual = [unit_named(unit).kind for unit in table[1]]
    if kind not in usual:
        return 0.92
    return 1.0 if kind == usual[0] else 0.97


def _of_other_kind(role: Role, kind: str) -> float:
    """Kinds of role that no table gives units for: what they usually are in, and never are."""
    usual = _ALSO.get(role.kind)
    if usual is None or kind in usual:
        return 1.0
    return 0.9 if role.kind == "gain_plain" else 0.0


_ALSO: Mapping[str, frozenset[str]] = {
    "gain": frozenset(["gain", "frequency", "angular_velocity", "ratio"]),
    "torque_constant": frozenset(["torque_constant"]),
    "angle": frozenset(["angle", "increments", "ratio"]),
    "increments": frozenset(
        [
            "increments",
            "increments_velocity",
            "increments_per_turn",
            "angle",
            "length",
            "user_position",
        ]
    ),
    "count": frozenset(["angle", "data", "data_rate", "increments", "ratio"]),
    "ratio": frozenset(
        ["ratio", "length", "angle", "user_position", "feed", "increments", "inertia"]
    ),
    "gain_plain": frozenset(
        ["resistance", "damping", "linear_damping", "ratio", "torque_rate", "gain"]
    ),
}
_ROLES = {role.name: role for role in roles.all_roles()}
_HOME = {role.name: frozenset(role.name.split("_")) | {role.group} for role in roles.all_roles()}


def _reason(candidate: Candidate, like: Likeness, symbol: str | None) -> str:
    """Why a role may be meant, in a short sentence."""
    shared = " + ".join(dict.fromkeys(f"'{part.spelling}'" for part in like.shared))
    name = one_line(candidate.name or candidate.code)[:_LONGEST_QUOTED]
    files = " and ".join(dict.fromkeys(f"{part.language}.yaml" for part in like.shared))
    said = f"'{name}' has {shared} of {files}"
    said += f" as '{like.phrase.text}' has"
    return f"{said}, and {symbol} fits" if symbol else said
