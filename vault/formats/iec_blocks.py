"""Motion blocks by their names and inputs: what an input is a role of, what an element means.

Names of blocks, inputs, enumerations and parameter numbers are those of the open specification of
function blocks for motion control, parts 1 and 2 version 2.0, all from memory. It has no block for
jogging: a move at a speed jogs where its instance, or a block of the house that it stands in, is
called so (common practice, no source). An instance of any other block is none of motion.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from vault.model import choices, roles
from vault.model.export import Scalar

_MOVE = """Velocity=move_velocity Acceleration=move_acceleration Deceleration=move_deceleration
    Jerk=move_jerk Direction=move_direction BufferMode=move_buffer_mode"""
_BLOCKS = {
    "MC_Power": "",
    "MC_Reset": "",
    # Which way an axis homes is the maker's: how such inputs are called is common practice.
    "MC_Home": """Position=homing_position HomingMode=homing_method HomingMethod=homing_method
        Method=homing_method Velocity=homing_velocity Acceleration=homing_acceleration
        Direction=homing_direction""",
    "MC_Stop": "Deceleration=stop_deceleration Jerk=stop_jerk",
    "MC_Halt": "Deceleration=stop_deceleration Jerk=stop_jerk",
    "MC_MoveAbsolute": f"Position=move_position {_MOVE}",
    "MC_MoveRelative": f"Distance=move_distance {_MOVE}",
    "MC_MoveAdditive": f"Distance=move_distance {_MOVE}",
    "MC_MoveSuperimposed": "Distance=move_distance VelocityDiff=move_velocity "
    "Acceleration=move_acceleration Deceleration=move_deceleration Jerk=move_jerk",
    "MC_MoveVelocity": _MOVE,
    "MC_MoveContinuousAbsolute": f"Position=move_position {_MOVE}",
    "MC_MoveContinuousRelative": f"Distance=move_distance {_MOVE}",
    "MC_SetPosition": "",
    "MC_ReadParameter": "",
    "MC_WriteParameter": "",
}
BLOCKS: Mapping[str, str] = {name.casefold(): name for name in _BLOCKS}
"""Names of the blocks by their names in small letters."""
_ROLES: Mapping[tuple[str, str], str] = {
    (block.casefold(), pair.partition("=")[0].casefold()): f"controller_{pair.partition('=')[2]}"
    for block, pairs in _BLOCKS.items()
    for pair in pairs.split()
}
_JOGGING = "MC_MoveVelocity"
_JOG_ROLES: Mapping[str, str] = {
    "controller_move_velocity": "controller_jog_velocity",
    "controller_move_acceleration": "controller_jog_acceleration",
    "controller_move_deceleration": "controller_jog_deceleration",
}
AXIS_INPUTS = frozenset(["axis", "master", "slave"])
"""Inputs that name an axis."""
_WHEN = "execute enable continuousupdate"
_NO_SETTINGS = AXIS_INPUTS | frozenset(_WHEN.split())
_WRITTEN_PARAMETERS = {
    2: "max_software_limit", 3: "min_software_limit", 7: "following_error_limit",
    9: "max_velocity", 13: "max_acceleration", 15: "max_deceleration", 17: "max_jerk",
}  # fmt: skip
_ELEMENTS = """mcPositiveDirection mcShortestWay mcNegativeDirection mcCurrentDirection mcAborting
    mcBuffered mcBlendingLow mcBlendingPrevious mcBlendingNext mcBlendingHigh"""
_ELEMENT_NAMED: Mapping[str, str] = {name.casefold(): name for name in _ELEMENTS.split()}
# What an element means depends on the input that it is given to: numbers of `model.choices`.
_MEANINGS: Mapping[str, Mapping[str, int]] = {
    "controller_move_direction": {
        "mcPositiveDirection": 0, "mcShortestWay": 1, "mcNegativeDirection": 2,
        "mcCurrentDirection": 3,
    },
    "controller_move_buffer_mode": {
        "mcAborting": 0, "mcBuffered": 1, "mcBlendingLow": 2, "mcBlendingPrevious": 3,
        "mcBlendingNext": 4, "mcBlendingHigh": 5,
    },
    "controller_homing_direction": {"mcPositiveDirection": 0, "mcNegativeDirection": 1},
}  # fmt: skip


def block_named(type_name: str) -> str | None:
    """The motion block that a type is, of whatever library; None where it is none."""
    return BLOCKS.get(type_name.rpartition(".")[2].casefold())


def is_setting(name: str) -> bool:
    """Whether an input says how to move, and not which axis or when."""
    return name.casefold() not in _NO_SETTINGS


def role_of(block: str, name: str, *, jogs: bool = False) -> str | None:
    """The role of an input of a block, without its number; of one that jogs that of jogging."""
    role = _ROLES.get((block.casefold(), name.casefold()))
    return _JOG_ROLES.get(role, role) if jogs and role is not None else role


def is_jog(block: str, names: Iterable[str]) -> bool:
    """Whether a block jogs: `names` are its instance's, and those of the blocks around it."""
    return block == _JOGGING and any("jog" in name.casefold() for name in names)


def role_of_parameter(number: Scalar) -> str | None:
    """The role of what a block writes into the axis under a number."""
    found = _WRITTEN_PARAMETERS.get(number) if isinstance(number, int) else None
    return None if found is None else f"controller_{found}"


def element_named(name: str) -> str | None:
    """An element of an enumeration as it is spelled, with or without the name of its type."""
    return _ELEMENT_NAMED.get(name.rpartition(".")[2].rpartition("#")[2].casefold())


def meaning_of(element: str, role: str) -> str | None:
    """The label that an element has where it is given to an input of a role; None for no choice."""
    number, known = _MEANINGS.get(role, {}).get(element), roles.find(role)
    if number is None or known is None or known.choices is None:
        return None
    return choices.label(known.choices, number)
