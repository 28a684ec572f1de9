"""How long each notch may be held: stalled and held running, from ambient and from the settled temperature of the duty.

Every hold is run at every end of the weak figures; the end with the shortest hold (or, where it lasts for ever, the
least margin) is printed by name. Beside it stands the adiabatic network: the same circuit, ohms rising, no loss at all.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import ENDS, OVERSHOOT_K, End, LumpShelf, LumpTables, sections_by_name, top_c
from griddesign.heat.march import Course, march
from griddesign.heat.network import (
    BY_ITSELF,
    STANDS,
    Laws,
    Network,
    NotchCircuit,
    live_places,
    nested_circuits,
    sample_law,
    section_cold_ohm,
    solved_circuits,
)
from griddesign.heat.records import HeatedSection, HeatRow

STALLED = "stalled"
HELD_RUNNING = "held running"
FROM_AMBIENT = "from ambient"
FROM_SETTLED = "from settled duty"
CREW_STEP_S = 5.0


@dataclass(frozen=True, slots=True)
class Hold:
    """One hold of one notch: number of its circuit, way, start, line volts, ambient."""

    circuit: int
    way: str
    start: str
    line_v: float
    ambient_c: float

    @property
    def case(self) -> str:
        """The hold in words, as the heat sheet names it."""
        return f"{self.way}, {self.start}"


@dataclass(frozen=True, slots=True, eq=False)
class _Bench:
    """The sections, circuits and ends all holds share, and their arrays over holds x ends (cases) and sections."""

    sections: tuple[HeatedSection, ...]
    circuits: tuple[NotchCircuit, ...]
    ends: tuple[End, ...]
    holds: tuple[Hold, ...]
    start_c: FloatArray
    live: NDArray[np.bool_]
    hotter_k: FloatArray

    def excess_k(self, hold: Hold) -> FloatArray:
        """By how much the hottest plate of each section is hotter than the section while this hold lasts, K."""
        return self.hotter_k if hold.start == FROM_SETTLED else np.zeros_like(self.hotter_k)


def hold_rows(
    sections: Sequence[HeatedSection],
    circuits: Sequence[NotchCircuit],
    voltages: Sequence[float],
    ambients: Sequence[float],
    settled: Mapping[str, float] | None = None,
    *,
    ends: Sequence[End] = ENDS,
    breaker_a: float | None = None,
    hotter_k: Mapping[str, float] | None = None,
) -> tuple[HeatRow, ...]:
    """The holds of every notch that has a grid, one row per live section, in the order of circuits.

    ``voltages`` V at the line, ``ambients`` degC, ``settled`` degC of each section by name (None or empty: no holds
    from a settled duty). In a row ``hold_s`` is that of the notch: until the first plate of any live section reaches
    its limit, None for ever. ``hot_c`` is the section's temperature then, or when steady; ``bound_c`` what the
    adiabatic network, or the estimate where that is hotter, says at the same moment, inf where that lies above the
    metal's table. ``hold_bound_s`` is the shorter of the hold without any loss and ``hold_s``. With several sections in
    one circuit the adiabatic network alone is no strict bound: a neighbour that cools well keeps the current up.
    ``runs_away``: no steady state up to the top of a metal's table. ``breaker_opens``: the line current at the start of
    the hold is above ``breaker_a``. Motors' ohms are taken constant. ``hotter_k``: what hotter neighbours add to the
    hottest plate of a section in the settled duty; it counts for the limit, not for the ohms, which lower the current.

    Raises InputError on a section without settled temperature or two of one name, CircuitError on an unknown section.
    """
    holds = tuple(_holds(circuits, voltages, ambients, bool(settled)))
    if not holds:
        return ()
    bench = _set_up(sections, circuits, holds, settled or {}, ends, hotter_k)
    network, tops_c, limit_c = _network(bench)
    course = march(network, bench.start_c, limit_c, tops_c)
    worst = _worst_case(course, limit_c, len(bench.ends))
    bound = _without_loss(bench, course, worst)
    opens = _line_a(bench, network) > (math.inf if breaker_a is None else breaker_a)
    return tuple(
        row
        for place, case in enumerate(worst)
        for row in _rows(bench, course, bound, (place, int(case)), breaker_opens=bool(opens[case]))
    )


def _line_a(bench: _Bench, network: Network) -> FloatArray:
    """Current from line at the beginning of each hold, A."""
    per_grid = np.array([bench.circuits[hold.circuit].line_per_grid for hold in _each_end(bench)])
    return np.asarray(network.grid_current_a(bench.start_c) * per_grid)


def hold_curves_c(
    sections: Sequence[HeatedSection],
    circuit: NotchCircuit,
    line_v: float,
    ambient_c: float,
    seconds: Sequence[float],
    *,
    way: str = STALLED,
    settled: Mapping[str, float] | None = None,
    end: End = ENDS[0],
) -> FloatArray:
    """Temperatures while one notch is held, degC: a row per moment of ``seconds``, a column per live section.

    From ``settled`` temperatures if given, else from ambient; ``way`` is STALLED or HELD_RUNNING. ``end.adiabatic()``
    gives the curves without loss. nan after a plate has passed the top of its metal's table.
    """
    hold = Hold(0, way, FROM_SETTLED if settled else FROM_AMBIENT, line_v, ambient_c)
    bench = _set_up(sections, [circuit], (hold,) * len(seconds), settled or {}, [end])
    network, tops_c, limit_c = _network(bench)
    course = march(network, bench.start_c, limit_c, tops_c, np.asarray(seconds, dtype=np.float64))
    reached_c = np.where(course.topped[:, None], np.nan, course.end_c)
    return reached_c[:, live_places(circuit, sections_by_name(sections))]


def crew_hold_s(rows: Sequence[HeatRow], notch: str) -> float | None:
    """How long the crew may hold ``notch``, s: the worst hold at the highest voltage and hottest ambient in ``rows``.

    Rounded down to 5 s; 0 stands for "pass through" (under 5 s); None for no limit. Raises InputError on a notch that
    has no holds.
    """
    holds = [row for row in rows if row.notch == notch]
    if not holds:
        raise InputError(f"no hold was computed for notch {notch}")
    line_v, ambient_c = max(row.line_v for row in holds), max(row.ambient_c for row in holds)
    worst = [row.hold_s for row in holds if row.line_v == line_v and row.ambient_c == ambient_c]
    seconds = [hold_s for hold_s in worst if hold_s is not None]
    return math.floor(min(seconds) / CREW_STEP_S) * CREW_STEP_S if seconds else None


def _set_up(
    sections: Sequence[HeatedSection],
    circuits: Sequence[NotchCircuit],
    holds: tuple[Hold, ...],
    settled: Mapping[str, float],
    ends: Sequence[End],
    hotter_k: Mapping[str, float] | None = None,
) -> _Bench:
    places = sections_by_name(sections)
    live = np.zeros((len(circuits), len(sections)), dtype=np.bool_)
    for number, circuit in enumerate(circuits):
        live[number, live_places(circuit, places)] = True
    start_c = np.array([_start_c(hold, sections, settled) for hold in holds]).reshape(len(holds), len(sections))
    return _Bench(
        tuple(sections),
        tuple(circuits),
        tuple(ends),
        holds,
        np.repeat(start_c, len(ends), axis=0),
        np.repeat(live[[hold.circuit for hold in holds]], len(ends), axis=0),
        np.array([(hotter_k or {}).get(section.name, 0.0) for section in sections]),
    )


def _holds(
    circuits: Sequence[NotchCircuit], voltages: Sequence[float], ambients: Sequence[float], settled: bool
) -> Sequence[Hold]:
    starts = (FROM_AMBIENT, FROM_SETTLED) if settled else (FROM_AMBIENT,)
    return [
        Hold(number, way, start, line_v, ambient_c)
        for number, circuit in enumerate(circuits)
        for line_v, ambient_c, way, start in product(voltages, ambients, (STALLED, HELD_RUNNING), starts)
        if circuit.sections and (way == STALLED or circuit.held_running)
    ]


def _start_c(hold: Hold, sections: Sequence[HeatedSection], settled: Mapping[str, float]) -> list[float]:
    if hold.start == FROM_AMBIENT:
        return [hold.ambient_c] * len(sections)
    missing = [section.name for section in sections if section.name not in settled]
    if missing:
        raise InputError(f"no settled temperature for section {', '.join(missing)}")
    return [min(max(settled[section.name], hold.ambient_c), top_c(section) + OVERSHOOT_K) for section in sections]


def _each_end(bench: _Bench) -> list[Hold]:
    return [hold for hold in bench.holds for _ in bench.ends]


def _network(bench: _Bench) -> tuple[Network, FloatArray, FloatArray]:
    """The network of every hold at every end, and per case and section the top of the table and the limit."""
    shelf = LumpShelf()
    lump = _lumps(shelf, bench.sections, [(end, hold.ambient_c) for hold in bench.holds for end in bench.ends])
    tables = shelf.tables()
    tops_c = np.where(bench.live, tables.top_c[lump], np.inf)
    limit_c = np.where(bench.live, _limits_c(bench, _each_end(bench)), np.inf)
    return _wire(bench, _each_end(bench), tables, lump, bench.live), tops_c, limit_c


def _lumps(shelf: LumpShelf, sections: Sequence[HeatedSection], cases: Sequence[tuple[End, float]]) -> NDArray[np.intp]:
    """Numbers of the lumps (cases, sections) at the end and ambient of each case; like cases are looked up once."""
    rows = {
        (end, ambient_c): [shelf.number(section, end, ambient_c) for section in sections]
        for end, ambient_c in dict.fromkeys(cases)
    }
    return np.array([rows[case] for case in cases], dtype=np.intp)


def _limits_c(bench: _Bench, holds: Sequence[Hold]) -> FloatArray:
    """What each section as a whole may reach in each hold, degC: the limit of its hottest plate."""
    own_c = np.array([section.limit_c for section in bench.sections])
    return np.array([own_c - bench.excess_k(hold) for hold in holds]).reshape(len(holds), own_c.size)


def _wire(
    bench: _Bench, cases: Sequence[Hold], tables: LumpTables, lump: NDArray[np.intp], live: NDArray[np.bool_]
) -> Network:
    law, laws = _laws(bench, cases, tables, lump)
    return Network(
        tables=tables,
        section_ohm=np.array([section_cold_ohm(section) for section in bench.sections]),
        joint_ohm=np.array([section.joint_ohm for section in bench.sections]),
        plates=np.array([float(section.series * section.in_parallel) for section in bench.sections]),
        plate_ohm=np.array([section.body.cold_ohm for section in bench.sections]),
        side_by_side=np.array([float(section.in_parallel) for section in bench.sections]),
        lump=lump,
        live=live.astype(np.float64),
        notch=np.array([case.circuit for case in cases], dtype=np.intp),
        line_v=np.array([case.line_v for case in cases]),
        other_ohm=np.array([bench.circuits[case.circuit].other_ohm for case in cases]),
        law=law,
        laws=laws,
        nested=nested_circuits(bench.circuits, sections_by_name(bench.sections)),
        solved=solved_circuits(bench.circuits, sections_by_name(bench.sections)),
    )


def _laws(
    bench: _Bench, cases: Sequence[Hold], tables: LumpTables, lump: NDArray[np.intp]
) -> tuple[NDArray[np.intp], Laws | None]:
    """Number of each case's running law (-1 stalled), and the laws, sampled once per notch and voltage."""
    running = [case for case in cases if case.way == HELD_RUNNING]
    wanted = dict.fromkeys((one.circuit, one.line_v) for one in running if bench.circuits[one.circuit].solve is None)
    numbers = {key: number for number, key in enumerate(wanted)}
    law = [
        numbers.get((case.circuit, case.line_v), BY_ITSELF) if case.way == HELD_RUNNING else STANDS for case in cases
    ]
    if not wanted:
        return np.array(law, dtype=np.intp), None
    low_ohm, high_ohm = _ohm_range(bench, tables, lump)
    places = sections_by_name(bench.sections)
    sampled = []
    for number, line_v in wanted:
        live = live_places(bench.circuits[number], places)
        sampled.append(sample_law(bench.circuits[number], line_v, low_ohm[live], high_ohm[live]))
    amps, lowest, step = (np.array(column) for column in zip(*sampled, strict=True))
    return np.array(law, dtype=np.intp), Laws(amps, lowest, step)


def _ohm_range(bench: _Bench, tables: LumpTables, lump: NDArray[np.intp]) -> tuple[FloatArray, FloatArray]:
    """Least and greatest ohms every section can have in any case."""
    ranges = [[tables.ratio_range(number) for number in set(column.tolist())] for column in lump.T]
    cold_ohm = np.array([section_cold_ohm(section) for section in bench.sections])
    least = np.array([min(low for low, _ in pairs) for pairs in ranges])
    greatest = np.array([max(high for _, high in pairs) for pairs in ranges])
    joint_ohm = np.array([section.joint_ohm for section in bench.sections])
    return cold_ohm * least + joint_ohm, cold_ohm * greatest + joint_ohm


def _worst_case(course: Course, limit_c: FloatArray, ends: int) -> NDArray[np.intp]:
    """Case of the worst end of each hold: shortest first, then the least margin."""
    margin_k = (limit_c - course.end_c).min(axis=1).reshape(-1, ends)
    limit_s = course.limit_s.reshape(-1, ends)
    worst = np.lexsort((margin_k, limit_s), axis=1)[:, 0]
    return np.asarray(np.arange(limit_s.shape[0]) * ends + worst)


def _without_loss(bench: _Bench, course: Course, worst: NDArray[np.intp]) -> Course:
    """The adiabatic network of every hold at its worst end, up to the end of the hold."""
    shelf = LumpShelf()
    ends = (bench.ends[case % len(bench.ends)].adiabatic() for case in worst)
    cases = [(end, hold.ambient_c) for hold, end in zip(bench.holds, ends, strict=True)]
    lump = _lumps(shelf, bench.sections, cases)
    live = bench.live[worst]
    tables = shelf.tables()
    limit_c = np.where(live, _limits_c(bench, bench.holds), np.inf)
    network = _wire(bench, bench.holds, tables, lump, live)
    tops_c = np.where(live, tables.top_c[lump], np.inf)
    return march(network, bench.start_c[worst], limit_c, tops_c, course.limit_s[worst])


def _rows(
    bench: _Bench, course: Course, bound: Course, place_and_case: tuple[int, int], *, breaker_opens: bool
) -> list[HeatRow]:
    place, case = place_and_case
    hold, end = bench.holds[place], bench.ends[case % len(bench.ends)]
    hold_s = _or_none(course.limit_s[case])
    excess_k = bench.excess_k(hold)
    reached_c = (course.end_c[case] if hold_s is None else course.at_limit_c[case]) + excess_k
    beyond_c = np.maximum(bound.end_c[place] + excess_k, reached_c)
    bound_c = np.full_like(reached_c, np.inf) if bound.topped[place] else beyond_c
    shared = partial(
        HeatRow,
        case=hold.case,
        notch=bench.circuits[hold.circuit].notch,
        line_v=hold.line_v,
        ambient_c=hold.ambient_c,
        hold_s=hold_s,
        hold_bound_s=_or_none(min(course.limit_s[case], bound.limit_s[place])),
        runs_away=bool(course.topped[case]),
        worst_end=end.name,
        breaker_opens=breaker_opens,
    )
    return [
        _of_section(shared, section, float(reached_c[number]), float(bound_c[number]))
        for number, section in enumerate(bench.sections)
        if bench.live[case, number]
    ]


def _of_section(row: Callable[..., HeatRow], section: HeatedSection, hot_c: float, bound_c: float) -> HeatRow:
    return row(
        section=section.name,
        hot_c=hot_c,
        bound_c=bound_c,
        limit_c=section.limit_c,
        margin_k=section.limit_c - hot_c,
    )


def _or_none(seconds: float) -> float | None:
    return None if math.isinf(seconds) else float(seconds)
