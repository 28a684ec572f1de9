"""Where every plate stands: box, place from the dot end, section, step; and on which side each joint comes out.

Counting starts at the end frame marked with the paint dot, seen from the terminal side. The current enters each box at
its dot end on the terminal side; every step (one plate, or q plates side by side) carries it to the other side, so the
joint after k steps in a box is on the terminal side if and only if k is even.

The rule for leads on one side only (``tap_sides`` 1): a tap and both ends of a box link must be on the terminal side.
The link leaves at the far end of its box, so **every box holds an even number of steps**; then counting in the box and
counting through the grid have the same parity, so **every section has an even number of steps** as well, whether or not
it runs over from one box to the next. A box is therefore filled by pairs of steps; no link parts a pair.
With leads on both sides any counts will do; a step of q plates is never parted in either case.
(The rule for sections is common practice; it is derived here from the zig-zag and tested by a walk plate by plate.)
"""

from collections.abc import Iterable
from dataclasses import dataclass

from griddesign.errors import InputError
from griddesign.grid.records import BoxPlan, SectionBuild, Side


@dataclass(frozen=True, slots=True)
class Place:
    """One plate where it stands.

    ``plate`` counts through the grid and ``position`` in its ``box``, both from 1 at the dot end; ``step`` counts in
    the section from 1. A plate that is mounted but not in circuit has section "" and step 0.
    """

    plate: int
    box: int
    position: int
    section: str
    kind: str
    step: int

    @property
    def in_circuit(self) -> bool:
        """Whether the plate carries current at all."""
        return self.step > 0


@dataclass(frozen=True, slots=True)
class BoxLink:
    """The lead from the far end of ``from_box``, on ``side``, to the dot end of the next box (terminal side)."""

    from_box: int
    to_box: int
    side: Side
    inside_section: str


@dataclass(frozen=True, slots=True)
class Layout:
    """Every plate of the grid in order from the dot end of box 1, and the sections as built."""

    places: tuple[Place, ...]
    sections: tuple[SectionBuild, ...]
    plan: BoxPlan

    @property
    def boxes(self) -> int:
        """Boxes in use."""
        return max((place.box for place in self.places), default=0)

    def in_box(self, box: int) -> tuple[Place, ...]:
        """The plates of one box, from its dot end."""
        return tuple(place for place in self.places if place.box == box)

    def steps_in_box(self, box: int) -> int:
        """Steps of one box: plates side by side count once, plates out of circuit not at all."""
        return len({(place.section, place.step) for place in self.in_box(box) if place.in_circuit})

    def of_section(self, name: str) -> tuple[Place, ...]:
        """The plates of one section, in order."""
        return tuple(place for place in self.places if place.section == name)


def side_after(steps: int) -> Side:
    """The side of the joint after that many steps from the dot end of the box."""
    return "terminal side" if steps % 2 == 0 else "far side"


def plates_together(in_parallel: int, tap_sides: int) -> int:
    """Plates that must stand in one box: one step, or a pair of steps where leads reach one side only."""
    return in_parallel * (2 if tap_sides == 1 else 1)


def lay_out(sections: Iterable[SectionBuild], plan: BoxPlan, idle: Iterable[int] = ()) -> Layout:
    """The sections one after another from the dot end of box 1, each box filled as far as the rule above allows.

    ``idle`` numbers plates (whole-grid count) that are mounted but not in circuit: they take a place and nothing else.
    A section with an odd number of steps is laid out all the same; its taps then tell that they are on the far side.
    Filling each box as far as it goes needs the fewest boxes, since the order of the plates is fixed.
    Raises InputError where the plates do not fit.
    """
    built = tuple(sections)
    filler = _Filler(plan, frozenset(idle))
    for section in built:
        _check(section, plan)
        filler.add_section(section)
    filler.add_idle()
    return Layout(tuple(filler.places), built, plan)


def box_links(layout: Layout) -> tuple[BoxLink, ...]:
    """The leads from box to box. ``inside_section`` names the section that runs over, "" where a section ends there."""
    return tuple(_link(layout, box) for box in range(1, layout.boxes))


def _link(layout: Layout, box: int) -> BoxLink:
    last = [place for place in layout.in_box(box) if place.in_circuit][-1]
    following = next(place for place in layout.in_box(box + 1) if place.in_circuit)
    shared = last.section if last.section == following.section else ""
    return BoxLink(box, box + 1, side_after(layout.steps_in_box(box)), shared)


def _check(section: SectionBuild, plan: BoxPlan) -> None:
    if section.series < 1 or section.in_parallel < 1:
        raise InputError(
            f"section {section.name} has {section.series} steps of {section.in_parallel} plates",
            hint="Every section needs at least one step of one plate.",
        )
    together = plates_together(section.in_parallel, plan.tap_sides if section.series > 1 else 2)
    if together > plan.plates_per_box:
        raise InputError(
            f"section {section.name} needs {together} plates together in one box, a box holds {plan.plates_per_box}",
            hint="Use larger boxes or fewer plates in parallel.",
        )


class _Filler:
    """Puts plates into boxes one group at a time."""

    def __init__(self, plan: BoxPlan, idle: frozenset[int]) -> None:
        self.places: list[Place] = []
        self._plan = plan
        self._idle = idle
        self._box = 1
        self._used = 0
        self._steps_in_box = 0

    def add_section(self, section: SectionBuild) -> None:
        """The section's steps: in pairs where leads reach one side only, one by one otherwise."""
        step = 1
        while step <= section.series:
            count = self._steps_together(section.series - step + 1)
            self._add_group(section, step, count)
            step += count

    def _steps_together(self, steps_left: int) -> int:
        paired = self._plan.tap_sides == 1 and self._steps_in_box % 2 == 0 and steps_left >= 2
        return 2 if paired else 1

    def _add_group(self, section: SectionBuild, first_step: int, count: int) -> None:
        self.add_idle()
        if self._used + self._places_for(count * section.in_parallel) > self._plan.plates_per_box:
            self._next_box()
        for step in range(first_step, first_step + count):
            for _ in range(section.in_parallel):
                self.add_idle()
                self._put(section.name, section.kind, step)
        self._steps_in_box += count

    def _places_for(self, plates: int) -> int:
        """Places that so many plates in circuit take up together with the plates out of circuit among them."""
        number = len(self.places)
        while plates > 0:
            number += 1
            plates -= number not in self._idle
        return number - len(self.places)

    def add_idle(self) -> None:
        """The plates out of circuit that come next, if any."""
        while len(self.places) + 1 in self._idle:
            if self._used == self._plan.plates_per_box:
                self._next_box()
            self._put("", "", 0)

    def _next_box(self) -> None:
        if self._box == self._plan.boxes:
            raise InputError(
                f"the plates do not fit into {self._plan.boxes} boxes of {self._plan.plates_per_box}: "
                f"{len(self.places)} are placed and more are to come",
                hint="Allow another box, or plates of more ohms.",
            )
        self._box += 1
        self._used = 0
        self._steps_in_box = 0

    def _put(self, section: str, kind: str, step: int) -> None:
        self._used += 1
        self.places.append(Place(len(self.places) + 1, self._box, self._used, section, kind, step))
