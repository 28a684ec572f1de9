"""Starts: the heat of one, and what a start every so many seconds settles to.

The caller gives, for each section, the joules of one start and how long the section carries current; the heat is
spread evenly over that time. Joules at cold ohms (the current squared over time, times the ohms at 20 degC) grow with
the ohms, and a high temperature coefficient is then the worse end. That is the safe side: a driver who notches up by
current gets little more heat in all from hot ohms, only at other moments. Joules of a start that was run with hot ohms
stand as given.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.closed import settled_peak_k
from griddesign.heat.lumps import AS_GIVEN, ENDS, OVERSHOOT_K, End, LumpShelf, LumpTables, at_end, sections_by_name
from griddesign.heat.march import march
from griddesign.heat.records import HeatedSection, HeatRow, PlateBody

ONE_START = "one start"
_SETTLED_ERROR_K = 1e-3
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


def settled_case(every_s: float) -> str:
    """Name of the duty in the rows, e.g. "settled, a start every 120 s"."""
    return f"settled, a start every {every_s:g} s"


def after_one_start_c(
    body: PlateBody, start_c: float, joules: float, *, grows: bool = True, highest_c: float | None = None
) -> float:
    """Temperature of one plate after ``joules`` without any loss, degC; inf 40 K beyond ``highest_c``, which is the top
    of the metal's table unless given.

    Root of ``integral of C(T)/r(T) dT from start = joules``, joules at the plate's cold ohms; with ``grows`` False
    r = 1, joules as they stand.
    """
    highest_c = body.metal.top_c if highest_c is None else highest_c
    edges_c = np.arange(start_c, highest_c + OVERSHOOT_K, 1.0)
    if edges_c.size < 2:
        return math.inf
    growth = body.metal.ratio(edges_c) if grows else np.ones_like(edges_c)
    per_k = body.mass_kg * body.metal.specific_heat(edges_c) / growth
    swallowed_j = np.concatenate([[0.0], np.cumsum(0.5 * (per_k[1:] + per_k[:-1]))])
    return math.inf if joules > swallowed_j[-1] else float(np.interp(joules, swallowed_j, edges_c))


def start_rows(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    line_v: float,
    ambients: Sequence[float],
    *,
    ends: Sequence[End] = ENDS,
) -> tuple[HeatRow, ...]:
    """One start from ambient: best estimate and adiabatic bound of every section, at its worst end of the weak figures.

    ``line_v`` is the line voltage the joules belong to, ``ambients`` degC. Raises InputError on a section without
    joules, or with joules in no time.
    """
    bench = _bench(sections, starts, ambients, ends)
    peak_c = bench.after(bench.ambient_c, bench.on_s, bench.power_w)
    cycle = _Cycle(peak_c, bench.ambient_c, np.zeros(peak_c.size, dtype=np.bool_))
    return _rows(bench, ONE_START, line_v, cycle)


def settled_rows(
    sections: Sequence[HeatedSection],
    starts: Sequence[StartHeat],
    line_v: float,
    ambients: Sequence[float],
    *,
    every_s: float,
    ends: Sequence[End] = ENDS,
) -> tuple[HeatRow, ...]:
    """A start every ``every_s`` seconds for ever: the hottest moment of the settled cycle, from the marched equation.

    ``hot_c`` is inf where no cycle settles with its coldest moment inside the metal's table. A settled duty without
    loss does not exist; ``bound_c`` is one start without loss from the coldest moment of the settled cycle.
    ``runs_away``: the mean heat is above the full loss at every temperature up to the top of the table. Raises
    InputError where a start takes longer than ``every_s``, and as ``start_rows``.
    """
    bench = _bench(sections, starts, ambients, ends)
    if bench.on_s.max() > every_s:
        raise InputError(
            f"a start of {bench.on_s.max():.3g} s cannot be made every {every_s:g} s",
            hint="Lengthen start_every in [duty]; it counts from one start to the next.",
        )
    valley_c = _settled_valley_c(bench, every_s)
    peak_c = bench.after(np.minimum(valley_c, bench.top_c), bench.on_s, bench.power_w)
    cycle = _Cycle(np.where(np.isinf(valley_c), np.inf, peak_c), valley_c, _runs_away(bench, every_s))
    return _rows(bench, settled_case(every_s), line_v, cycle)


def settled_temperatures(rows: Iterable[HeatRow]) -> Mapping[str, float]:
    """Hottest settled temperature of each section in ``rows``, degC: what holds from a settled duty start from."""
    hottest: dict[str, float] = {}
    for row in rows:
        hottest[row.section] = max(hottest.get(row.section, -math.inf), row.hot_c)
    return hottest


def settled_by_hand_c(section: HeatedSection, start: StartHeat, ambient_c: float, every_s: float) -> float:
    """The settled peak in closed form, degC: one time constant, ohms and loss as they are at the mean temperature.

    The mean temperature balances mean heat and loss; there ``tau = C (T - Ta)/loss`` and the steady rise of heat that
    never stops is ``(T - Ta) every/on``. inf where no balance lies inside the metal's table.
    """
    bench = _bench([section], [start], [ambient_c], [AS_GIVEN])
    mean_c = float(_balance_c(bench, every_s)[0])
    if math.isinf(mean_c):
        return math.inf
    _, heat_j_k, loss_w = (float(part[0]) for part in bench.tables.read(bench.lump, np.array([mean_c])))
    if loss_w <= 0.0:
        return ambient_c
    rise_k = mean_c - ambient_c
    tau_s = heat_j_k * rise_k / loss_w
    return ambient_c + settled_peak_k(
        rise_k * every_s / start.on_s, start.on_s, every_s - start.on_s, tau_on_s=tau_s, tau_off_s=tau_s
    )


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class _Bench:
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


def _bench(
    sections: Sequence[HeatedSection], starts: Sequence[StartHeat], ambients: Sequence[float], ends: Sequence[End]
) -> _Bench:
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
    return _Bench(
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


def _runs_away(bench: _Bench, every_s: float) -> NDArray[np.bool_]:
    """Whether the mean heat is above the loss everywhere from ambient to the top of the table."""
    above = np.ones(bench.ambient_c.size, dtype=np.bool_)
    for share in np.linspace(0.0, 1.0, 201):
        above &= bench.mean_excess_w(bench.ambient_c + share * (bench.top_c - bench.ambient_c), every_s) > 0.0
    return above


def _balance_c(bench: _Bench, every_s: float) -> FloatArray:
    """Temperature at which mean heat and loss balance, degC; inf where there is none up to the top of the table."""
    low, high = bench.ambient_c.copy(), bench.top_c.copy()
    open_end = bench.mean_excess_w(high, every_s) > 0.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        hotter = bench.mean_excess_w(middle, every_s) > 0.0
        low, high = np.where(hotter, middle, low), np.where(hotter, high, middle)
    return np.where(open_end, np.inf, high)


def _settled_valley_c(bench: _Bench, every_s: float) -> FloatArray:
    """Temperature at the beginning of a start that comes back a cycle later, degC; inf where none inside the table."""
    valley_c = np.full(bench.ambient_c.size, np.inf)
    settling = np.flatnonzero(bench.after_cycle(bench.top_c, every_s) < bench.top_c)
    if settling.size:
        valley_c[settling] = _come_back_c(bench.take(settling), every_s)
    return valley_c


def _come_back_c(bench: _Bench, every_s: float) -> FloatArray:
    """Newton's rule inside a bracket; the slope comes from a twin started one kelvin hotter."""
    low, high = bench.ambient_c.copy(), bench.top_c.copy()
    balance_c = np.minimum(_balance_c(bench, every_s), bench.top_c)
    guess = np.clip(balance_c - 0.5 * bench.kick_k(balance_c), low, high)
    twins = bench.take(np.tile(np.arange(guess.size), 2))
    for _ in range(_MOST_ROUNDS):
        later, twin_later = np.split(twins.after_cycle(np.concatenate([guess, guess + 1.0]), every_s), 2)
        gain_k, slope = later - guess, twin_later - later - 1.0
        low, high = np.where(gain_k > 0.0, guess, low), np.where(gain_k > 0.0, high, guess)
        wanted = guess - gain_k / np.minimum(slope, -1e-6)
        following = np.where((wanted > low) & (wanted < high), wanted, 0.5 * (low + high))
        moved_k, guess = np.abs(following - guess), following
        if np.all((moved_k < _SETTLED_ERROR_K) | (high - low < _SETTLED_ERROR_K)):
            break
    return guess


@dataclass(frozen=True, slots=True)
class _Cycle:
    """What came of every case: hottest moment, the moment before the start, whether it runs away."""

    peak_c: FloatArray
    start_c: FloatArray
    runs_away: NDArray[np.bool_]


def _rows(bench: _Bench, case: str, line_v: float, cycle: _Cycle) -> tuple[HeatRow, ...]:
    """One row per ambient and section, at the end with the hottest peak."""
    ends = len(bench.ends)
    worst = np.arange(cycle.peak_c.size // ends) * ends + cycle.peak_c.reshape(-1, ends).argmax(axis=1)
    return tuple(_row(bench, int(number), case, line_v, cycle) for number in worst)


def _row(bench: _Bench, number: int, case: str, line_v: float, cycle: _Cycle) -> HeatRow:
    section, end = bench.sections[bench.place[number]], bench.ends[number % len(bench.ends)]
    peak_c = float(cycle.peak_c[number])
    without_loss_c = _without_loss_c(bench, number, at_end(section.body, end), float(cycle.start_c[number]))
    return HeatRow(
        case=case,
        notch="",
        section=section.name,
        line_v=line_v,
        ambient_c=float(bench.ambient_c[number]),
        hot_c=peak_c,
        bound_c=max(peak_c, without_loss_c),
        limit_c=section.limit_c,
        margin_k=section.limit_c - peak_c,
        hold_s=None,
        hold_bound_s=None,
        runs_away=bool(cycle.runs_away[number]),
        worst_end=end.name,
    )


def _without_loss_c(bench: _Bench, number: int, body: PlateBody, start_c: float) -> float:
    joules = float(bench.power_w[number] * bench.on_s[number])
    if math.isinf(start_c):
        return math.inf
    return after_one_start_c(
        body, start_c, joules, grows=bool(bench.growing[number]), highest_c=float(bench.top_c[number])
    )
