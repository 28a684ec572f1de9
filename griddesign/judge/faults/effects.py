"""What a fault does: ohms, peaks and steps of effort on every notch, and the plate that one start heats most."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, isfinite

from griddesign.errors import GriddesignError
from griddesign.grid import circuit
from griddesign.grid.records import Branches, Run
from griddesign.judge.faults.bank import section_ohms, spans
from griddesign.judge.faults.records import Bank, Fault, NotchUnder
from griddesign.traction.curve import MotorCurve
from griddesign.traction.mean_start import mean_start
from griddesign.traction.mechanics import effort_n, resistance_n
from griddesign.traction.peaks import BuiltGrid
from griddesign.traction.problem import Problem, Stage, live_strings, strings_of
from griddesign.traction.records import Car, Line, Motor, Notch, Start


@dataclass(frozen=True)
class Drive:
    """Who drives: line, car, motor, the start asked for, the valley current (A per motor) the driver notches up at."""

    line: Line
    car: Car
    motor: Motor
    start: Start
    valley_a: float
    hot_ratio: Mapping[str, float]
    cold_c: float = 20.0

    def problem(self, notches: tuple[Notch, ...], sections: tuple[str, ...]) -> Problem:
        """The peak rule over these notches: one and the same for all faults that leave their circuits alone."""
        found = self._problems.get((notches, sections))
        if found is None:
            found = Problem(self.line, self.motor, self.start, notches, sections, self.hot_ratio, self.cold_c)
            self._problems[notches, sections] = found
        return found

    @cached_property
    def _problems(self) -> dict[tuple[tuple[Notch, ...], tuple[str, ...]], Problem]:
        return {}

    @property
    def cold_ohm(self) -> float:
        """One motor that has stood, ohm."""
        return self.problem((), ()).cold_ohm

    def pull_n(self, notch: Notch, current_a: float) -> float:
        """Pull at the rim of all motors of the notch at a current per motor, N; the curve held above its end."""
        stage = Stage.of(notch)
        curve = self._curve if stage.field == 1.0 else self._curve.at_field(stage.field)
        return effort_n(self.car, curve, stage.grouping.series * stage.grouping.parallel, current_a)

    def standstill_a(self, notch: Notch, grid_ohm: float) -> float:
        """Current per motor of the standing car, A, motors as stated."""
        stage = Stage.of(notch)
        motor_ohm = stage.motor_factor(self.motor) * self.motor.resistance_ohm
        return self.line.nominal_v / (stage.bare_ohm(motor_ohm, self.line.feeder_ohm) + stage.weight * grid_ohm)

    @cached_property
    def _curve(self) -> MotorCurve:
        return MotorCurve(self.motor.magnetisation).held_above()


def pruned(run: Run, open_names: frozenset[str]) -> Run | None:
    """The run without branches that an open section cuts off; None where nothing is left of it to carry current."""
    parts: list[str | Branches] = []
    for part in run.parts:
        if isinstance(part, str):
            if part in open_names:
                return None
            parts.append(part)
            continue
        left = [branch for one in part.runs if (branch := pruned(one, open_names)) is not None]
        if not left:
            return None
        parts += left[0].parts if len(left) == 1 else (Branches(tuple(left)),)
    return Run(tuple(parts))


def notch_under(notch: Notch, open_names: frozenset[str]) -> Notch | None:
    """The notch with those sections open; strings that are cut off lose their motors. None where no current flows."""
    if notch.common is not None:
        common = pruned(notch.common, open_names)
        return None if common is None else replace(notch, common=common)
    runs = [pruned(run, open_names) for run in notch.strings]
    lost = [place for place, run in enumerate(runs) if run is None]
    numbers = strings_of(notch)
    out = {*notch.out, *(number for place in lost for number in numbers[place])}
    changed = replace(notch, strings=tuple(run or Run() for run in runs), out=tuple(sorted(out)))
    every = {number for string in numbers for number in string}
    return None if out >= every else changed


@dataclass(frozen=True)
class Effect:
    """One fault on the notches of a car; without a ``drive``, the ohms alone."""

    fault: Fault
    notches: tuple[Notch, ...]
    drive: Drive | None

    @cached_property
    def ohms(self) -> dict[str, float]:
        """Cold ohms of every section."""
        return section_ohms(self.fault)

    @cached_property
    def _open(self) -> frozenset[str]:
        return frozenset(name for name, ohm in self.ohms.items() if ohm == inf)

    @cached_property
    def finite(self) -> dict[str, float]:
        """Cold ohms of the sections that are not open."""
        return {name: ohm for name, ohm in self.ohms.items() if isfinite(ohm)}

    @property
    def driver(self) -> Drive:
        """Who drives, where somebody does."""
        assert self.drive is not None
        return self.drive

    @cached_property
    def under(self) -> tuple[Notch | None, ...]:
        """Every notch as it is now; None where no current flows."""
        return tuple(notch_under(notch, self._open) for notch in self.notches) if self._open else self.notches

    def grid_ohm(self, place: int) -> float:
        """The grid's own ohms of a notch, of its highest string that carries current."""
        notch = self.under[place]
        if notch is None:
            return inf
        if notch.common is not None:
            return circuit.ohms(notch.common, self.finite)
        return max(circuit.ohms(notch.strings[place], self.finite) for place, _ in live_strings(notch))

    def lost(self, place: int) -> tuple[int, ...]:
        """Motors (from 1) that the fault leaves without current, where another still pulls."""
        notch = self.under[place]
        return (
            () if notch is None else tuple(number + 1 for number in notch.out if number not in self.notches[place].out)
        )

    @cached_property
    def shorted(self) -> frozenset[int]:
        """Places of notches that join line and ground: no grouping comes to that, a grid lies ahead of motors."""
        return frozenset()

    @cached_property
    def idle(self) -> frozenset[int]:
        """Places of notches with current and no motor in it: a grouping has none."""
        return frozenset()

    @cached_property
    def unsolved(self) -> Mapping[int, str]:
        """Places of notches that cannot be worked out, each with why: of groupings none."""
        return {}

    def line_peak_a(self, place: int) -> float | None:
        """Current of all strings together at the peak, A; None where the car does not move."""
        notch, peak = self.under[place], self.peaks.get(place)
        return None if notch is None or peak is None else peak * len(live_strings(notch))

    @cached_property
    def standing(self) -> frozenset[int]:
        """Places of the first notches on which current flows and the car does not move."""
        drive, still = self.drive, set()
        if drive is None:
            return frozenset()
        held = resistance_n(drive.car, 0.0)
        for place, notch in enumerate(self.under):
            if notch is not None:
                if drive.pull_n(notch, drive.standstill_a(notch, self.grid_ohm(place))) > held:
                    break
                still.add(place)
        return frozenset(still)

    @cached_property
    def moving(self) -> tuple[int, ...]:
        """Places of the notches that move the car."""
        return tuple(
            place for place, notch in enumerate(self.under) if notch is not None and place not in self.standing
        )

    @cached_property
    def _live(self) -> tuple[Notch, ...]:
        return tuple(notch for place in self.moving if (notch := self.under[place]) is not None)

    @cached_property
    def peaks(self) -> dict[int, float]:
        """Worst peak on arriving at each notch that moves the car, A per motor."""
        if self.drive is None or not self._live:
            return {}
        grid = BuiltGrid(self.drive.problem(self._live, tuple(self.finite)), self.finite)
        found = grid.peaks(self.drive.valley_a)
        return {place: peak.current_a for place, peak in zip(self.moving, found, strict=True)}

    @cached_property
    def steps(self) -> dict[int, float]:
        """Step of effort at the rim on arriving at each notch, N: the pull at the peak less the pull at the valley
        current on the notch left; a passed notch takes the pull that is there."""
        found: dict[int, float] = {}
        pulling = 0.0
        if self.drive is None:
            return found
        for place, notch in zip(self.moving, self._live, strict=True):
            peak = self.peaks[place]
            found[place] = self.drive.pull_n(notch, peak) - pulling
            pulling = self.drive.pull_n(notch, min(peak, self.drive.valley_a))
        return found

    @cached_property
    def greatest_pull_n(self) -> float:
        """The greatest pull on arriving at any notch, N; ``inf`` where the car never moves."""
        drive = self.drive
        if drive is None:
            return inf
        live = zip(self.moving, self._live, strict=True)
        return max((drive.pull_n(notch, self.peaks[place]) for place, notch in live), default=inf)

    def rows(self) -> tuple[NotchUnder, ...]:
        """Every notch; ``ohm_change`` and ``felt`` are left to whoever knows the sound grid."""
        return tuple(
            NotchUnder(
                notch.name,
                self.grid_ohm(place),
                0.0,
                self.peaks.get(place),
                self.steps.get(place),
                lost=self.lost(place),
                shorted=place in self.shorted,
                why=self.unsolved.get(place, ""),
            )
            for place, notch in enumerate(self.notches)
        )

    @cached_property
    def hottest(self) -> tuple[str, float] | None:
        """The section with the plate that one start heats most, and its rise if nothing cooled it, K.

        ``i²t`` of each section from the start at mean currents; of plates side by side each takes its share. None
        without a car, without a heat capacity, or where the car does not come away.
        """
        capacity = self.fault.bank.capacity_j_k
        if self.drive is None or not capacity or not self._live:
            return None
        try:
            run = mean_start(
                self.drive.line,
                self.drive.car,
                self.drive.motor,
                self._live,
                self.finite,
                valley_a=self.drive.valley_a,
            )
        except GriddesignError:
            return None
        a2s = {name: joules / self.finite[name] for name, joules in run.section_j if self.finite[name] > 0.0}
        rises = [(name, rise) for name, square in a2s.items() if (rise := rise_k(self.fault.bank, name, square))]
        return max(rises, key=lambda one: one[1], default=None)


def rise_k(bank: Bank, name: str, a2s: float) -> float:
    """Rise of the section's plate that is heated most, K; 0 where no capacity is known."""
    begin, end = next((begin, end) for section, begin, end in spans(bank) if section == name)
    most = 0.0
    for step in bank.plates.steps:
        if begin < step.first and step.last <= end and step.in_circuit and not step.dead:
            each = [bank.plates.plates[number - 1] for number in range(step.first, step.last + 1)]
            live = [plate for plate in each if plate.state in ("in circuit", "cracked")]
            whole = 1.0 / sum(1.0 / plate.ohm for plate in live)
            for plate in live:
                capacity = (bank.capacity_j_k or {}).get(plate.kind, inf)
                most = max(most, a2s * (whole / plate.ohm) ** 2 * plate.ohm / capacity)
    return most
