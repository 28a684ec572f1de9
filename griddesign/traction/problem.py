"""The question of the ladder in the terms of one motor string: notches as stages, motors cold and warm, corners."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError
from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.traction.curve import FloatArray, MotorCurve, curve_of
from griddesign.traction.equation import copper_ohm
from griddesign.traction.records import Grouping, Line, Motor, Notch, Start

String = tuple[int, ...]
IntArray = NDArray[np.intp]

GRID_COLD = "grid cold, motor cold"
DROPPED_HOT = "dropped sections hot, motor cold"
LEFT_HOT = "departing notch hot, motor cold"


@dataclass(frozen=True, slots=True)
class Stage:
    """One notch: one common circuit, or one for each motor string; ``weight`` turns the ohms of a circuit into R'.

    Motors are taken as alike here. ``grouping`` and circuits are without the motors cut out; ``field`` and
    ``motor_ohm`` are those of the notch; ``fixed_ohm`` is what fixed resistors add to R'.
    """

    name: str
    grouping: Grouping
    circuits: tuple[Run, ...]
    weight: float
    wanted_ohm: float | None
    field: float = 1.0
    motor_ohm: float | None = None
    fixed_ohm: float = 0.0

    @classmethod
    def of(cls, notch: Notch) -> "Stage":
        """The stage of a notch. Raises CircuitError where the circuits do not fit the grouping, where the motors cut
        out leave strings of unlike length, or where the notch is a network."""
        circuits, live = circuits_of(notch), live_strings(notch)
        lengths = {len(string) for _, string in live}
        if len(lengths) > 1:
            raise CircuitError(
                f"notch {notch.name} has motor strings of unlike length with the motors cut out",
                hint="Cut out one motor of every string, or a whole string.",
            )
        grouping = Grouping(lengths.pop(), len(live))
        common = notch.common is not None
        runs = circuits if common else tuple(circuits[place] for place, _ in live)
        weight = float(grouping.parallel) if common else 1.0
        fixed_ohm = grouping.parallel * notch.ahead_ohm + notch.string_ohm
        return cls(notch.name, grouping, runs, weight, notch.wanted_ohm, notch.field, notch.motor_ohm, fixed_ohm)

    @property
    def sections(self) -> tuple[str, ...]:
        """Every section in circuit, each once."""
        return tuple(dict.fromkeys(name for run in self.circuits for name in circuit.names(run)))

    @property
    def plain(self) -> bool:
        """Whether no circuit of the stage has branches side by side."""
        return all(circuit.is_plain_series(run) for run in self.circuits)

    def bare_ohm(self, motor_ohm: float, feeder_ohm: float) -> float:
        """R' without any grid, ohm, fixed resistors and all."""
        return self.grouping.series * motor_ohm + self.grouping.parallel * feeder_ohm + self.fixed_ohm

    def motor_factor(self, motor: Motor) -> float:
        """One motor's resistance on this notch over the one stated for it."""
        return 1.0 if self.motor_ohm is None else self.motor_ohm / motor.resistance_ohm


def grouped(notches: Iterable[Notch]) -> tuple[Notch, ...]:
    """The notches that are groupings of like strings with a grid: what ladder and choice of plates can go by."""
    return tuple(notch for notch in notches if notch.network is None)


def circuits_of(notch: Notch) -> tuple[Run, ...]:
    """The common circuit, or one for each motor string. Raises CircuitError where they are not as many, or where the
    notch is a network."""
    if notch.network is not None:
        raise CircuitError(
            f"notch {notch.name} is no grouping of like motor strings ({notch.network.why}), and what was asked goes "
            "by such groupings",
            hint="griddesign start and retap --chart work it out as the network it is.",
        )
    if notch.common is not None:
        return (notch.common,)
    if len(notch.strings) != notch.grouping.parallel:
        raise CircuitError(
            f"notch {notch.name} has {notch.grouping.parallel} motor strings and {len(notch.strings)} circuits",
            hint="Give one common circuit, or one circuit for each string.",
        )
    return notch.strings


def strings_of(notch: Notch) -> tuple[String, ...]:
    """Numbers of the motors in each string, from 0, cut out or not."""
    return notch.string_motors


def live_strings(notch: Notch) -> tuple[tuple[int, String], ...]:
    """Place and motors of every string with a motor left in it. Raises CircuitError where there is none."""
    kept = [tuple(number for number in string if number not in notch.out) for string in strings_of(notch)]
    live = tuple((place, string) for place, string in enumerate(kept) if string)
    if not live:
        raise CircuitError(f"notch {notch.name} has every motor cut out", hint="Leave one in.")
    return live


@dataclass(frozen=True, slots=True)
class Arrival:
    """Stage ``to`` reached from stage ``left`` (None: from standstill) through one pair of string circuits."""

    to: int
    left: int | None
    to_circuit: Run
    left_circuit: Run
    corner: str


Loop = tuple[int, Run, frozenset[str]]
"""A stage, one of its circuits, and which of the sections in it are hot."""


@dataclass(frozen=True, slots=True, eq=False)
class EveryArrival:
    """Every way to arrive at every stage from standstill and from every stage before it, one after another.

    ``left`` and ``to`` are stages (of standstill the first one, where it does not matter), ``left_series`` and
    ``to_series`` their motors in series, ``left_loop`` and ``to_loop`` places in ``loops`` (of standstill the last but
    none). ``ways`` says where the arrivals from one stage at another begin, ``stages`` at which of those those at one
    stage begin. ``bare_ohm`` is R' of each loop without any grid, ``per_ohm`` (loops, sections) what an ohm of a
    section adds to it; None where there are branches.
    """

    left: IntArray
    to: IntArray
    left_series: FloatArray
    to_series: FloatArray
    loops: tuple[Loop, ...]
    left_loop: IntArray
    to_loop: IntArray
    ways: list[int]
    stages: list[int]
    bare_ohm: FloatArray
    per_ohm: FloatArray | None


@dataclass(frozen=True)
class Problem:
    """Everything the ladder is computed from. ``hot_ratio`` is hot over cold ohms of each section at settled duty;
    ``given_away`` the share of the largest valley current that is given away for more even peaks (plain series only).
    """

    line: Line
    motor: Motor
    start: Start
    notches: tuple[Notch, ...]
    sections: tuple[str, ...]
    hot_ratio: Mapping[str, float]
    cold_c: float = 20.0
    given_away: float = 0.0

    @cached_property
    def stages(self) -> tuple[Stage, ...]:
        """The notches as stages."""
        return tuple(Stage.of(notch) for notch in self.notches)

    @cached_property
    def curve(self) -> MotorCurve:
        """The motor's characteristic, with the full field."""
        return curve_of(self.motor.magnetisation)

    @cached_property
    def curves(self) -> tuple[MotorCurve, ...]:
        """The motor's characteristic on every stage, with the field it has there."""
        return tuple(self.curve.at_field(stage.field) for stage in self.stages)

    def k_each(self, current_a: float) -> FloatArray:
        """``k`` on every stage at one current, V per rad/s."""
        values = {field: curve.k(current_a) for field, curve in self._by_field.items()}
        return np.array([values[stage.field] for stage in self.stages])

    @cached_property
    def _by_field(self) -> dict[float, MotorCurve]:
        return {stage.field: curve for stage, curve in zip(self.stages, self.curves, strict=True)}

    @cached_property
    def warm_ohm(self) -> float:
        """Resistance of one motor as stated, at the temperature stated for it."""
        return self.motor.resistance_ohm

    @cached_property
    def cold_ohm(self) -> float:
        """Resistance of one motor that has stood: at ``cold_c``, or as stated if that is colder still."""
        at_c = min(self.cold_c, self.motor.resistance_at_c)
        return copper_ohm(self.motor.resistance_ohm, self.motor.resistance_at_c, at_c)

    @cached_property
    def corners(self) -> tuple[str, ...]:
        """The corners the peak rule is held in.

        A motor at its stated warmth never peaks higher than a cold one: R' on arriving counts Ip times, R' on leaving
        only f·Iv times, and f < Ip/Iv since emf per ampere falls. For the same reason a section in plain series that
        stays in circuit is worst cold, one that is dropped is worst hot. With branches a section may count for more
        before than after, so the whole departing notch hot is a corner of its own. (A notch with a weakened field left
        for one with a fuller field in the same grouping would turn this round; controllers only weaken.)
        """
        if all(ratio == 1.0 for ratio in self.hot_ratio.values()):
            return (GRID_COLD,)
        plain = all(stage.plain for stage in self.stages)
        return (GRID_COLD, DROPPED_HOT) if plain else (GRID_COLD, DROPPED_HOT, LEFT_HOT)

    def bare(self, index: int, *, cold: bool) -> float:
        """R' of a stage without any grid, ohm, with the motors cold or as stated."""
        stage, ohm = self.stages[index], self.cold_ohm if cold else self.warm_ohm
        return stage.bare_ohm(stage.motor_factor(self.motor) * ohm, self.line.feeder_ohm)

    def warmth(self, arrival: Arrival) -> dict[str, float]:
        """Hot over cold ohms of every section in the corner of an arrival, the same before and after the notching."""
        hot = self.hot_sections(arrival)
        return {name: self.hot_ratio.get(name, 1.0) if name in hot else 1.0 for name in self.sections}

    def hot_sections(self, arrival: Arrival) -> frozenset[str]:
        """The sections that are hot in the corner of an arrival."""
        if arrival.left is None or arrival.corner == GRID_COLD:
            return frozenset()
        hot = self.in_circuit[arrival.left]
        return hot - self.in_circuit[arrival.to] if arrival.corner == DROPPED_HOT else hot

    @cached_property
    def in_circuit(self) -> tuple[frozenset[str], ...]:
        """The sections in circuit on every stage."""
        return tuple(frozenset(stage.sections) for stage in self.stages)

    def loop(self, index: int, run: Run, arrival: Arrival) -> Loop:
        """The loop of a stage through one of its circuits in the corner of an arrival."""
        return index, run, self.hot_sections(arrival) & self.in_circuit[index]

    @cached_property
    def every_arrival(self) -> EveryArrival:
        """Every arrival there is; what does not hang on the ohms of the sections is worked out once."""
        places = [(to, left) for to in range(1, len(self.stages)) for left in (None, *range(to))]
        groups = [tuple(self.arrivals(to, left)) for to, left in places]
        arrivals = [arrival for group in groups for arrival in group]
        leaving = [None if a.left is None else self.loop(a.left, a.left_circuit, a) for a in arrivals]
        arriving = [self.loop(a.to, a.to_circuit, a) for a in arrivals]
        number = {loop: at for at, loop in enumerate(dict.fromkeys([*filter(None, leaving), *arriving]))}
        series = np.array([stage.grouping.series for stage in self.stages], float)
        left, to = (np.array(column, np.intp) for column in ([a.left or 0 for a in arrivals], [a.to for a in arrivals]))
        return EveryArrival(
            left,
            to,
            np.where([a.left is None for a in arrivals], 1.0, series[left]),
            series[to],
            tuple(number),
            np.array([-1 if loop is None else number[loop] for loop in leaving], np.intp),
            np.array([number[loop] for loop in arriving], np.intp),
            list(accumulate(map(len, groups), initial=0))[:-1],
            list(accumulate(range(2, len(self.stages) + 1), initial=0))[:-1],
            np.array([self.bare(index, cold=True) for index, _, _ in number]),
            self._per_ohm(tuple(number)) if all(stage.plain for stage in self.stages) else None,
        )

    def _per_ohm(self, loops: tuple[Loop, ...]) -> FloatArray:
        """What an ohm of each section, cold, adds to R' of each loop in plain series, ohm."""
        rows = [
            [run.parts.count(name) * (self.hot_ratio.get(name, 1.0) if name in hot else 1.0) for name in self.sections]
            for _, run, hot in loops
        ]
        weight = np.array([[self.stages[index].weight] for index, _, _ in loops])
        return np.asarray(weight.reshape(len(loops), 1) * np.array(rows).reshape(len(loops), len(self.sections)))

    def arrivals(self, to: int, left: int | None) -> Iterator[Arrival]:
        """Every way to arrive at a stage from another: pairs of string circuits, corners."""
        target = self.stages[to]
        if left is None:
            yield from (Arrival(to, None, run, Run(), GRID_COLD) for run in target.circuits)
            return
        origin = self.stages[left]
        pairs = dict.fromkeys((a, b) for a in target.circuits for b in origin.circuits)
        for a, b in pairs:
            yield from (Arrival(to, left, a, b, corner) for corner in self.corners)
