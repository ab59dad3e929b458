"""A property that is worked out once for each object, while other threads work out theirs.

Python's own has one lock for all objects of a class before 3.12 (bpo-43468), so threads of the
viewer would wait for each other's git: one answer after the other. Here two threads that share an
object may both work it out, which comes to the same.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING or sys.version_info >= (3, 12):
    from functools import cached_property as cached_property
else:

    class cached_property:  # noqa: N801 (called as Python's own is)
        """Works out a value when it is asked for first, and keeps it in the object's dictionary."""

        def __init__(self, work_out):
            self._work_out = work_out
            self.__doc__ = work_out.__doc__

        def __set_name__(self, owner, name):
            self._name = name

        def __get__(self, instance, owner=None):
            if instance is None:
                return self
            kept = instance.__dict__  # which Python looks into first: this is called once
            if self._name not in kept:
                kept[self._name] = self._work_out(instance)
            return kept[self._name]
