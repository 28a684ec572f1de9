"""The notches of a job file: nested lists into circuits, motor groupings, sections in their order."""

from collections.abc import Mapping
from typing import Any

from griddesign.errors import CircuitError
from griddesign.grid.circuit import names
from griddesign.grid.records import Branches, Run
from griddesign.job.part import LONGEST_NAME, Part, fault_of_name
from griddesign.traction.records import Grouping, Notch

MOST_NESTED = 12
MOST_SECTIONS = 60


def read_circuit(value: Any, depth: int = 0) -> Run:
    """A nested list as a run. A list is a run; a list inside it holds branches side by side; a branch is a section or
    a run again: ``["A", ["B", ["C", "D"]]]`` is A in series with (B beside C and D in series).

    Raises CircuitError where the nesting makes no circuit.
    """
    if isinstance(value, str):
        return Run((_section_name(value),))
    if not isinstance(value, list):
        raise CircuitError(f"{value!r} is neither a section name nor a list", hint='Write circuit = ["A", "B"].')
    if depth > MOST_NESTED:
        raise CircuitError("the lists are nested too deep", hint=f"At most {MOST_NESTED} levels are read.")
    return Run(tuple(_section_name(item) if isinstance(item, str) else _branches(item, depth) for item in value))


def _section_name(name: str) -> str:
    fault = fault_of_name(name)
    if fault:
        raise CircuitError(
            f"section name {name[:LONGEST_NAME]!r}: {fault}", hint='Write short names, as in ["A", "B"].'
        )
    return name


def _branches(value: Any, depth: int) -> Branches:
    if not isinstance(value, list) or len(value) < 2:
        raise CircuitError(
            f"{value!r} is not a group of branches", hint='A group needs two branches or more: ["D", "E"].'
        )
    runs = tuple(read_circuit(item, depth + 2) for item in value)
    if any(not run.parts for run in runs):
        raise CircuitError("an empty branch shorts its group", hint="Leave the shorted sections out of the circuit.")
    return Branches(runs)


def read_notches(whole: Part, motors: int | None) -> tuple[Notch, ...]:
    """Every ``[[notch]]`` of the file."""
    notches = tuple(notch for part in whole.tables("notch") if (notch := _read_notch(part, motors)) is not None)
    _refuse_twins(whole, [notch.name for notch in notches])
    return notches


def _read_notch(part: Part, motors: int | None) -> Notch | None:
    name = part.name("1")
    grouping = _read_grouping(part, motors)
    common, strings = _read_common(part), _read_strings(part)
    wanted = part.quantity("wanted", "resistance", required=False, above=None, least=0.0)
    part.close()
    if (common is None) == (strings is None):
        part.complain("circuit", "needs either circuit or strings", 'Write circuit = ["A", "B"], or [] for no grid.')
        return None
    if grouping is None or not name:
        return None
    if strings is not None and len(strings) != grouping.parallel:
        part.complain(
            "strings", f"{len(strings)} circuits for {grouping.parallel} motor strings", "Give one for each string."
        )
        return None
    return Notch(name, grouping, common, strings or (), wanted)


def _read_common(part: Part) -> Run | None:
    part.mark("circuit")
    if not part.has("circuit"):
        return None
    return part.attempt("circuit", lambda: read_circuit(_as_list(part.data["circuit"])))


def _read_strings(part: Part) -> tuple[Run, ...] | None:
    part.mark("strings")
    if not part.has("strings"):
        return None
    value = part.data["strings"]
    if not isinstance(value, list) or not all(isinstance(item, list) for item in value):
        part.complain("strings", "is not a list of circuits", 'Write strings = [["A"], ["B"]].')
        return None
    return part.attempt("strings", lambda: tuple(read_circuit(item) for item in value))


def _as_list(value: Any) -> Any:
    if isinstance(value, str):
        raise CircuitError(f"{value!r} is not a list", hint=f'Write ["{value}"].')
    return value


def _read_grouping(part: Part, motors: int | None) -> Grouping | None:
    part.mark("motors")
    value = part.data.get("motors")
    if value is None and motors is None:
        return Grouping(1, 1)
    count = motors or 1
    if value == "parallel":
        return Grouping(1, count)
    if value == "series":
        return _pairs(part, count)
    if isinstance(value, Mapping) and set(value) == {"series", "parallel"}:
        return _explicit(part, value, motors)
    part.complain("motors", f"{value!r} is no grouping", 'Write "series", "parallel" or { series = 2, parallel = 2 }.')
    return None


def _pairs(part: Part, count: int) -> Grouping | None:
    if count == 1:
        return Grouping(1, 1)
    if count % 2:
        part.complain("motors", f"{count} motors make no pairs", "Write { series = …, parallel = … }.")
        return None
    return Grouping(2, count // 2)


def _explicit(part: Part, value: Mapping[str, Any], motors: int | None) -> Grouping | None:
    series, parallel = value["series"], value["parallel"]
    if not all(
        isinstance(number, int) and not isinstance(number, bool) and number > 0 for number in (series, parallel)
    ):
        part.complain("motors", f"{dict(value)} are not two counts", "Write { series = 2, parallel = 2 }.")
        return None
    if motors is not None and series * parallel != motors:
        part.complain("motors", f"{series} x {parallel} is not {motors} motors", "Every motor belongs to one string.")
        return None
    return Grouping(series, parallel)


def _refuse_twins(whole: Part, found: list[str]) -> None:
    for name in sorted({name for name in found if found.count(name) > 1}):
        whole.complain("notch", f"two notches are named {name}", "Give each notch a name of its own.")


def read_section_order(whole: Part, notches: tuple[Notch, ...]) -> tuple[str, ...]:
    """Sections in the order in which they stand in the boxes: ``[grid] sections``, else as the first notch names them.

    A notch that names another section is complained about.
    """
    listed = _listed_sections(whole)
    order = listed or (sections_of(notches[0]) if notches else ())
    for index, notch in enumerate(notches):
        for name in sections_of(notch):
            if name not in order:
                _complain_unknown(whole, index, notch, name, order)
    return order


def _listed_sections(whole: Part) -> tuple[str, ...]:
    part = whole.table("grid")
    if part is None:
        return ()
    part.mark("sections")
    value = part.data.get("sections")
    part.close()
    if (
        not isinstance(value, list)
        or not value
        or not all(isinstance(item, str) and not fault_of_name(item) for item in value)
    ):
        part.complain("sections", "is not a list of short names", 'Write sections = ["A", "B"], in box order.')
        return ()
    if len(set(value)) < len(value) or len(value) > MOST_SECTIONS:
        part.complain("sections", "names a section twice, or too many", f"Up to {MOST_SECTIONS} names, each once.")
        return ()
    return tuple(value)


def _complain_unknown(whole: Part, index: int, notch: Notch, name: str, order: tuple[str, ...]) -> None:
    whole.notebook.complain(
        ("notch", index, "circuit"),
        f"notch.{notch.name}.circuit",
        f"section {name} is not known",
        f"Known: {', '.join(order) or 'none'}. The first notch names them all, or [grid] sections = […] does.",
    )


def sections_of(notch: Notch) -> tuple[str, ...]:
    """Every section the notch uses, each once."""
    runs = notch.strings if notch.common is None else (notch.common,)
    return tuple(dict.fromkeys(name for run in runs for name in names(run)))
