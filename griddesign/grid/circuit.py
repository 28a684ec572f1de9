"""Ohms and currents of a circuit of sections: runs in series, branches in parallel, nested to any depth."""

from collections.abc import Mapping

from griddesign.errors import CircuitError
from griddesign.grid.records import Branches, Run


def names(run: Run) -> tuple[str, ...]:
    """Every section of the run in the order met, each once."""
    found: dict[str, None] = {}
    for part in run.parts:
        if isinstance(part, str):
            found[part] = None
        else:
            found.update(dict.fromkeys(name for branch in part.runs for name in names(branch)))
    return tuple(found)


def is_plain_series(run: Run) -> bool:
    """Whether the run has no branches side by side."""
    return all(isinstance(part, str) for part in run.parts)


def ohms(run: Run, section_ohm: Mapping[str, float]) -> float:
    """Ohms of the run end to end, ohm. A branch of zero ohms shorts its group.

    Raises CircuitError on a name without ohms.
    """
    return sum(_part_ohms(part, section_ohm) for part in run.parts)


def _part_ohms(part: str | Branches, section_ohm: Mapping[str, float]) -> float:
    if isinstance(part, str):
        return _section(part, section_ohm)
    branch_ohms = [ohms(branch, section_ohm) for branch in part.runs]
    if min(branch_ohms) == 0.0:
        return 0.0
    return 1.0 / sum(1.0 / value for value in branch_ohms)


def _section(name: str, section_ohm: Mapping[str, float]) -> float:
    if name not in section_ohm:
        raise CircuitError(f"section {name} has no ohms", hint=f"Known sections: {', '.join(section_ohm) or 'none'}.")
    return section_ohm[name]


def shares(run: Run, section_ohm: Mapping[str, float]) -> dict[str, float]:
    """Share of the run's current in each of its sections, 0 to 1; branches divide as their conductances.

    Among branches of zero ohms the current is taken to divide evenly. The square of a share is dR/dr of its section
    (Tellegen; checked against finite differences in the tests).
    """
    found: dict[str, float] = {}
    for part in run.parts:
        if isinstance(part, str):
            found[part] = found.get(part, 0.0) + 1.0
        else:
            _add_branch_shares(part, section_ohm, found)
    return found


def _add_branch_shares(group: Branches, section_ohm: Mapping[str, float], found: dict[str, float]) -> None:
    branch_ohms = [ohms(branch, section_ohm) for branch in group.runs]
    for branch, share in zip(group.runs, _divide(branch_ohms), strict=True):
        for name, inner in shares(branch, section_ohm).items():
            found[name] = found.get(name, 0.0) + share * inner


def _divide(branch_ohms: list[float]) -> list[float]:
    shorted = [value == 0.0 for value in branch_ohms]
    if any(shorted):
        return [1.0 / sum(shorted) if short else 0.0 for short in shorted]
    conductances = [1.0 / value for value in branch_ohms]
    return [value / sum(conductances) for value in conductances]
