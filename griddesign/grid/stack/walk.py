"""The circuit walked through the parts as stacked: the proof that the order of washers makes the grid that is meant."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from griddesign.grid.layout import Layout, Place
from griddesign.grid.records import Tap
from griddesign.grid.stack.clamps import parted_at
from griddesign.grid.stack.records import BoxStack, RodName

Node = tuple[int, RodName, int]
"""Box, rod, and which run of touching metal on it, counted from the dot end."""


@dataclass(slots=True)
class Walked:
    """What touches what: for every plate the node of each of its eyes, for every lead the nodes it is clamped to."""

    eyes: dict[int, dict[RodName, Node]] = field(default_factory=dict)
    leads: dict[str, list[Node]] = field(default_factory=dict)
    stands_for: dict[Node, Node] = field(default_factory=dict)

    def node(self, plate: int, rod: RodName) -> Node:
        """The node of an eye, links from box to box taken as made."""
        return self.same(self.eyes[plate][rod])

    def same(self, node: Node) -> Node:
        """The one node that stands for all that links join to this one."""
        while node in self.stands_for:
            node = self.stands_for[node]
        return node


def walk(boxes: Iterable[BoxStack]) -> Walked:
    """Runs of metal touching metal on every rod, then the leads that stand at two places."""
    found = Walked()
    for stack in boxes:
        for rod in stack.rods:
            run = 0
            for part in rod.parts:
                run += not part.conducting
                if part.what == "eye":
                    found.eyes.setdefault(part.plate, {})[rod.name] = (stack.box, rod.name, run)
                for label in part.labels:
                    found.leads.setdefault(label, []).append((stack.box, rod.name, run))
    for nodes in found.leads.values():
        for one, other in pairwise(nodes):
            a, b = found.same(one), found.same(other)
            if a != b:
                found.stands_for[b] = a
    return found


def faults(
    boxes: Sequence[BoxStack], layout: Layout, taps: Iterable[Tap], parted: frozenset[int] | None = None
) -> tuple[str, ...]:
    """Whatever the walk finds otherwise than meant; nothing is the proof. ``parted`` as in ``stacks``.

    Meant: the plates of a step lie between the same two nodes; a step and the next share one node and no more, none
    where the chain is parted; steps farther apart share none; every tap stands on the node its section begins or ends
    with; a plate out of circuit has at most one node that belongs to one in circuit.
    """
    walked, every = walk(boxes), tuple(taps)
    ends = {place.plate: _ends(walked, place.plate) for place in layout.places}
    return (
        *_of_steps(layout, parted_at(every) if parted is None else parted, ends),
        *_of_taps(walked, layout, every, ends),
        *_of_idle(walked, layout, ends),
    )


def _ends(walked: Walked, plate: int) -> tuple[Node, Node]:
    return walked.node(plate, "terminal side"), walked.node(plate, "far side")


def _of_steps(layout: Layout, parted: frozenset[int], ends: dict[int, tuple[Node, Node]]) -> Iterable[str]:
    order = _steps(layout)
    for step in order:
        if len({frozenset(ends[place.plate]) for place in step}) != 1 or len(set(ends[step[0].plate])) != 2:
            yield f"plates {step[0].plate} to {step[-1].plate} do not lie side by side between two nodes"
    seen: dict[Node, int] = {}
    for number, step in enumerate(order):
        for node in set(ends[step[0].plate]):
            if number - seen.setdefault(node, number) > 1:
                yield f"plate {step[0].plate} meets one that is not its neighbour in circuit"
    for one, other in pairwise(order):
        shared = len(set(ends[one[0].plate]) & set(ends[other[0].plate]))
        if shared != int(one[-1].plate not in parted):
            yield f"plates {one[-1].plate} and {other[0].plate} share {shared} nodes"


def _steps(layout: Layout) -> list[list[Place]]:
    found: dict[tuple[str, int], list[Place]] = {}
    for place in layout.places:
        if place.in_circuit:
            found.setdefault((place.section, place.step), []).append(place)
    return list(found.values())


def _of_taps(
    walked: Walked, layout: Layout, taps: tuple[Tap, ...], ends: dict[int, tuple[Node, Node]]
) -> Iterable[str]:
    """Every tap against the section names in its own name."""
    first = {section.name: layout.of_section(section.name)[0].plate for section in layout.sections}
    last = {section.name: layout.of_section(section.name)[-1].plate for section in layout.sections}
    for tap in taps:
        nodes = [walked.same(node) for node in walked.leads.get(tap.name, ())]
        meant = [ends[first[name]] for name in first if tap.name == f"start of {name}"]
        meant += [ends[last[name]] for name in last if tap.name == f"end of {name}"]
        for one, other in pairwise(first):
            if tap.name == f"{one}/{other}":
                meant += [ends[last[one]], ends[first[other]]]
        if len(nodes) != 1 or not meant or not all(nodes[0] in pair for pair in meant):
            yield f"tap {tap.name} does not stand where its section begins or ends"


def _of_idle(walked: Walked, layout: Layout, ends: dict[int, tuple[Node, Node]]) -> Iterable[str]:
    live = {node for place in layout.places if place.in_circuit for node in ends[place.plate]}
    for place in layout.places:
        if not place.in_circuit and set(ends[place.plate]) <= live:
            yield f"plate {place.plate} is meant to be out of circuit and is not"
        support = walked.eyes[place.plate].get("support")
        if support is not None and walked.same(support) in live:
            yield f"the support eye of plate {place.plate} touches the circuit"
