"""The controller's contact chart and lead list in a job file: ``[controller]`` and ``joined`` of every notch.

[controller]
terminals = ["T", "R1", "R2", "M1", "M2", "G"]   # may be left out; what the chart names must then be among them
leads = { T = "line", R1 = "start of A", R2 = "A/B", M1 = "motor 1 in", M2 = "motor 1 out", G = "ground" }
joined = [["M2", "G"]]                 # on every notch: fixed wires, the reverser as it stands
field_resistance = "0.15 ohm"          # of one motor, where something stands beside a field or an armature
resistors = { S = "0.1 ohm" }          # fixed ones outside the grid; leads go to "resistor S 1", "resistor S 2"
section_ohms = { A = "1.2 ohm" }       # where they are known, for the currents of a chart by itself
motors = 2                             # where there is no [motor]
[[notch]]
name = "1"
joined = [["T", "R1"], ["R2", "M1"]]   # in place of motors, circuit or strings

A notch that is no grouping of like motor strings with a grid is read as the network it is (``Notch.network``); an
armature with a resistor beside it, or a field with a section beside it, is one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from griddesign.errors import CircuitError, JobError
from griddesign.grid.contacts.read import ChartRead
from griddesign.grid.contacts.records import (
    Chart,
    Contradiction,
    Groups,
    MotorOhms,
    Network,
    Recognised,
    Unrecognised,
)
from griddesign.grid.contacts.wiring import NOTHING, node_of, parted_after
from griddesign.grid.records import Run
from griddesign.job.document import load
from griddesign.job.part import Notebook, Part, fault_of_name
from griddesign.traction.records import Car, Grouping, Line, Motor

MOST_TERMINALS = 200
MOST_MOTORS = 24


@dataclass(frozen=True, slots=True)
class NotchMade:
    """What the chart makes of a notch, in the words of a notch."""

    grouping: Grouping
    common: Run | None
    strings: tuple[Run, ...] | None
    field: float = 1.0
    motor_ohm: float | None = None
    ahead_ohm: float = 0.0
    string_ohm: float = 0.0
    network: Network | None = None
    numbers: tuple[tuple[int, ...], ...] = ()


@dataclass(frozen=True)
class ChartOfJob:
    """A chart with where its notches stand: place among the ``[[notch]]`` of the file -> place in the chart.

    ``section_ohm``: as the job gives them, empty where it does not. ``unlike``: the motors differ one from another.
    ``line``, ``car``, ``motor``: of the file, where the chart was read by itself.
    """

    read: ChartRead
    places: Mapping[int, int]
    section_ohm: Mapping[str, float]
    unlike: bool = False
    line: Line | None = None
    car: Car | None = None
    motor: Motor | None = None

    def circuit(self, place: int) -> Recognised | Unrecognised:
        """What the chart makes of the notch at a place of the file."""
        return self.read.circuits[self.places[place]]


# --- reading ---------------------------------------------------------------------------------------------------------


def chart_of_file(path: Path) -> ChartOfJob | None:
    """The chart of a job file with its line, car and motor, whatever else is in the file. None without
    ``[controller]``.

    Raises JobError on faults of any of them; a notch that is no grouping is none.
    """
    from griddesign.job.electrical import read_car, read_line, read_motor

    notebook = Notebook(load(path))
    whole = notebook.whole()
    line, car, motor = (whole.table(name) for name in ("line", "car", "motor"))
    motors = None if motor is None else read_motor(motor)
    chart = read_chart(whole, motors)
    feeding = None if line is None or chart is None else read_line(line)
    carrying = None if car is None or chart is None else read_car(car)
    if notebook.complaints:
        raise JobError(tuple(notebook.complaints))
    return None if chart is None else replace(chart, line=feeding, car=carrying, motor=motors)


def read_chart(whole: Part, motor: Motor | None) -> ChartOfJob | None:
    """Chart and leads of the file, contradictions complained of. None without ``[controller]`` or after a complaint."""
    part = whole.table("controller")
    groups = {place: one for place, notch in enumerate(_notches(whole)) if (one := _joined(notch)) is not None}
    if part is None:
        for place in groups:
            message = "is a contact chart, and [controller] leads is missing"
            whole.notebook.complain(("notch", place, "joined"), f"notch.{place + 1}.joined", message, _ADD_LEADS)
        return None
    before = len(whole.notebook.complaints)
    chart, ohms = _chart(part, whole, motor, groups), _motor_ohms(part, motor)
    section_ohm = _section_ohms(part, () if chart is None else chart.sections)
    part.close()
    if chart is None or len(whole.notebook.complaints) > before:
        return None
    places = {place: number for number, place in enumerate(groups)}
    found = ChartOfJob(ChartRead(chart, ohms), places, section_ohm, bool(motor and motor.each))
    return found if _sound(whole, part, found) else None


def _notches(whole: Part) -> tuple[Part, ...]:
    """Every ``[[notch]]``; none where they are no tables, which whoever reads the notches complains of."""
    value = whole.data.get("notch")
    fits = isinstance(value, list) and all(isinstance(one, Mapping) for one in value)
    return whole.tables("notch") if fits else ()


_ADD_LEADS = 'Add [controller] leads = { T = "line", G = "ground", … }.'


def _chart(part: Part, whole: Part, motor: Motor | None, groups: Mapping[int, Groups]) -> Chart | None:
    sections = _sections(part, whole)
    motors = motor.count if motor else part.whole_number("motors", 0, least=0, most=MOST_MOTORS) or 0
    part.mark("motors")
    resistors = _names_of(part, "resistors")
    leads = _leads(part, sections, motors, resistors)
    always = _joined(part) or ()
    _only_known(part, whole, [(("controller", "joined"), "controller.joined", always)])
    _only_known(part, whole, [(("notch", at, "joined"), _label(whole, at), one) for at, one in groups.items()])
    if leads is None:
        return None
    nodes = {node for own in leads.values() for node in own}
    parted = part.attempt("leads", lambda: parted_after(sections, nodes))
    if parted is None:
        return None
    named = tuple((_notch_name(whole, place), one) for place, one in groups.items())
    return Chart(sections, motors, leads, named, always, resistors, parted)


def _sections(part: Part, whole: Part) -> tuple[str, ...]:
    """``[grid] sections`` as they stand; whoever reads them for the grid complains of what is wrong with them."""
    grid = whole.data.get("grid")
    value = grid.get("sections") if isinstance(grid, Mapping) else None
    if value is None:
        part.complain("", "needs the sections in box order", 'Add [grid] sections = ["A", "B", …].')
        return ()
    names = tuple(one for one in value if isinstance(one, str)) if isinstance(value, list) else ()
    taken = [one for one in names if one.startswith(("motor ", "resistor ")) or "/" in one]
    if taken:
        message = f"a section named {taken[0]!r} cannot be told from other ends of leads"
        part.complain("", message, "Give it a short name of its own: A, B, R1.")
    return names


def _leads(
    part: Part, sections: tuple[str, ...], motors: int, resistors: tuple[str, ...]
) -> dict[str, tuple[str, ...]] | None:
    inner = part.table("leads", required=True)
    if inner is None:
        return None
    found: dict[str, tuple[str, ...]] = {}
    if len(inner.data) > MOST_TERMINALS:
        part.complain("leads", f"{len(inner.data)} terminals", f"At most {MOST_TERMINALS} are read.")
        return None
    for name, value in inner.data.items():
        if fault_of_name(name):
            inner.complain(name, fault_of_name(name), "Write a short name.")
        nodes = inner.attempt(name, partial(_nodes, value, sections, motors, resistors))
        if nodes is not None:
            found[name] = nodes
    return found if len(found) == len(inner.data) else None


def _nodes(value: Any, sections: tuple[str, ...], motors: int, resistors: tuple[str, ...]) -> tuple[str, ...]:
    """One lead, several leads of one terminal, or none."""
    each = value if isinstance(value, list) else [value]
    if not each or not all(isinstance(one, str) for one in each):
        raise CircuitError(f"{value!r} is no lead", hint='Write "A/B", ["A/B", "motor 1 in"], or "nothing".')
    if each == [NOTHING]:
        return ()
    return tuple(node_of(one, sections, motors, resistors) for one in each)


def _joined(part: Part) -> Groups | None:
    """The groups of terminals of one notch; None where the notch has no chart or it cannot be read."""
    part.mark("joined")
    if not part.has("joined"):
        return None
    value = part.data["joined"]
    if not isinstance(value, list) or not all(_is_group(one) for one in value):
        part.complain("joined", "is no list of joined terminals", 'Write joined = [["T", "R1"], ["R4", "M1"]].')
        return None
    return tuple(tuple(map(str, one)) for one in value)


def _is_group(value: Any) -> bool:
    fits = isinstance(value, list) and 2 <= len(value) <= MOST_TERMINALS
    return fits and all(isinstance(one, str) or type(one) is int for one in value)


def _only_known(part: Part, whole: Part, charts: list[tuple[tuple[str | int, ...], str, Groups]]) -> None:
    """Complain of terminals that are not in ``terminals``, where those are given."""
    part.mark("terminals")
    value = part.data.get("terminals")
    if value is None:
        return
    if not isinstance(value, list):
        part.complain("terminals", "is no list", 'Write terminals = ["T", "R1"].')
        return
    known = set(map(str, value))
    for key, label, groups in charts:
        for name in dict.fromkeys(name for group in groups for name in group if name not in known):
            hint = f"[controller] terminals has: {', '.join(map(str, value))}."
            whole.notebook.complain(key, label, f"terminal {name} is no terminal of the controller", hint)


def _label(whole: Part, place: int) -> str:
    return f"notch.{_notch_name(whole, place)}.joined"


def _notch_name(whole: Part, place: int) -> str:
    name = whole.data["notch"][place].get("name")
    return name if isinstance(name, str) and name else str(place + 1)


def _names_of(part: Part, name: str) -> tuple[str, ...]:
    value = part.data.get(name)
    return tuple(value) if isinstance(value, Mapping) else ()


def _motor_ohms(part: Part, motor: Motor | None) -> MotorOhms:
    whole = motor.resistance_ohm if motor else None
    field = part.quantity("field_resistance", "resistance", required=False, example="0.15 ohm")
    if field is not None and whole is not None and field >= whole:
        message = f"{field:.4g} ohm of field is not less than the motor's {whole:.4g} ohm"
        part.complain("field_resistance", message, "The motor's resistance holds armature, field and brushes.")
    inner = part.table("resistors")
    each = {} if inner is None else {name: inner.quantity(name, "resistance", example="0.1 ohm") for name in inner.data}
    fixed = {f"resistor {name}": ohm for name, ohm in each.items() if ohm is not None}
    armature = whole - field if whole is not None and field is not None and field < whole else None
    return MotorOhms(whole, armature, field, fixed)


def _section_ohms(part: Part, sections: tuple[str, ...]) -> dict[str, float]:
    inner = part.table("section_ohms")
    if inner is None:
        return {}
    found = {name: inner.quantity(name, "resistance", example="1.2 ohm") for name in inner.data}
    for name in found:
        if sections and name not in sections:
            inner.complain(name, "is no section", f"Sections: {', '.join(sections)}.")
    return {name: ohm for name, ohm in found.items() if ohm is not None}


# --- what follows ----------------------------------------------------------------------------------------------------


def _sound(whole: Part, part: Part, chart: ChartOfJob) -> bool:
    """Whether nothing severe is wrong; a complaint for each severe contradiction."""
    severe = [one for one in chart.read.contradictions if one.severe]
    for one in severe:
        _complain(whole, part, chart, one)
    return not severe


def _complain(whole: Part, part: Part, chart: ChartOfJob, one: Contradiction) -> None:
    if not one.notch:
        part.complain(one.key or "leads", one.words, "Look at the lead list again.")
        return
    names = [name for name, _ in chart.read.chart.notches]
    place = list(chart.places)[names.index(one.notch)]
    hint = 'Give it a lead, or "nothing" for a bare stud.' if "no lead" in one.words else "Look at the chart again."
    whole.notebook.complain(("notch", place, "joined"), f"notch.{one.notch}.joined", one.words, hint)


def made_notch(part: Part, place: int, chart: ChartOfJob | None) -> NotchMade | None:
    """The notch the chart makes at a place of the file; None without a chart there, or after a complaint."""
    part.mark("joined")
    if not part.has("joined") or chart is None or place not in chart.places:
        return None
    for name in ("motors", "circuit", "strings", "field", "motor_resistance"):
        if part.has(name):
            part.mark(name)
            part.complain(name, "stands beside joined", "The chart says which circuit it is: leave one of them out.")
    found = chart.circuit(place)
    if isinstance(found, Unrecognised):
        return _made_network(part, found, chart)
    if chart.read.chart.motors and not found.strings_of:
        part.complain("joined", "no motor is in circuit", "Look at the chart again, or leave the notch out.")
        return None
    grouping = Grouping(found.series, found.parallel)
    return NotchMade(
        grouping,
        found.common,
        found.strings or None,
        found.field,
        found.motor_ohm,
        found.ahead_ohm,
        found.string_ohm,
        numbers=_numbers(found),
    )


def _made_network(part: Part, found: Unrecognised, chart: ChartOfJob) -> NotchMade | None:
    """A notch that is no grouping as the network it is; None after a complaint."""
    hint = "griddesign wanted JOB --chart gives its ohms and currents all the same."
    if found.network is None:
        part.complain("joined", f"{found.why}{f'; {found.bar}' if found.bar else ''}", hint)
        return None
    if chart.read.ohms.whole is None:
        part.complain("joined", f"{found.why}, and nothing is known of the motors", f"Add a table [motor]. {hint}")
        return None
    if part.has("wanted"):
        message = f"{found.why}: such a notch has no ohms of a grid by itself"
        part.complain("wanted", message, "Drop it: its currents follow from the ohms of the sections.")
        return None
    return NotchMade(Grouping(1, len(found.network.motors)), None, None, network=found.network)


def _numbers(found: Recognised) -> tuple[tuple[int, ...], ...]:
    """Motors of each string, from 0, the half with the lowest first; none where they are numbered string after string.
    Strings without a grid of their own come by their numbers too."""
    strings = tuple(_by_halves(tuple(number - 1 for number in string)) for string in found.strings_of)
    strings = strings if found.strings else tuple(sorted(strings))
    every = [number for string in strings for number in string]
    return () if every == list(range(len(every))) else strings


def _by_halves(string: tuple[int, ...]) -> tuple[int, ...]:
    """A string as it comes from the line, or the other way round; within its halves by numbers."""
    middle = 0 if len(string) % 2 else len(string) // 2
    one, other = sorted(string[:middle]), sorted(string[middle:])
    return (*one, *other) if not one or one < other else (*other, *one)
