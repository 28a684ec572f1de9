"""Circuits in a job file: nested lists into runs."""

from typing import Any

from griddesign.errors import CircuitError
from griddesign.grid.records import Branches, Run
from griddesign.job.part import LONGEST_NAME, Part, fault_of_name

MOST_NESTED = 12


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


def read_common(part: Part) -> Run | None:
    """The ``circuit`` of a part, where there is one."""
    part.mark("circuit")
    if not part.has("circuit"):
        return None
    return part.attempt("circuit", lambda: read_circuit(_as_list(part.data["circuit"])))


def read_strings(part: Part) -> tuple[Run, ...] | None:
    """The ``strings`` of a part, where there are any."""
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
