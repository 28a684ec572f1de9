"""Circuits over many trial grids at once: ohms, their slope, and the windows that notches leave to sections."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np
from numpy.typing import NDArray

from griddesign.choose.problem import Choice, NotchAim
from griddesign.grid.circuit import is_plain_series, names
from griddesign.grid.records import Branches, Run

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_SWEEPS = 2
_BISECTIONS = 16
_FAR = 1e9


@dataclass(frozen=True, slots=True)
class Aim:
    """A notch that the choice can move: the aim, its sections as column numbers, and how often each is in series.

    ``counts`` is None where branches lie side by side.
    """

    notch: NotchAim
    columns: tuple[int, ...]
    counts: tuple[int, ...] | None

    @property
    def plain(self) -> bool:
        """Whether all its sections are one after another."""
        return self.counts is not None

    def window(self, error: float) -> tuple[float, float]:
        """Grid ohms within which the notch's error stays inside ``+-error``: low and high end, ohm.

        ``R'_wanted / (1 + e) <= other + factor * grid <= R'_wanted / (1 - e)``; no upper end from e = 1 on.
        """
        low = (self.notch.total_ohm / (1.0 + error) - self.notch.other_ohm) / self.notch.factor
        if error >= 1.0:
            return max(low, 0.0), inf
        return max(low, 0.0), (self.notch.total_ohm / (1.0 - error) - self.notch.other_ohm) / self.notch.factor


def aims(choice: Choice) -> tuple[Aim, ...]:
    """The notches with at least one section in circuit."""
    column = {name: number for number, name in enumerate(choice.section_order)}
    return tuple(_aim(notch, column) for notch in choice.notches if names(notch.circuit))


def _aim(notch: NotchAim, column: Mapping[str, int]) -> Aim:
    found = names(notch.circuit)
    columns = tuple(column[name] for name in found)
    if not is_plain_series(notch.circuit):
        return Aim(notch, columns, None)
    return Aim(notch, columns, tuple(sum(part == name for part in notch.circuit.parts) for name in found))


def fixed_error(choice: Choice) -> float:
    """Worst error of the notches without any section in circuit: no choice of plates moves it."""
    return max((abs(notch.error(0.0)) for notch in choice.notches if not names(notch.circuit)), default=0.0)


def ohms_and_slope(run: Run, ohm: Mapping[str, Floats], slope: Mapping[str, Floats]) -> tuple[Floats, Floats]:
    """Ohms of the run and their derivative along ``slope``, elementwise; every section above zero ohm.

    Series adds; side by side ``R = 1/sum(1/R_b)`` and ``dR = R^2 sum(dR_b/R_b^2)`` (Tellegen).
    """
    total = np.zeros(1)
    rise = np.zeros(1)
    for part in run.parts:
        if isinstance(part, str):
            total, rise = total + ohm[part], rise + slope[part]
        else:
            part_ohm, part_rise = _group(part, ohm, slope)
            total, rise = total + part_ohm, rise + part_rise
    return total, rise


def _group(group: Branches, ohm: Mapping[str, Floats], slope: Mapping[str, Floats]) -> tuple[Floats, Floats]:
    branches = [ohms_and_slope(run, ohm, slope) for run in group.runs]
    inverse = sum((1.0 / value for value, _ in branches), np.zeros(1))
    rise = sum((value_rise / value**2 for value, value_rise in branches), np.zeros(1))
    return 1.0 / inverse, rise / inverse**2


def aim_ohms(aim: Aim, order: Sequence[str], section_ohm: Floats) -> Floats:
    """Grid ohms of the notch for each row of section ohms (one column per section in order)."""
    if aim.counts is not None:
        total = np.zeros(len(section_ohm))
        for column, count in zip(aim.columns, aim.counts, strict=True):
            total += count * section_ohm[:, column]
        return total
    return _run_ohms(aim.notch.circuit, {order[column]: section_ohm[:, column] for column in aim.columns})


def _run_ohms(run: Run, ohm: Mapping[str, Floats]) -> Floats:
    """Ohms of the run for each row, every section above zero ohm."""
    total: Floats | None = None
    for part in run.parts:
        value = ohm[part] if isinstance(part, str) else 1.0 / _conductance(part, ohm)
        total = value if total is None else total + value
    return np.zeros(1) if total is None else total


def _conductance(group: Branches, ohm: Mapping[str, Floats]) -> Floats:
    first, *others = (1.0 / _run_ohms(run, ohm) for run in group.runs)
    for other in others:
        first = first + other
    return first


def section_windows(
    moved: Sequence[Aim], order: Sequence[str], error: float, low: Floats, high: Floats
) -> tuple[Floats, Floats] | None:
    """Ohms each section may have when every notch stays within ``+-error``; None where a window is empty.

    Starts from ``low`` and ``high`` and lets every notch cut every section in turn, twice over: a section can
    be no smaller than what the notch lacks when all others are at their high end (Rayleigh: the ohms of any circuit
    rise with those of every section), and the other way about.
    """
    low, high = low.copy(), high.copy()
    for _ in range(_SWEEPS):
        for aim in moved:
            _cut_sections(aim, order, aim.window(error), low, high)
            if np.any(low > high * (1.0 + 1e-9)):
                return None
    return low, high


def _cut_sections(aim: Aim, order: Sequence[str], window: tuple[float, float], low: Floats, high: Floats) -> None:
    columns = list(aim.columns)
    if aim.counts is None:
        least = _turning_points(aim, order, window[0], high, high[columns])[0]
        top = np.full(len(columns), 10.0 * (float(low.sum()) + min(max(window[1], 0.0), _FAR)) + 1.0)
        most = _turning_points(aim, order, window[1], low, top)[1]
    else:
        counts = np.array(aim.counts)
        least = (window[0] - counts @ high[columns]) / counts + high[columns]
        most = (window[1] - counts @ low[columns]) / counts + low[columns]
    low[columns] = np.maximum(low[columns], least * (1.0 - 1e-9))
    high[columns] = np.minimum(high[columns], most * (1.0 + 1e-9))


def _turning_points(
    aim: Aim, order: Sequence[str], target: float, others: Floats, top: Floats
) -> tuple[Floats, Floats]:
    """Brackets of the ohms at which each section in turn, the others as given, brings the notch to ``target``.

    From zero up to ``top``. Where ``top`` is not enough the bracket is ``top`` and infinity.
    """
    columns = np.array(aim.columns)
    trial = np.tile(others, (len(columns), 1))
    rows = np.arange(len(columns))

    def short(ohm: Floats) -> NDArray[np.bool_]:
        trial[rows, columns] = ohm
        reached: NDArray[np.bool_] = aim_ohms(aim, order, trial) < target
        return reached

    never = short(top)
    low, high = np.zeros(len(columns)), top.copy()
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        lacking = short(middle)
        low, high = np.where(lacking, middle, low), np.where(lacking, high, middle)
    return np.where(never, top, low), np.where(never, inf, high)
