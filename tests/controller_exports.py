"""Exports of a controller's settings, and the dictionary that reads them. Linden is invented.

Roles are those that a controller writes into a drive when it starts: start-up parameters.
"""

from __future__ import annotations

LINDEN = """\
schema: axisvault/family/1
name: linden
title: Linden controllers, settings of one axis (invented, for tests)
export:
  format: delimited
  delimiter: ","
  columns: {code: Setting, name: Meaning, value: Value, unit: Unit}
  nameplate: {Controller: product, Serial: serial}
  recognise: {product: ^LD-}
parameters:
  task/motion/interval: {name: Interval of the motion task, role: task_period, type: UNSIGNED32, scale: 0.001, unit: ms}
  task/motion/priority: {name: Priority of the motion task, type: UNSIGNED8}
  axis/lag_limit: {name: Following-error limit, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm}
  axis/jog: {name: Jog speed, role: profile_velocity, type: UNSIGNED32, scale: 0.1, unit: mm/s}
  axis/retry: {name: Retries of the bus, type: UNSIGNED8}
"""  # noqa: E501


def controller_export(
    interval: str = "2.000",
    lag: str = "3.00",
    jog: str = "50.0",
    retry: str = "3",
    serial: str = "LD-7731",
) -> str:
    """An export of the controller's settings of one axis; `interval` in ms."""
    return "\n".join(
        (
            "Controller,LD-300,,",
            f"Serial,{serial},,",
            "Setting,Meaning,Value,Unit",
            f"task/motion/interval,Interval of the motion task,{interval},ms",
            "task/motion/priority,Priority of the motion task,4,",
            f"axis/lag_limit,Following-error limit,{lag},mm",
            f"axis/jog,Jog speed,{jog},mm/s",
            f"axis/retry,Retries of the bus,{retry},",
            "",
        )
    )
