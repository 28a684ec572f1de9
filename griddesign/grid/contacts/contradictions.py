"""What in a contact chart and its leads cannot be meant, named with terminals and notch."""

from collections import deque
from collections.abc import Iterator, Mapping, Sequence

from griddesign.grid.contacts.network import links, terminal
from griddesign.grid.contacts.records import GROUND, LINE, Chart, Contradiction, Element, Groups, Net
from griddesign.grid.contacts.solve import Solved
from griddesign.grid.contacts.wiring import both_ways

_LEAST_SHARE = 1e-9


def contradictions(
    chart: Chart, elements: Sequence[Element], nets: Sequence[Net], solved: Solved
) -> tuple[Contradiction, ...]:
    """Every one of them: leads first, then notch by notch, then what holds on all notches.

    ``solved`` at whatever ohms are known (1 ohm for what is not): it tells only which way round the motors lie.
    """
    return (
        *_leads(chart),
        *(found for net, (_, groups) in zip(nets, chart.notches, strict=True) for found in _line(chart, net, groups)),
        *(found for place, net in enumerate(nets) for found in _motors(elements, net, solved, place)),
        *_never(chart, elements, nets),
    )


def _leads(chart: Chart) -> Iterator[Contradiction]:
    nodes = {node for group in chart.leads.values() for node in group}
    for words in (LINE, GROUND):
        if words not in nodes:
            yield Contradiction(f"no lead goes to {words}", severe=True, key="leads")
    for number in both_ways(chart):
        yield Contradiction(
            f"motor {number} has leads to the whole motor and to its armature or field", severe=True, key="leads"
        )
    used = [name for groups in (chart.always, *(one for _, one in chart.notches)) for group in groups for name in group]
    for name in dict.fromkeys(name for name in used if name not in chart.leads):
        notch = next((notch for notch, groups in chart.notches if any(name in group for group in groups)), "")
        yield Contradiction(f"terminal {name} is in the chart and has no lead", notch, (name,), True, "joined")
    idle = [name for name in chart.leads if name not in used and len(chart.leads[name]) < 2]
    if idle and chart.notches:
        yield Contradiction(f"no notch joins terminal {', '.join(idle)} to anything", "", tuple(idle))


def _line(chart: Chart, net: Net, groups: Groups) -> Iterator[Contradiction]:
    if net.joined:
        way = way_between(chart, groups, LINE, GROUND)
        through = f" by terminals {', '.join(way)}" if way else ""
        yield Contradiction(f"line is joined to ground{through}", net.name, way, True, "joined")
    elif not net.live:
        yield Contradiction("nothing leads from line to ground: no current", net.name)


def way_between(chart: Chart, groups: Groups, one: str, other: str) -> tuple[str, ...]:
    """Terminals on a shortest way of leads and closed contacts from one node to another; none where there is no way."""
    beside: dict[str, list[str]] = {}
    for points in links(chart, groups):
        for a in points:
            beside.setdefault(a, []).extend(b for b in points if b != a)
    came: dict[str, str] = {one: ""}
    queue = deque([one])
    while queue:
        point = queue.popleft()
        for near in beside.get(point, ()):
            if near not in came:
                came[near] = point
                queue.append(near)
    return tuple(_terminals(chart, came, other))


def _terminals(chart: Chart, came: Mapping[str, str], end: str) -> list[str]:
    names = {terminal(name): name for name in chart.leads}
    way, point = [], end if end in came else ""
    while point:
        way.append(point)
        point = came[point]
    return [names[point] for point in reversed(way) if point in names]


def _motors(elements: Sequence[Element], net: Net, solved: Solved, place: int) -> Iterator[Contradiction]:
    """Motors that pull against each other, armatures without their fields."""
    share = solved.share[place]
    live = {elements[spot].name: float(share[spot]) for spot in net.live if abs(share[spot]) > _LEAST_SHARE}
    turned: dict[bool, list[int]] = {}
    for element in elements:
        if element.kind == "armature" and element.name in live:
            field = live.get(f"motor {element.motor} field")
            if field is None:
                yield Contradiction(f"armature of motor {element.motor} has current and its field has none", net.name)
            else:
                turned.setdefault(live[element.name] * field > 0.0, []).append(element.motor)
    if len(turned) == 2:
        forward, backward = (", ".join(map(str, turned[way])) for way in (True, False))
        yield Contradiction(f"motors against each other: {forward} forward, {backward} backward", net.name)


def _never(chart: Chart, elements: Sequence[Element], nets: Sequence[Net]) -> Iterator[Contradiction]:
    """What carries no current on any notch."""
    live = {place for net in nets for place in net.live}
    for place, element in enumerate(elements):
        if place not in live and nets:
            words, terminals = _why_never(chart, element, [place in net.shorted for net in nets])
            what = f"section {element.name}" if element.kind == "section" else element.name
            yield Contradiction(f"{what} {words}", "", terminals)


def _why_never(chart: Chart, element: Element, shorted: Sequence[bool]) -> tuple[str, tuple[str, ...]]:
    ends = tuple(name for name, nodes in chart.leads.items() if element.a in nodes or element.b in nodes)
    named = f" (terminals {', '.join(ends)})" if ends else " (no lead goes to either end)"
    if all(shorted):
        return f"is shorted on every notch{named}", ends
    half = f", shorted on {sum(shorted)} of {len(shorted)} notches" if any(shorted) else ""
    return f"is never in circuit{half}{named}", ends
