"""What a controller's contact chart says: every notch, contradictions as findings, plates that see no current."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from griddesign.errors import CircuitError
from griddesign.grid import circuit
from griddesign.grid.records import Run
from griddesign.job.records import Job
from griddesign.judge.finding import Finding, Verdict
from griddesign.units import show

if TYPE_CHECKING:
    from griddesign.grid.contacts.read import ChartRead
    from griddesign.grid.contacts.records import Network, Recognised

_LEAST_SHARE = 1e-9
NETWORK_FOLLOWS = "at the ohms its sections have; wanted ohms, taps and choice of plates go by the other notches"


@dataclass(frozen=True, slots=True)
class NotchNow:
    """One notch as chart and leads make it. ``motors`` and ``circuit`` in words; ``why``: what keeps it from being a
    grouping of motors and a grid, "" where nothing does; ``bar``: what keeps it from being run at all, "" likewise.
    ``sections``: those in circuit.

    ``terminal_ohm``: from line to ground at standstill, motors inside (``inf``: no current; None: ohms not known);
    ``grid_ohm``: the grid's own, of its highest string; ``share``: current of each section per ampere from the line,
    against its direction from the dot end below zero.
    """

    name: str
    motors: str
    circuit: str
    sections: tuple[str, ...]
    why: str = ""
    terminal_ohm: float | None = None
    grid_ohm: float | None = None
    share: tuple[tuple[str, float], ...] = ()
    remarks: tuple[str, ...] = ()
    bar: str = ""


def chart_now(read: "ChartRead", section_ohm: Mapping[str, float] | None = None) -> tuple[NotchNow, ...]:
    """What the controller does on every notch, at the ohms its sections have now (None: which circuit, no ohms)."""
    bare = tuple(_notch(read, place) for place in range(len(read.nets)))
    if not section_ohm:
        return bare
    return tuple(_with_ohms(read, place, one, section_ohm) for place, one in enumerate(bare))


def _notch(read: "ChartRead", place: int) -> NotchNow:
    from griddesign.grid.contacts.records import Recognised

    name, found = read.nets[place].name, read.circuits[place]
    live = read.in_circuit(place)
    sections = tuple(section for section in read.chart.sections if section in live)
    if not isinstance(found, Recognised):
        run = "" if found.run is None else run_words(found.run)
        if found.network is None:
            return NotchNow(name, "", run, sections, found.why, bar=found.bar or found.why)
        motors = len(found.network.motors)
        words = f"network of {motors} motor{'s' * (motors > 1)}"
        return NotchNow(name, words, run, sections, found.why, remarks=tuple(_of_network(read, found.network)))
    circuits = found.strings or (() if found.common is None else (found.common,))
    words = " | ".join(run_words(run) for run in circuits)
    return NotchNow(name, _motors(found), words, sections, remarks=tuple(_remarks(read, found)))


def _motors(found: "Recognised") -> str:
    """As in ``2 in series``, ``2 strings: 1 2 | 3 4``."""
    if not found.strings_of:
        return "none"
    if found.parallel == 1:
        return "one" if found.series == 1 else f"{found.series} in series"
    if found.series == 1:
        return f"{found.parallel} in parallel"
    return f"{found.parallel} strings of {found.series}"


def _remarks(read: "ChartRead", found: "Recognised") -> Iterator[str]:
    yield from found.remarks
    yield from _left_out(read, [number for string in found.strings_of for number in string])
    for ohm, where in ((found.ahead_ohm, "in series with all motors"), (found.string_ohm, "in every motor string")):
        if ohm:
            yield f"a fixed resistor of {show(ohm, 'resistance', digits=4)} {where}, beside the grid's own ohms"
    if found.field != 1.0:
        yield f"{100 * found.field:.3g} % of the current in the fields"


def _of_network(read: "ChartRead", network: "Network") -> Iterator[str]:
    yield from _left_out(read, [*(motor.number for motor in network.motors), *(wire.motor for wire in network.lone)])
    for wire in network.lone:
        yield f"of motor {wire.motor} the {wire.kind} alone has current: its ohms count, it pulls nothing"
    for motor in network.motors:
        if motor.field != 1.0:
            yield f"{100 * motor.field:.3g} % of the current of motor {motor.number} in its field"
        if motor.apart:
            yield f"the field of motor {motor.number} carries a current of its own, no fixed share of its armature's"


def _left_out(read: "ChartRead", motors: Sequence[int]) -> Iterator[str]:
    out = set(range(1, read.chart.motors + 1)) - set(motors)
    if out and motors:
        yield f"motor {', '.join(map(str, sorted(out)))} out of circuit"


def _with_ohms(read: "ChartRead", place: int, bare: NotchNow, section_ohm: Mapping[str, float]) -> NotchNow:
    from griddesign.grid.contacts.records import Recognised

    found = read.circuits[place]
    runs = (found.strings or (found.common or Run(),)) if isinstance(found, Recognised) else ()
    grid = max((circuit.ohms(run, section_ohm) for run in runs), default=None)
    terminal, share = _solved(read, place, section_ohm)
    return replace(bare, terminal_ohm=terminal, grid_ohm=grid, share=share)


def _solved(
    read: "ChartRead", place: int, section_ohm: Mapping[str, float]
) -> tuple[float | None, tuple[tuple[str, float], ...]]:
    try:
        solved = read.solve(section_ohm)
    except CircuitError:  # motors or resistors of unknown ohms: the grid's own ohms are all there is
        return None, ()
    if read.split_matters(solved, place):
        return None, ()
    own = solved.share[place]
    shares = tuple(
        (element.name, float(own[spot]))
        for spot, element in enumerate(read.elements)
        if element.kind == "section" and abs(own[spot]) > _LEAST_SHARE
    )
    return float(solved.terminal_ohm[place]), shares


def run_words(run: Run) -> str:
    """A run as paper writes it: ``A + B + (C beside D + E)``; ``none`` where no section is in circuit."""
    return (
        " + ".join(
            part if isinstance(part, str) else f"({' beside '.join(map(run_words, part.runs))})" for part in run.parts
        )
        or "none"
    )


def judge_chart(job: Job) -> Iterator[Finding]:
    """Findings on the job's chart; none without one."""
    if job.chart is None:
        return
    found = job.chart.read.contradictions
    for one in found:
        where = f", notch {one.notch}" if one.notch else ""
        measure = "Look at the controller and trace the lead before anything is built on it."
        yield Finding(f"contact chart{where}", Verdict.FAILS, one.words, measure)
    if not found:
        count = len(job.chart.read.nets)
        yield Finding("contact chart", Verdict.HOLDS, f"circuits of {count} notches found, nothing contradicts itself")


def chart_remarks(job: Job) -> tuple[str, ...]:
    """What the groupings alone do not say, notch by notch."""
    if job.chart is None:
        return ()
    return tuple(f"notch {one.name}: {words}" for one in chart_now(job.chart.read) for words in _all_remarks(one))


def _all_remarks(one: NotchNow) -> tuple[str, ...]:
    if not one.why or one.bar:
        return one.remarks
    return (*one.remarks, f"no grouping of like strings ({one.why}): run as the network it is, {NETWORK_FOLLOWS}")


def without_current(
    read: "ChartRead | None", plates: int, spans: Sequence[tuple[str, int, int]]
) -> tuple[tuple[int, str], ...]:
    """Plates that stand in a box and see no current on any notch, by number from 1, each with why.

    ``spans``: section, joint at its start, joint at its end. Beyond the last taps, between taps, or in a section that
    the chart uses on no notch.
    """
    used = None if read is None else {name for place in range(len(read.nets)) for name in read.in_circuit(place)}
    inside = {number: name for name, begin, end in spans for number in range(begin + 1, end + 1)}
    first, last = min(inside, default=0), max(inside, default=0)
    found = []
    for number in range(1, plates + 1):
        name = inside.get(number)
        if name is None:
            found.append((number, "beyond the taps" if not first < number < last else "between taps"))
        elif used is not None and name not in used:
            found.append((number, f"in section {name}, which no notch uses"))
    return tuple(found)
