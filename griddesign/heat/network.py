"""The sections of a notch as one electric circuit, heating: line volts, ohms that rise, currents that follow.

    C(T) dT/dt = (I share / q)^2 R20 r(T) - loss(T)    for one plate of each live section

with q plates side by side, r(T) the metal's ratio and I the current through the grid: ``V / (other + grid(T))`` when
the car stands still, the caller's own law when it is held running. Neither motors nor wiring are known in this room:
the caller hands in ohms, a law for the current and, where branches lie side by side, how it divides.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Self, TypeAlias

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import CircuitError, InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import LumpTables
from griddesign.heat.records import HeatedSection

Divide: TypeAlias = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
Running: TypeAlias = Callable[[FloatArray, float], FloatArray]
Solve: TypeAlias = Callable[[FloatArray, FloatArray, NDArray[np.bool_]], tuple[FloatArray, FloatArray]]

_LAW_CELLS = 512
STANDS, BY_ITSELF = -1, -2


@dataclass(frozen=True, slots=True)
class NotchCircuit:
    """One notch as the heat sees it. ``sections`` are the live ones, in the order ``divide`` takes them.

    ``other_ohm`` is everything else the grid's own current meets with the car standing still: for a common grid the
    feeder and s/p motors' ohms, for a grid per motor string s motors and p times the feeder.
    ``divide`` maps section ohms (cases, live) to grid ohms (cases,) and shares (cases, live) of the grid's current;
    None is a plain run. ``running`` maps grid ohms (an array) and line volts to the grid's current with the car held
    running, A; None leaves those holds out. ``line_per_grid`` is amperes from line per ampere through the grid.
    ``solve`` stands for all of these where the grid is no circuit of its own between two points: it maps section ohms
    (cases, live), line volts and whether the car is held running (cases,) to amperes from line (cases,) and in the
    sections (cases, live); ``solve_running``: whether it is asked for a car held running.
    """

    notch: str
    sections: tuple[str, ...]
    other_ohm: float
    divide: Divide | None = None
    running: Running | None = None
    line_per_grid: float = 1.0
    solve: Solve | None = None
    solve_running: bool = False

    @property
    def held_running(self) -> bool:
        """Whether the car held running is known."""
        return self.running is not None or self.solve_running


@dataclass(frozen=True, slots=True, eq=False)
class Laws:
    """Sampled laws current(grid ohms): ``amps`` (law, sample) at even steps ``step_ohm`` up from ``low_ohm``."""

    amps: FloatArray
    low_ohm: FloatArray
    step_ohm: FloatArray

    def read(self, law: NDArray[np.intp], grid_ohm: FloatArray) -> FloatArray:
        """Current of each case's own law at its grid ohms, A; straight lines between 512 samples (1e-6)."""
        steps = (grid_ohm - self.low_ohm[law]) / self.step_ohm[law]
        cells = np.minimum(np.maximum(steps, 0.0), _LAW_CELLS - 1).astype(np.intp)
        left, right = self.amps[law, cells], self.amps[law, cells + 1]
        return np.asarray(left + (steps - cells) * (right - left))


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Cases side by side, each one notch held in one way. Arrays are (cases, sections) or (cases,).

    ``joint_ohm`` (sections,) does not rise with heat; its heat is shared out to the ``plates`` of the section.
    ``law`` is ``STANDS`` where the car stands still, ``BY_ITSELF`` where it is held running and ``solved`` knows, else
    the number in ``laws``. ``nested`` and ``solved`` pair a notch number with how its current divides, or with all of
    its currents, and the places of its live sections.
    """

    tables: LumpTables
    section_ohm: FloatArray
    joint_ohm: FloatArray
    plates: FloatArray
    plate_ohm: FloatArray
    side_by_side: FloatArray
    lump: NDArray[np.intp]
    live: FloatArray
    notch: NDArray[np.intp]
    line_v: FloatArray
    other_ohm: FloatArray
    law: NDArray[np.intp]
    laws: Laws | None
    nested: tuple[tuple[int, Divide, NDArray[np.intp]], ...]
    solved: tuple[tuple[int, Solve, NDArray[np.intp]], ...] = ()

    def take(self, keep: NDArray[np.intp]) -> Self:
        """The same network with only the cases ``keep``."""
        return replace(
            self,
            lump=self.lump[keep],
            live=self.live[keep],
            notch=self.notch[keep],
            line_v=self.line_v[keep],
            other_ohm=self.other_ohm[keep],
            law=self.law[keep],
        )

    def rate(self, t_c: FloatArray) -> FloatArray:
        """dT/dt of every live section, K/s; sections not in circuit stay as they are."""
        ratio, capacity_j_k, loss_w = self.tables.read(self.lump, t_c)
        current_a, shares = self._current(ratio)
        section_a = current_a[:, None] * shares
        plate_w = (section_a / self.side_by_side) ** 2 * self.plate_ohm * ratio
        joints_w = section_a**2 * self.joint_ohm / self.plates
        return self.live * (plate_w + joints_w - loss_w) / capacity_j_k

    def grid_current_a(self, t_c: FloatArray) -> FloatArray:
        """Current through the grid of every case at these temperatures, A."""
        return self._current(self.tables.read(self.lump, t_c)[0])[0]

    def _current(self, ratio: FloatArray) -> tuple[FloatArray, FloatArray]:
        ohms = self.section_ohm * ratio + self.joint_ohm
        grid_ohm, shares = self._divided(ohms)
        current_a = self.line_v / (self.other_ohm + grid_ohm)
        running = np.flatnonzero(self.law >= 0)
        if running.size and self.laws is not None:
            current_a[running] = self.laws.read(self.law[running], grid_ohm[running])
        for number, solve, places in self.solved:
            cases = np.flatnonzero(self.notch == number)
            if cases.size:
                own = cases[:, None], places
                current_a[cases], each_a = solve(ohms[own], self.line_v[cases], self.law[cases] == BY_ITSELF)
                shares = shares.copy() if shares is self.live else shares
                shares[own] = each_a / current_a[own[0]]
        return current_a, shares

    def _divided(self, ohms: FloatArray) -> tuple[FloatArray, FloatArray]:
        grid_ohm = (self.live * ohms).sum(axis=1)
        shares = self.live
        for number, divide, places in self.nested:
            cases = np.flatnonzero(self.notch == number)
            if cases.size:
                shares = shares.copy() if shares is self.live else shares
                grid_ohm[cases], shares[cases[:, None], places] = divide(ohms[cases[:, None], places])
        return grid_ohm, shares


def section_cold_ohm(section: HeatedSection) -> float:
    """Cold ohms of the plates of the whole section, joints apart: steps in series over plates side by side."""
    return section.body.cold_ohm * section.series / section.in_parallel


def sample_law(
    circuit: NotchCircuit, line_v: float, lowest_ohm: FloatArray, highest_ohm: FloatArray
) -> tuple[FloatArray, float, float]:
    """The circuit's running law between the ohms its live sections can have: amps, first ohms and step of ohms.

    Raises InputError where the law gives no finite current.
    """
    if circuit.running is None:
        raise InputError(f"notch {circuit.notch} has no law for running")
    low = _grid_ohm(circuit, lowest_ohm)
    step = max((_grid_ohm(circuit, highest_ohm) - low) / _LAW_CELLS, 1e-9 * (1.0 + low))
    samples_ohm = np.linspace(low, low + step * _LAW_CELLS, _LAW_CELLS + 1, dtype=np.float64)
    amps = np.broadcast_to(np.asarray(circuit.running(samples_ohm, line_v), dtype=np.float64), samples_ohm.shape)
    if not np.all(np.isfinite(amps)):
        raise InputError(f"notch {circuit.notch} at {line_v:.0f} V: the car held running has no finite current")
    return amps, low, step


def _grid_ohm(circuit: NotchCircuit, live_ohm: FloatArray) -> float:
    return float(live_ohm.sum()) if circuit.divide is None else float(circuit.divide(live_ohm[None, :])[0][0])


def live_places(circuit: NotchCircuit, places: dict[str, int]) -> NDArray[np.intp]:
    """Places of the circuit's live sections. Raises CircuitError on a section nobody described."""
    unknown = [name for name in circuit.sections if name not in places]
    if unknown:
        raise CircuitError(
            f"notch {circuit.notch} names sections {', '.join(unknown)} that have no plates",
            hint=f"Known sections: {', '.join(places) or 'none'}.",
        )
    return np.array([places[name] for name in circuit.sections], dtype=np.intp)


def nested_circuits(
    circuits: Sequence[NotchCircuit], places: dict[str, int]
) -> tuple[tuple[int, Divide, NDArray[np.intp]], ...]:
    """The circuits with branches side by side, by number, with the places of their live sections."""
    return tuple(
        (number, circuit.divide, live_places(circuit, places))
        for number, circuit in enumerate(circuits)
        if circuit.divide is not None
    )


def solved_circuits(
    circuits: Sequence[NotchCircuit], places: dict[str, int]
) -> tuple[tuple[int, Solve, NDArray[np.intp]], ...]:
    """The circuits whose currents are found as a whole, by number, with the places of their live sections."""
    return tuple(
        (number, circuit.solve, live_places(circuit, places))
        for number, circuit in enumerate(circuits)
        if circuit.solve is not None
    )
