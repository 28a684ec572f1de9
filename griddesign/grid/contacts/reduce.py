"""A notch's net as runs and branches, where it is made of nothing else."""

from collections.abc import Sequence

from griddesign.grid.contacts.records import Element, Net
from griddesign.grid.records import Branches, Run

Edge = tuple[int, int, Run]


def series_parallel(elements: Sequence[Element], net: Net) -> Run | None:
    """The circuit from line to ground as a run of element names; None where a bridge is in it.

    Edges between the same two nodes become branches, a node with two edges becomes a joint in a run, until one edge is
    left (Duffin, J. Math. Anal. Appl. 10 (1965) 303: a net reduces so if and only if no bridge is in it). Runs and
    branches come out in the order of the elements, as far as the circuit leaves it open.
    """
    edges: list[Edge] = [(*net.ends[place], Run((elements[place].name,))) for place in net.live]
    while len(edges) > 1:
        fewer = _in_series(_side_by_side(edges), {net.line, net.ground})
        if len(fewer) == len(edges):
            return None
        edges = fewer
    if not edges:
        return None
    a, _, run = edges[0]
    return _ordered(run if a == net.line else _turned(run), {one.name: place for place, one in enumerate(elements)})


def bridge(elements: Sequence[Element], net: Net) -> tuple[str, ...]:
    """Names of the elements that no reduction does away with, each run by its first."""
    edges: list[Edge] = [(*net.ends[place], Run((elements[place].name,))) for place in net.live]
    while True:
        fewer = _in_series(_side_by_side(edges), {net.line, net.ground})
        if len(fewer) == len(edges):
            return tuple(_leaves(run)[0] for _, _, run in edges)
        edges = fewer


def _leaves(run: Run) -> list[str]:
    return [
        name
        for part in run.parts
        for name in ([part] if isinstance(part, str) else [leaf for branch in part.runs for leaf in _leaves(branch)])
    ]


def _side_by_side(edges: Sequence[Edge]) -> list[Edge]:
    """All edges between the same two nodes made one."""
    together: dict[tuple[int, int], list[Run]] = {}
    for a, b, run in edges:
        ends, laid = ((a, b), run) if a < b else ((b, a), _turned(run))
        together.setdefault(ends, []).append(laid)
    return [(a, b, runs[0] if len(runs) == 1 else _branches(runs)) for (a, b), runs in together.items()]


def _branches(runs: Sequence[Run]) -> Run:
    """Runs side by side; a run that is nothing but branches gives its own."""
    flat: list[Run] = []
    for run in runs:
        only = run.parts[0] if len(run.parts) == 1 else ""
        flat += only.runs if isinstance(only, Branches) else (run,)
    return Run((Branches(tuple(flat)),))


def _in_series(edges: Sequence[Edge], kept: set[int]) -> list[Edge]:
    """Nodes with two edges done away with, all of them in one pass."""
    at: dict[int, dict[int, Edge]] = {}
    alive: dict[int, Edge] = dict(enumerate(edges))
    for place, edge in alive.items():
        for node in edge[:2]:
            at.setdefault(node, {})[place] = edge
    for node in [one for one in at if one not in kept]:
        if len(at[node]) == 2:
            (first, one), (second, two) = at[node].items()
            a, left = (one[0], one[2]) if one[1] == node else (one[1], _turned(one[2]))
            b, right = (two[1], two[2]) if two[0] == node else (two[0], _turned(two[2]))
            if a == b:
                continue
            merged = (a, b, Run((*left.parts, *right.parts)))
            del alive[second], at[node], at[b][second]
            alive[first] = at[a][first] = at[b][first] = merged
    return list(alive.values())


def _turned(run: Run) -> Run:
    """The same run walked from its other end."""
    parts = (part if isinstance(part, str) else Branches(tuple(map(_turned, part.runs))) for part in run.parts)
    return Run(tuple(reversed(tuple(parts))))


def _ordered(run: Run, place: dict[str, int]) -> Run:
    """Branches sorted by their first element; the order along a run stands, it is the wiring's own."""
    parts = tuple(
        part
        if isinstance(part, str)
        else Branches(
            tuple(
                sorted(
                    (_ordered(branch, place) for branch in part.runs),
                    key=lambda branch: min(place[leaf] for leaf in _leaves(branch)),
                )
            )
        )
        for part in run.parts
    )
    return Run(parts)
