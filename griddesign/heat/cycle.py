"""The cycle of a start every so many seconds, marched side by side for every section, ambient and end.

Each case is one plate, alone, heated evenly while its start lasts and cooling until the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import End, LumpShelf, LumpTables, sections_by_name
from griddesign.heat.march import march
from griddesign.heat.records import HeatedSection

SETTLED_K = 1e-3
"""A search for the settled cycle ends with the step that moves no case by more, K."""
_MOST_ROUNDS = 60


@dataclass(frozen=True, slots=True)
class StartHeat:
    """Heat of one start in one section, J, and the time it carries current, s.

    ``grows`` True: ``joules`` are R20 times the integral of I^2 dt, the current is given and the heat grows with the
    ohms. ``grows`` False: ``joules`` are those of a start already run with hot ohms, and are taken as they stand.
    """

    section: str
    joules: float
    on_s: float
    grows: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class _Alone:
    """Plates each for itself, cases x 1: given heat, W, of which the share ``growing`` (0 or 1) grows with the ohms."""

    tables: LumpTables
    lump: NDArray[np.intp]
    power_w: FloatArray
    growing: FloatArray

    def rate(self, t_c: FloatArray) -> FloatArray:
        """dT/dt, K/s."""
        ratio, heat_j_k, loss_w = self.tables.read(self.lump, t_c)
        return (self.power_w * _growth(self.growing, ratio) - loss_w) / heat_j_k

    def take(self, keep: NDArray[np.intp]) -> Self:
        """Only the cases ``keep``."""
        return type(self)(self.tables, self.lump[keep], self.power_w[keep], self.growing[keep])


def _growth(growing: FloatArray, ratio: FloatArray) -> FloatArray:
    return 1.0 + growing * (ratio - 1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """Ambients x sections x ends laid out in one row of cases; ``power_w`` is the heat of one plate while it is on."""

    sections: tuple[HeatedSection, ...]
    ends: tuple[End, ...]
    tables: LumpTables
    lump: NDArray[np.intp]
    place: NDArray[np.intp]
    ambient_c: FloatArray
    top_c: FloatArray
    on_s: FloatArray
    power_w: FloatArray
    growing: FloatArray

    def take(self, cases: NDArray[np.intp]) -> Self:
        """Only these cases, in this order; a case may be taken twice."""
        return replace(
            self,
            lump=self.lump[cases],
            place=self.place[cases],
            ambient_c=self.ambient_c[cases],
            top_c=self.top_c[cases],
            on_s=self.on_s[cases],
            power_w=self.power_w[cases],
            growing=self.growing[cases],
        )

    def after(self, start_c: FloatArray, seconds: FloatArray, power_w: FloatArray) -> FloatArray:
        """Temperatures after ``seconds`` of ``power_w``, degC."""
        system = _Alone(self.tables, self.lump[:, None], power_w[:, None], self.growing[:, None])
        never = np.full((start_c.size, 1), np.inf)
        return march(system, start_c[:, None], never, never, seconds).end_c[:, 0]

    def after_cycle(self, start_c: FloatArray, every_s: float) -> FloatArray:
        """Temperatures one whole cycle after the beginning of a start, degC."""
        peak_c = self.after(start_c, self.on_s, self.power_w)
        return self.after(peak_c, every_s - self.on_s, np.zeros_like(self.power_w))

    def mean_excess_w(self, t_c: FloatArray, every_s: float) -> FloatArray:
        """Mean heat of one plate less its loss at a steady ``t_c``, W."""
        ratio, _, loss_w = self.tables.read(self.lump, t_c)
        return self.power_w * self.on_s / every_s * _growth(self.growing, ratio) - loss_w

    def kick_k(self, t_c: FloatArray) -> FloatArray:
        """Rise of one start at ``t_c`` without loss, about, K."""
        ratio, heat_j_k, _ = self.tables.read(self.lump, t_c)
        return self.power_w * self.on_s * _growth(self.growing, ratio) / heat_j_k


def bench_of(
    sections: Sequence[HeatedSection], starts: Sequence[StartHeat], ambients: Sequence[float], ends: Sequence[End]
) -> Bench:
    """Every ambient, section and end as a case, in this order of nesting. Raises InputError on a section without
    joules, or with joules in no time."""
    by_name = _heat_by_section(sections, starts)
    shelf = LumpShelf()
    cases = [
        (place, ambient_c, shelf.number(section, end, ambient_c), by_name[section.name])
        for ambient_c in ambients
        for place, section in enumerate(sections)
        for end in ends
    ]
    place, ambient_c, lump, heat = (list(column) for column in zip(*cases, strict=True))
    tables, lumps = shelf.tables(), np.array(lump, dtype=np.intp)
    plates = np.array([float(section.series * section.in_parallel) for section in sections])[place]
    on_s = np.array([float(one.on_s) for one in heat])
    joules = np.array([float(one.joules) for one in heat])
    return Bench(
        sections=tuple(sections),
        ends=tuple(ends),
        tables=tables,
        lump=lumps,
        place=np.array(place, dtype=np.intp),
        ambient_c=np.array(ambient_c, dtype=np.float64),
        top_c=tables.top_c[lumps],
        on_s=on_s,
        power_w=np.divide(joules, plates * on_s, out=np.zeros_like(on_s), where=on_s > 0.0),
        growing=np.array([float(one.grows) for one in heat]),
    )


def _heat_by_section(sections: Sequence[HeatedSection], starts: Sequence[StartHeat]) -> dict[str, StartHeat]:
    by_name = {start.section: start for start in starts}
    missing = [name for name in sections_by_name(sections) if name not in by_name]
    if missing:
        raise InputError(f"no heat of a start was given for section {', '.join(missing)}")
    for start in starts:
        if start.joules > 0.0 and not start.on_s > 0.0:
            raise InputError(f"section {start.section}: {start.joules:g} J cannot come in {start.on_s:g} s")
    return by_name


def runs_away(bench: Bench, every_s: float) -> NDArray[np.bool_]:
    """Whether the mean heat over ``every_s`` is above the loss at all of 201 temperatures from ambient to the top."""
    above = np.ones(bench.ambient_c.size, dtype=np.bool_)
    for share in np.linspace(0.0, 1.0, 201):
        above &= bench.mean_excess_w(bench.ambient_c + share * (bench.top_c - bench.ambient_c), every_s) > 0.0
    return above


def balance_of_c(bench: Bench, every_s: float) -> FloatArray:
    """Temperature at which mean heat and loss balance, degC; inf where there is none up to the top of the table."""
    low, high = bench.ambient_c.copy(), bench.top_c.copy()
    open_end = bench.mean_excess_w(high, every_s) > 0.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        hotter = bench.mean_excess_w(middle, every_s) > 0.0
        low, high = np.where(hotter, middle, low), np.where(hotter, high, middle)
    return np.where(open_end, np.inf, high)


def _settled_valley_c(bench: Bench, every_s: float, settled_k: float) -> FloatArray:
    """Temperature at the beginning of a start that comes back a cycle later, degC; inf where none inside the table:
    where a cycle begun at its top does not end below it."""
    size, valley_c = bench.ambient_c.size, np.full(bench.ambient_c.size, np.inf)
    guess = _first_guess_c(bench, every_s)
    thrice = bench.take(np.tile(np.arange(size), 3))
    from_top, *twins = np.split(thrice.after_cycle(np.concatenate([bench.top_c, guess, guess + 1.0]), every_s), 3)
    settling = np.flatnonzero(from_top < bench.top_c)
    if settling.size:
        later, twin_later = (one[settling] for one in twins)
        valley_c[settling] = _come_back_c(
            bench.take(settling), every_s, settled_k, (guess[settling], later, twin_later)
        )
    return valley_c


def _first_guess_c(bench: Bench, every_s: float) -> FloatArray:
    """Half a start below the balance of the means, degC."""
    balance_c = np.minimum(balance_of_c(bench, every_s), bench.top_c)
    return np.clip(balance_c - 0.5 * bench.kick_k(balance_c), bench.ambient_c, bench.top_c)


def _come_back_c(
    bench: Bench, every_s: float, settled_k: float, first: tuple[FloatArray, FloatArray, FloatArray]
) -> FloatArray:
    """Newton's rule inside a bracket; the slope comes from a twin started one kelvin hotter. ``first``: a guess, and
    where it and its twin are a cycle later."""
    low, high = bench.ambient_c.copy(), bench.top_c.copy()
    guess, later, twin_later = first
    twins = bench.take(np.tile(np.arange(guess.size), 2))
    for _ in range(_MOST_ROUNDS):
        gain_k, slope = later - guess, twin_later - later - 1.0
        low, high = np.where(gain_k > 0.0, guess, low), np.where(gain_k > 0.0, high, guess)
        wanted = guess - gain_k / np.minimum(slope, -1e-6)
        following = np.where((wanted > low) & (wanted < high), wanted, 0.5 * (low + high))
        moved_k, guess = np.abs(following - guess), following
        if np.all((moved_k < settled_k) | (high - low < settled_k)):
            break
        later, twin_later = np.split(twins.after_cycle(np.concatenate([guess, guess + 1.0]), every_s), 2)
    return guess


def settled_c(bench: Bench, every_s: float, settled_k: float = SETTLED_K) -> tuple[FloatArray, FloatArray]:
    """Hottest and coldest moment of the settled cycle of every case, degC; inf where no cycle settles."""
    if bench.on_s.max() > every_s:
        raise InputError(
            f"a start of {bench.on_s.max():.3g} s cannot be made every {every_s:g} s",
            hint="Lengthen start_every in [duty]; it counts from one start to the next.",
        )
    valley_c = _settled_valley_c(bench, every_s, settled_k)
    peak_c = bench.after(np.minimum(valley_c, bench.top_c), bench.on_s, bench.power_w)
    return np.where(np.isinf(valley_c), np.inf, peak_c), valley_c
