"""DCF texts for tests: invented objects, with the lists that a whole file has (CiA 306)."""

from __future__ import annotations

import re

OBJECT = (
    "[{}]\nParameterName={}\nDataType=0x0007\nAccessType=rw\nDefaultValue=5\nParameterValue=6\n"
)
WINDOW = OBJECT.format("6065", "Following error window")
TUNING = OBJECT.format("2010", "Tuning")
UNREADABLE_TUNING = TUNING.replace("ParameterValue=6", "ParameterValue=six")


def dcf(*objects: str) -> str:
    """A whole file of some objects: maker's objects are those at 2000h to 5FFFh."""
    indices = re.findall(r"^\[([0-9A-F]{4})\]", "".join(objects), re.MULTILINE)
    makers = [index for index in indices if "2000" <= index < "6000"]
    lists = {
        "MandatoryObjects": [],
        "OptionalObjects": [index for index in indices if index not in makers],
        "ManufacturerObjects": makers,
    }
    lines = []
    for name, members in lists.items():
        lines += [f"[{name}]", f"SupportedObjects={len(members)}"]
        lines += [f"{n}=0x{index}" for n, index in enumerate(members, 1)]
    return "\n".join([*lines, *objects])
