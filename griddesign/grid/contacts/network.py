"""Closed contacts contracted, and what is left between line and ground."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from griddesign.grid.contacts.records import GROUND, LINE, Chart, Element, Groups, Net

Edge = tuple[int, int]


class Joined:
    """Points that are one: union-find with path halving. Closed contacts and leads are exact shorts."""

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def top(self, point: str) -> str:
        """The one point that stands for all it is joined to."""
        above = self._above
        above.setdefault(point, point)
        while above[point] != point:
            above[point] = above[above[point]]
            point = above[point]
        return point

    def join(self, points: Sequence[str]) -> None:
        """Make them one."""
        for point in points[1:]:
            self._above[self.top(point)] = self.top(points[0])


def terminal(name: str) -> str:
    """A terminal as a point, apart from the nodes of the same name."""
    return f"terminal {name}"


def links(chart: Chart, groups: Groups) -> Iterator[tuple[str, ...]]:
    """Everything that is one point on a notch: leads, fixed wires, closed contacts."""
    for name, nodes in chart.leads.items():
        yield (terminal(name), *nodes)
    for group in (*chart.always, *groups):
        yield tuple(terminal(name) for name in group)


def nets_of(chart: Chart, elements: Sequence[Element], without: frozenset[str] = frozenset()) -> tuple[Net, ...]:
    """Every notch contracted. ``without``: names of elements that are open."""
    return tuple(net_of(name, links(chart, groups), elements, without) for name, groups in chart.notches)


def net_of(
    name: str, one_point: Iterable[Sequence[str]], elements: Sequence[Element], without: frozenset[str] = frozenset()
) -> Net:
    """One notch contracted."""
    joined = Joined()
    for points in one_point:
        joined.join(points)
    number: dict[str, int] = {}
    ends = tuple(
        (
            number.setdefault(joined.top(element.a), len(number)),
            number.setdefault(joined.top(element.b), len(number)),
        )
        for element in elements
    )
    line, ground = (number.setdefault(joined.top(point), len(number)) for point in (LINE, GROUND))
    shorted = tuple(place for place, (a, b) in enumerate(ends) if a == b)
    kept = {place: end for place, end in enumerate(ends) if end[0] != end[1] and elements[place].name not in without}
    live = () if line == ground else live_edges(kept, line, ground)
    return Net(name, line, ground, ends, live, shorted, without)


def closed_on_itself(ends: Mapping[int, Edge], place: int) -> bool:
    """Whether other edges, or none at all, join both ends of the edge at a place."""
    joined = Joined()
    for other, pair in ends.items():
        if other != place:
            joined.join([str(node) for node in pair])
    a, b = ends[place]
    return joined.top(str(a)) == joined.top(str(b))


def live_edges(edges: dict[int, Edge], source: int, sink: int) -> tuple[int, ...]:
    """Edges that lie on a path from source to sink that meets no node twice: those current can pass through.

    They are the edges of the block (biconnected component) which a wire from source to sink would belong to (Tarjan,
    SIAM J. Comput. 1 (1972) 146): the search starts along that wire and takes what is on the stack when it is closed.
    """
    beside: dict[int, list[tuple[int, int]]] = {}
    for place, (a, b) in edges.items():
        beside.setdefault(a, []).append((place, b))
        beside.setdefault(b, []).append((place, a))
    return tuple(sorted(_Blocks(beside).of_wire(source, sink)))


class _Blocks:
    """Depth first from the far end of the wire, without recursion: charts may be large and wrong."""

    def __init__(self, beside: dict[int, list[tuple[int, int]]]) -> None:
        self._beside = beside
        self._seen: dict[int, int] = {}
        self._low: dict[int, int] = {}
        self._stack: list[int] = []

    def of_wire(self, source: int, sink: int) -> set[int]:
        """Edges in one block with the wire ``source - sink``, given that it leaves the root ``source``."""
        self._seen[source] = self._low[source] = 0
        self._enter(sink)
        path: list[tuple[int, int, Iterator[tuple[int, int]]]] = [(sink, -1, iter(self._beside.get(sink, ())))]
        while path:
            node, along, rest = path[-1]
            step = next(rest, None)
            if step is None:
                path.pop()
                if path:
                    self._leave(path[-1][0], node, along)
            elif step[0] != along:
                self._follow(path, node, *step)
        return set(self._stack) if self._low[sink] == 0 and self._stack else set()

    def _enter(self, node: int) -> None:
        self._seen[node] = self._low[node] = len(self._seen)

    def _follow(
        self, path: list[tuple[int, int, Iterator[tuple[int, int]]]], node: int, place: int, other: int
    ) -> None:
        if other not in self._seen:
            self._stack.append(place)
            self._enter(other)
            path.append((other, place, iter(self._beside.get(other, ()))))
        elif self._seen[other] < self._seen[node]:
            self._stack.append(place)
            self._low[node] = min(self._low[node], self._seen[other])

    def _leave(self, above: int, node: int, along: int) -> None:
        """Back at ``above``: a part that does not reach past it is a block of its own and cannot be the wire's."""
        self._low[above] = min(self._low[above], self._low[node])
        if self._low[node] >= self._seen[above]:
            del self._stack[self._stack.index(along) :]
