"""Currents of which only one says whether it is r.m.s. or peak, told in both readings.

Of a sine the peak is the square root of 2 times the r.m.s. value (IEC 60050-103-02-03, from
memory); what says nothing is taken as r.m.s.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.state import TAKEN_AS_RMS
from vault.meaning.findings import digits
from vault.meaning.sentences import size_text
from vault.model.quantities import unlike_amperes
from vault.model.unit_table import UNITS

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.model.quantities import Physical

WHICH_AMPERE = (
    "{plain} does not say whether it is r.m.s. or peak: if r.m.s., {stated} is {as_rms}; if peak, "
    "{as_peak}."
)
AS_MUCH = {"same": "the same", "other": "{times} times as much"}


_PEAK = float(UNITS["A_pk"].ratio)


def is_unclear(change: Change) -> bool:
    """Whether two values cannot be held against each other, as one has an ampere of any kind."""
    one, other = change.left_physical, change.right_physical
    return one is not None and other is not None and unlike_amperes(one.unit, other.unit)


def may_be_same(change: Change) -> bool:
    """Whether two such values are the same in one reading, or more in one and less in the other."""
    return is_unclear(change) and which_ampere(change.left_physical, change.right_physical)[1]


def taken_as_rms(*sizes: Physical | None) -> str:
    """A sentence of how a current is taken where others say which ampere; empty where none is."""
    mixed = unlike_amperes(*(size.unit for size in sizes if size is not None))
    return f" {TAKEN_AS_RMS[0].upper()}{TAKEN_AS_RMS[1:]}." if mixed else ""


def which_ampere(
    one: Physical | None, other: Physical | None, shown: tuple[str, str] | None = None
) -> tuple[str, bool]:
    """What two currents are in both readings, and whether these leave open which is more.

    Empty where both say which ampere, or neither; `shown` is how they are written, if not
    as the reader wants them.
    """
    if one is None or other is None or not unlike_amperes(one.unit, other.unit):
        return "", False
    plain, stated = (one, other) if one.unit == "A" else (other, one)
    texts = shown or (size_text(one), size_text(other))
    texts = texts if plain is one else texts[::-1]
    if plain.ratio <= 0:
        return "", False
    times = float(stated / plain)
    readings = [digits(times), digits(times / _PEAK)]
    words = [AS_MUCH["same" if r == "1" else "other"].format(times=r) for r in readings]
    said = WHICH_AMPERE.format(plain=texts[0], stated=texts[1], as_rms=words[0], as_peak=words[1])
    return said, "1" in readings or times < 1 < times / _PEAK
