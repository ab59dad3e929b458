"""Standard error codes: what a drive reports when it trips.

Codes of CiA 402-2 / IEC 61800-7-201 and CiA 301, from memory; names are our own wording. A code
that is not listed is one of its row above: 2313h is an over-current as 2310h is.

Where many drives use a code for more than the standard says, the name tells both. Unsure are:
5441h to 5445h, which the standard leaves to the maker (contacts, one by one); 4310h, where "drive"
may be the motor or the whole; 7112h, the chopper's current and not its resistor's heat; 8612h, of
which the standard says no more than that a reference met its limit.
"""

from __future__ import annotations

_ROWS = """
    1000 Fault without a name
    2000 Current
    2110 Short circuit or earth leakage at the supply side
    2200 Current inside the drive
    2220 Continuous over-current inside the drive
    2300 Current at the motor side
    2310 Continuous over-current
    2320 Short circuit or earth leakage at the motor side
    2330 Earth leakage at the motor side
    2340 Short circuit at the motor side
    2350 Motor overload by the thermal model
    3000 Voltage
    3100 Mains voltage
    3110 Mains over-voltage
    3120 Mains under-voltage
    3130 Supply phase lost
    3200 DC-link voltage
    3210 DC-link over-voltage
    3220 DC-link under-voltage
    3300 Output voltage
    4000 Temperature
    4110 Surroundings too hot
    4200 Temperature of the drive device
    4210 Drive device too hot
    4300 Temperature of drive or motor
    4310 Drive too hot, in many drives the motor
    5000 Drive hardware
    5440 Contacts and switches
    5441 Contact 1, the maker's own (in many drives the positive over-travel input)
    5442 Contact 2, the maker's own (in many drives the negative over-travel input)
    5530 Parameter memory
    6000 Drive software
    6310 Parameters lost
    6320 Parameter not valid
    7000 Added modules
    7100 Power modules
    7110 Brake chopper
    7111 Brake chopper failed
    7112 Over-current at the brake chopper (in many drives its resistor overloaded)
    7113 Protection of the brake chopper
    7120 Motor
    7121 Motor blocked
    7122 Motor fault or wrong commutation
    7300 Sensor
    7305 Incremental sensor 1 (in many drives the motor's encoder)
    7310 Speed sensor
    7320 Position sensor
    7500 Communication module
    8000 Supervision
    8100 Communication
    8130 Controller silent (life guard or heartbeat)
    8200 Protocol
    8300 Torque control
    8311 Torque too high
    8313 Standstill torque
    8321 Torque too low
    8400 Speed control
    8500 Position control
    8600 Positioning
    8611 Following error too large
    8612 Reference limit (in many drives a software position limit)
    8700 Synchronisation
    9000 Fault outside the drive
    F000 Added functions
    FF00 Of the maker's own
"""

STANDARD_FAULTS: dict[int, str] = {
    int(code, 16): name
    for code, _, name in (row.strip().partition(" ") for row in _ROWS.strip().splitlines())
}
"""Name by code."""


def lineage(code: int) -> tuple[int, ...]:
    """The code and the groups it belongs to, nearest first: 8611h, 8610h, 8600h, 8000h."""
    return tuple(dict.fromkeys((code, code & 0xFFF0, code & 0xFF00, code & 0xF000)))


def name_of(code: int) -> str | None:
    """Name of a standard code, or of the nearest group it belongs to."""
    return next((STANDARD_FAULTS[c] for c in lineage(code) if c in STANDARD_FAULTS), None)


def standard_code(text: str) -> int | None:
    """The number of a code of the standard: 8611, 8611h, 0x8611."""
    digits = text.strip().casefold().removeprefix("0x").removesuffix("h")
    if len(digits) != 4 or not all(digit in "0123456789abcdef" for digit in digits):
        return None
    return int(digits, 16)


def compared_code(text: str) -> str:
    """A code as it compares, however it was noted: `8611h` of 8611h, 8611 and 0x8611."""
    number = standard_code(text)
    return text.casefold() if number is None else f"{number:04X}h"
