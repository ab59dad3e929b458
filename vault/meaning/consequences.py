"""Consequence classes of a change, worst first, and the usual one of each group of parameters."""

from __future__ import annotations

from vault.model.roles import Role

CONSEQUENCES = ("hazard", "travel", "unclassified", "dynamics", "electrical", "link", "record")
"""`hazard`: unexpected, wrong-way, unlimited or unheld motion, or a protective function less ·
`travel`: where the axis goes · `unclassified`: nobody said what the parameter does · `dynamics`:
how fast, how stiff · `electrical`: supply, braking, thermal · `link`: bus, timing · `record`:
names, serial numbers, counters."""

_USUAL = {
    "identity": "record",
    "units": "travel",
    "limits": "travel",
    "motion": "dynamics",
    "stop": "dynamics",
    "homing": "travel",
    "control": "dynamics",
    "torque": "dynamics",
    "motor": "electrical",
    "encoder": "travel",
    "brake": "hazard",
    "supply": "electrical",
    "io": "hazard",
    "link": "link",
    "safety": "hazard",
    "status": "record",
    "device": "electrical",
    "controller": "dynamics",
}
_OF_CONTROLLER = {
    "hazard": """controller_direction controller_following_error_limit
        controller_following_error_time_out controller_stop_deceleration""",
    "travel": """controller_counts controller_counts_per controller_modulo
        controller_min_software_limit controller_max_software_limit controller_homing_method
        controller_homing_position controller_homing_direction controller_move_position
        controller_move_distance controller_move_direction controller_move_buffer_mode""",
    "link": """controller_task_interval controller_task_priority controller_update_interval
        controller_bus_cycle controller_node_address controller_station_alias
        controller_data_size_in controller_data_size_out controller_position_loop""",
}
_USUAL_OF_ROLE = {role: usual for usual, roles in _OF_CONTROLLER.items() for role in roles.split()}


OF_THEME = {
    "scale": "travel", "position": "travel", "speed": "dynamics", "force": "dynamics",
    "stop": "dynamics", "following": "dynamics", "hold": "dynamics", "loops": "dynamics",
    "heat": "electrical", "energy": "electrical", "supply": "electrical", "safety": "hazard",
}  # fmt: skip
"""Class of a margin that is too small and protects nobody, by its theme."""


def usual_consequence(role: Role | None, group: str | None = None) -> str:
    """Class of a change of which no more is known than its role; without one there is none.

    The group is the dictionary's word: it counts where it says safety, and for identity and status.
    """
    if role is None:
        return _USUAL[group] if group in ("safety", "identity", "status") else "unclassified"
    usual = _USUAL_OF_ROLE.get(role.name.partition(".")[0]) or _USUAL.get(role.group, "record")
    return "hazard" if role.safety else usual


def rank(consequence: str) -> int:
    """Sort key: 0 is the worst."""
    return CONSEQUENCES.index(consequence)
