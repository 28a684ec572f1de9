"""The question of the ladder in the terms of one motor string: notches as stages, motors cold and warm, corners."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from griddesign.errors import CircuitError
from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.traction.curve import MotorCurve
from griddesign.traction.equation import copper_ohm
from griddesign.traction.records import Grouping, Line, Motor, Notch, Start

GRID_COLD = "grid cold, motor cold"
DROPPED_HOT = "dropped sections hot, motor cold"
LEFT_HOT = "departing notch hot, motor cold"


@dataclass(frozen=True, slots=True)
class Stage:
    """One notch: one common circuit, or one for each motor string; ``weight`` turns the ohms of a circuit into R'."""

    name: str
    grouping: Grouping
    circuits: tuple[Run, ...]
    weight: float
    wanted_ohm: float | None

    @classmethod
    def of(cls, notch: Notch) -> "Stage":
        """The stage of a notch. Raises CircuitError where the circuits do not fit the grouping."""
        if notch.common is not None:
            return cls(notch.name, notch.grouping, (notch.common,), float(notch.grouping.parallel), notch.wanted_ohm)
        if len(notch.strings) != notch.grouping.parallel:
            raise CircuitError(
                f"notch {notch.name} has {notch.grouping.parallel} motor strings and {len(notch.strings)} circuits",
                hint="Give one common circuit, or one circuit for each string.",
            )
        return cls(notch.name, notch.grouping, notch.strings, 1.0, notch.wanted_ohm)

    @property
    def sections(self) -> tuple[str, ...]:
        """Every section in circuit, each once."""
        return tuple(dict.fromkeys(name for run in self.circuits for name in circuit.names(run)))

    @property
    def plain(self) -> bool:
        """Whether no circuit of the stage has branches side by side."""
        return all(circuit.is_plain_series(run) for run in self.circuits)

    def bare_ohm(self, motor_ohm: float, feeder_ohm: float) -> float:
        """R' without any grid, ohm."""
        return self.grouping.series * motor_ohm + self.grouping.parallel * feeder_ohm


@dataclass(frozen=True, slots=True)
class Arrival:
    """Stage ``to`` reached from stage ``left`` (None: from standstill) through one pair of string circuits."""

    to: int
    left: int | None
    to_circuit: Run
    left_circuit: Run
    corner: str


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
        """The motor's characteristic."""
        return MotorCurve(self.motor.magnetisation)

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
        before than after, so the whole departing notch hot is a corner of its own.
        """
        if all(ratio == 1.0 for ratio in self.hot_ratio.values()):
            return (GRID_COLD,)
        plain = all(stage.plain for stage in self.stages)
        return (GRID_COLD, DROPPED_HOT) if plain else (GRID_COLD, DROPPED_HOT, LEFT_HOT)

    def bare(self, index: int, *, cold: bool) -> float:
        """R' of a stage without any grid, ohm, with the motors cold or as stated."""
        return self.stages[index].bare_ohm(self.cold_ohm if cold else self.warm_ohm, self.line.feeder_ohm)

    def warmth(self, arrival: Arrival) -> dict[str, float]:
        """Hot over cold ohms of every section in the corner of an arrival, the same before and after the notching."""
        if arrival.left is None or arrival.corner == GRID_COLD:
            return dict.fromkeys(self.sections, 1.0)
        hot = set(self.stages[arrival.left].sections)
        if arrival.corner == DROPPED_HOT:
            hot -= set(self.stages[arrival.to].sections)
        return {name: self.hot_ratio.get(name, 1.0) if name in hot else 1.0 for name in self.sections}

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
