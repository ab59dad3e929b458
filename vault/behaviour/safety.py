"""Safety functions as far as a set shows them: shown, never prepared, judged against the motion."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure, Held, margin
from vault.behaviour.missing import DoesNotApply
from vault.behaviour.stop import quick_stop_time

if TYPE_CHECKING:
    from vault.behaviour.state import State


@margin("safe_stop_delay", "protects", "delay until power is taken off safely against a stop")
def safe_stop_delay(state: State) -> Held:
    """SS1 (IEC 61800-5-2): power goes off after the delay, whether the axis stands or not."""
    delay = state.si("safe_stop_delay", ("time",))
    if delay is None:
        raise DoesNotApply
    return Held(Figure(delay, "s", "the set"), state.ask(quick_stop_time))
