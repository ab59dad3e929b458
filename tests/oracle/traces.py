"""Axes that move in time, recorded as a drive's tool records them, with what is true of each.

A position loop around a PI velocity loop moves an inertia with dry and viscous friction and a pull;
everything is integrated at steps far finer than any recording. Nothing of the program is used.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.signal import lsim

STEPS = 20_000
_REST = 0.45


@dataclass(frozen=True, slots=True)
class Axis:
    """What is true of an axis. `way` is m for a radian of the motor, torques are N*m of it."""

    way: float
    inertia: float
    dry: float
    viscous: float
    pull: float
    gain: float
    forward: float
    bandwidth: float
    integral: float
    window: float


@dataclass(frozen=True, slots=True)
class Part:
    """A move: when it begins, signed speed (m/s), ramp (m/s^2), time of even speed, of rounding."""

    begin: float
    speed: float
    rate: float
    even: float

    @property
    def ramp(self) -> float:
        return abs(self.speed) / self.rate


@dataclass(frozen=True, slots=True)
class Recording:
    """How it is recorded: samples, what trembles, what is missing."""

    samples: int
    noisy: bool
    uneven: bool
    gap: bool
    skew: float
    columns: tuple[str, ...]
    ring: str = ""
    frequency: float = 0.0


@dataclass(slots=True)
class Case:
    """An axis, its moves, its recording; `rounding` (s) makes trapezoids S-shaped."""

    axis: Axis
    parts: tuple[Part, ...]
    rounding: float
    length: float
    recording: Recording
    truth: dict[str, float] = field(default_factory=dict)
    times: np.ndarray = field(default_factory=lambda: np.empty(0))
    channels: dict[str, np.ndarray] = field(default_factory=dict)
    text: str = ""


def draw(chance: np.random.Generator) -> Case:
    """An axis and a recording by chance, sized so that the motor copes."""
    way = float(chance.choice([5e-3, 10e-3, 16e-3, 40e-3])) / (2 * np.pi)
    speed = chance.uniform(0.1, 0.8)
    ramp = chance.uniform(0.08, 0.4)
    rate = speed / ramp
    inertia = 10 ** chance.uniform(-4, -2)
    torque = inertia * rate / way
    dry = torque * chance.uniform(0.08, 0.6)
    viscous = dry * chance.uniform(0.05, 1.2) / (speed / way)
    pull = torque * chance.choice([0.0, chance.uniform(-0.8, 0.8)])
    gain = chance.uniform(15, 80)
    bandwidth = gain * chance.uniform(4, 9)
    axis = Axis(
        way, inertia, dry, viscous, pull, gain, float(chance.choice([0, 0, 0.5, 0.9])), bandwidth,
        bandwidth / chance.uniform(4, 8), chance.uniform(2e-5, 5e-4),
    )  # fmt: skip
    rounding = float(chance.choice([0.0, 0.0, chance.uniform(0.1, 0.6)])) * ramp
    parts, end = _moves(chance, speed, rate, gain, rounding)
    samples = round(10 ** chance.uniform(np.log10(20), np.log10(20_000)))
    ring = str(chance.choice(["", "", "long", "short", "ripple"]))
    columns = ["position_demand", "position_actual", "velocity_actual", "torque_actual"]
    if chance.random() < 0.4:
        columns.append("following_error")
    for name in ("position_demand", "velocity_actual", "torque_actual"):
        if chance.random() < 0.07:
            columns.remove(name)
    noisy = bool(chance.random() < 0.5)
    cut = chance.random() < 0.08
    length = end - (0.4 * ramp + _REST if cut else 0.0)
    rate_of_samples = samples / length
    recording = Recording(
        samples, noisy, bool(chance.random() < 0.3), bool(chance.random() < 0.15),
        float(chance.uniform(0, 1)) if noisy else 0.0, tuple(columns), ring,
        float(rate_of_samples * chance.uniform(0.03, 0.4)),
    )  # fmt: skip
    return Case(axis, parts, rounding, length, recording)


def _moves(
    chance: np.random.Generator, speed: float, rate: float, gain: float, rounding: float
) -> tuple[tuple[Part, ...], float]:
    kind = chance.choice(["one", "both", "speeds", "speeds", "steps", "triangle"])
    signs = {"one": [1], "both": [1, -1], "triangle": [1, -1], "steps": [1, 1, -1, -1]}
    slow = chance.uniform(0.3, 0.65)
    speeds = [speed * sign for sign in signs.get(str(kind), [1, -1])]
    if kind == "speeds":
        speeds = [speed, -speed, speed * slow, -speed * slow]
    even = 0.0 if kind == "triangle" else chance.uniform(4, 14) / gain + 0.1
    at, parts = 0.15, []
    for one in speeds:
        parts.append(Part(at, one, rate, even))
        at += 2 * abs(one) / rate + even + rounding + _REST + 10 / gain
    return tuple(parts), at


def simulate(cases: list[Case]) -> None:
    """Integrate all cases and keep what is true of each, and its recording."""
    grid = np.linspace(0.0, 1.0, 2 * STEPS + 1)
    lengths = np.array([case.length for case in cases])
    speeds = np.stack([_demand_speed(case, grid * case.length) for case in cases], axis=1)
    half = lengths / (2 * STEPS)
    demand = np.concatenate(
        [np.zeros((1, len(cases))), np.cumsum((speeds[1:] + speeds[:-1]) / 2 * half, axis=0)]
    )
    place, speed, torque = _integrate(cases, demand, speeds, lengths / STEPS)
    for at, case in enumerate(cases):
        dense = {
            "position_demand": demand[::2, at], "position_actual": place[:, at].copy(),
            "velocity_actual": speed[:, at].copy(), "torque_actual": torque[:, at].copy(),
        }  # fmt: skip
        times = np.linspace(0.0, case.length, STEPS + 1)
        _tremble(case, times, dense)
        case.truth = _truth(case, times, dense)
        _record(case, times, dense, np.random.default_rng(abs(hash((at, case.length))) % 2**32))


def _demand_speed(case: Case, times: np.ndarray) -> np.ndarray:
    """Speed that is asked for: trapezoids, rounded by a running mean where it is S-shaped."""
    found = np.zeros_like(times)
    for part in case.parts:
        begin = part.begin
        corners = [begin, begin + part.ramp, begin + part.ramp + part.even,
                   begin + 2 * part.ramp + part.even]  # fmt: skip
        found += np.interp(times, corners, [0, part.speed, part.speed, 0], left=0, right=0)
    if case.rounding:
        step = times[1] - times[0]
        width = max(1, round(case.rounding / step))
        total = np.concatenate([np.zeros(width), np.cumsum(found)])
        found = (total[width:] - total[:-width]) / width
    return found


def _integrate(
    cases: list[Case], demand: np.ndarray, speeds: np.ndarray, step: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Place, speed and torque of each case; classical Runge-Kutta at `step` s."""
    of = {
        name: np.array([getattr(case.axis, name) for case in cases])
        for name in ("way", "inertia", "dry", "viscous", "pull", "gain", "forward", "bandwidth",
                     "integral")
    }  # fmt: skip
    stuck = 0.004 * np.array([max(abs(part.speed) for part in case.parts) for case in cases])
    moved = of["inertia"] / of["way"]

    def torque_of(x, v, held, xd, vd):
        wanted = of["gain"] * (xd - x) + of["forward"] * vd
        return of["pull"] + moved * of["bandwidth"] * ((wanted - v) + held), wanted - v

    def rates(x, v, held, xd, vd):
        torque, off = torque_of(x, v, held, xd, vd)
        drag = of["dry"] * np.tanh(v / stuck) + of["viscous"] * v / of["way"] + of["pull"]
        return v, (torque - drag) / moved, of["integral"] * off

    count = len(cases)
    x, v, held = np.zeros(count), np.zeros(count), np.zeros(count)
    places, velocities, torques = (np.empty((STEPS + 1, count)) for _ in range(3))
    for number in range(STEPS + 1):
        at = 2 * number
        places[number], velocities[number] = x, v
        torques[number] = torque_of(x, v, held, demand[at], speeds[at])[0]
        if number == STEPS:
            break
        one = rates(x, v, held, demand[at], speeds[at])
        middle = demand[at + 1], speeds[at + 1]
        two = rates(*(s + r * step / 2 for s, r in zip((x, v, held), one, strict=False)), *middle)
        three = rates(*(s + r * step / 2 for s, r in zip((x, v, held), two, strict=False)), *middle)
        end = demand[at + 2], speeds[at + 2]
        four = rates(*(s + r * step for s, r in zip((x, v, held), three, strict=False)), *end)
        x, v, held = (
            s + (a + 2 * b + 2 * c + d) * step / 6
            for s, a, b, c, d in zip((x, v, held), one, two, three, four, strict=False)
        )
    return places, velocities, torques


def _tremble(case: Case, times: np.ndarray, dense: dict[str, np.ndarray]) -> None:
    """Add what rings after each corner, or what turns with the motor."""
    kind, axis = case.recording.ring, case.axis
    size = 0.15 * axis.inertia * case.parts[0].rate / axis.way
    if kind in ("long", "short"):
        omega = 2 * np.pi * case.recording.frequency
        damping = omega * (0.004 if kind == "long" else 0.08)
        for part in case.parts:
            for corner in (part.begin, part.begin + part.ramp, part.begin + part.ramp + part.even,
                           part.begin + 2 * part.ramp + part.even):  # fmt: skip
                since = np.maximum(times - corner, 0)
                swing = size * np.exp(-damping * since) * np.sin(omega * since)
                dense["torque_actual"] += swing
                move = axis.way * size / axis.inertia / omega
                dense["velocity_actual"] -= (
                    move * np.exp(-damping * since) * (np.cos(omega * since) * (since > 0))
                )
    elif kind == "ripple":
        turns = dense["position_actual"] / axis.way / (2 * np.pi)
        dense["torque_actual"] += 0.3 * size * np.sin(2 * np.pi * 6 * turns)


def _ends(case: Case) -> list[tuple[float, float]]:
    """When each demand ends, and when the next one begins."""
    ends = [part.begin + 2 * part.ramp + part.even + case.rounding for part in case.parts]
    return list(zip(ends, [*(part.begin for part in case.parts[1:]), case.length], strict=True))


def _truth(case: Case, times: np.ndarray, dense: dict[str, np.ndarray]) -> dict[str, float]:
    axis, parts = case.axis, case.parts
    lag = dense["position_demand"] - dense["position_actual"]
    top = max(abs(part.speed) for part in parts)
    torque = dense["torque_actual"]
    settle, beyond = 0.0, 0.0
    for (end, following), part in zip(_ends(case), parts, strict=True):
        here = (times >= end) & (times < following)
        if not here.any():
            continue
        last = dense["position_demand"][here][-1]
        away = np.abs(dense["position_actual"][here] - last)
        outside = np.flatnonzero(away > axis.window)
        if len(outside):
            settle = max(settle, float(times[here][outside[-1]] - end))
        over = np.sign(part.speed) * (dense["position_actual"][here] - last)
        beyond = max(beyond, float(over.max()))
    stop = parts[-1].begin + parts[-1].ramp + parts[-1].even
    begin = float(np.interp(stop, times, dense["position_actual"]))
    truth = {
        "steady_lag": (1 - axis.forward) * top / axis.gain,
        "peak_lag": float(np.abs(lag).max()),
        "settling_time": settle,
        "overshoot": beyond,
        "rms_torque": float(np.sqrt(np.trapezoid(torque**2, times) / case.length)),
        "peak_torque": float(np.abs(torque).max()),
        "stop_distance": abs(float(dense["position_actual"][-1]) - begin),
        "friction": axis.dry,
        "inertia": axis.inertia,
    }
    if case.recording.ring == "long":
        truth["resonance"] = case.recording.frequency
    return truth


def _record(
    case: Case, times: np.ndarray, dense: dict[str, np.ndarray], chance: np.random.Generator
) -> None:
    """Sample, tremble, round, leave out; and write it as a table."""
    own = case.recording
    at = np.linspace(0.0, case.length, own.samples)
    step = at[1]
    if own.uneven:
        at = np.sort(at + np.concatenate([[0], chance.uniform(-0.3, 0.3, own.samples - 1) * step]))
    dense["following_error"] = dense["position_demand"] - dense["position_actual"]
    top = max(abs(part.speed) for part in case.parts)
    channels = {}
    for number, name in enumerate(own.columns):
        late = own.skew * step * (chance.uniform(-0.5, 0.5)) if own.skew else 0.0
        channels[name] = np.interp(at + late, times, dense[name])
        if own.noisy:
            lag = top / case.axis.gain
            scale = {"p": 0.002 * lag, "v": 0.004 * top, "f": 0.002 * lag}.get(
                name[0], 0.04 * np.abs(dense["torque_actual"]).max()
            )
            if name != "position_demand":
                channels[name] = channels[name] + chance.normal(0, scale, own.samples)
            grid = {"p": 1e-6, "v": 1e-5, "f": 1e-6}.get(
                name[0], 0.002 * np.abs(dense["torque_actual"]).max()
            )
            channels[name] = np.round(channels[name] / grid) * grid
        assert number < 9
    if own.gap:
        begin = int(chance.uniform(0.1, 0.85) * own.samples)
        kept = np.ones(own.samples, dtype=bool)
        kept[begin : begin + max(7, own.samples // 25)] = False
        at, channels = at[kept], {name: one[kept] for name, one in channels.items()}
    case.times, case.channels = at, channels
    case.text = _table(case, chance)


_HEADINGS = {
    "time": "time [s]", "position_demand": "position demand [mm]",
    "position_actual": "position actual [mm]", "velocity_actual": "velocity actual [mm/s]",
    "torque_actual": "torque actual [N*m]", "following_error": "following error [mm]",
}  # fmt: skip


def _table(case: Case, chance: np.random.Generator) -> str:
    """The recording as a tool saves it, with a point or a comma."""
    comma = chance.random() < 0.5
    mark = ";" if comma or chance.random() < 0.5 else ","
    columns = [case.times, *(
        one * (1000 if name[0] in "pvf" else 1) for name, one in case.channels.items()
    )]  # fmt: skip
    lines = [mark.join(_HEADINGS[name] for name in ("time", *case.channels))]
    for row in zip(*columns, strict=True):
        cells = [f"{row[0]:.7f}", *(f"{number:.9g}" for number in row[1:])]
        lines.append(mark.join(cell.replace(".", ",") if comma else cell for cell in cells))
    return "\n".join(lines) + "\n"


@dataclass(slots=True)
class Chirp:
    """A motor and a load on a spring, swept by torque: the table, and where it resonates (Hz)."""

    text: str
    resonance: float
    noisy: bool
    sampled: float


def draw_chirp(chance: np.random.Generator) -> Chirp:
    """A torque chirp on two masses: resonance sqrt(k (1/J1 + 1/J2)) (two masses, textbooks)."""
    motor = 10 ** chance.uniform(-4, -2)
    load = motor * chance.uniform(0.5, 6)
    resonance = chance.uniform(30, 200)
    spring = (2 * np.pi * resonance) ** 2 / (1 / motor + 1 / load)
    damper = chance.uniform(0.01, 0.05) * 2 * np.sqrt(spring / (1 / motor + 1 / load))
    rate = resonance * chance.uniform(3, 12)
    length = chance.uniform(3, 10)
    fine = 8
    times = np.arange(0, length, 1 / (rate * fine))
    low, high = resonance / 8, resonance * 1.8
    phase = 2 * np.pi * low * length / np.log(high / low) * ((high / low) ** (times / length) - 1)
    torque = np.sin(phase)
    drag = 0.5 * motor
    system = (
        np.array([[-(damper + drag) / motor, -spring / motor, damper / motor], [1, 0, -1],
                  [damper / load, spring / load, -damper / load]]),
        np.array([[1 / motor], [0], [0]]), np.array([[1.0, 0, 0]]), np.array([[0.0]]),
    )  # fmt: skip
    _, speed, _ = lsim(system, torque, times)
    noisy = bool(chance.random() < 0.5)
    times, torque, speed = times[::fine], torque[::fine], np.ravel(speed)[::fine]
    way = 10e-3 / (2 * np.pi)
    speed = speed * way
    if noisy:
        speed = speed + chance.normal(0, 0.05 * speed.std(), len(speed))
        torque = torque + chance.normal(0, 0.03, len(torque))
    lines = ["time [s];velocity actual [mm/s];torque actual [N*m]"]
    lines += [
        f"{t:.7f};{1000 * v:.8g};{g:.6g}" for t, v, g in zip(times, speed, torque, strict=True)
    ]
    return Chirp("\n".join(lines) + "\n", float(resonance), noisy, float(rate))
