"""The order of parts on every rod, from where the plates stand and where the leads go.

Between two steps one rod conducts and the other does not; which one, alternates, and so the current zig-zags. Inside a
step of plates side by side both rods conduct. The support rod, where plates have a third eye, never does. A gap is
made up as

* joined: metal washer, (terminal clamp,) spacer, metal washer;
* not joined: mica washer, spacer, mica washer; a clamp stands with a metal washer against the eye it belongs to;
* at an end: end insulation, then clamp and metal washer, or a spacer as long as the two.

The spacer takes what the other parts leave of the distance that the plates' gap asks for: distance of the middles,
``(strip + strip') / 2 + plate gap``, less half of either eye. (Common practice, no source; the thicknesses are the
user's.) A plate that is mounted but not in circuit hangs on the rod that conducts there and is apart on the other.
"""

from collections.abc import Iterable, Iterator, Mapping
from itertools import accumulate, pairwise

from griddesign.errors import InputError
from griddesign.grid.layout import Layout, Place, side_after
from griddesign.grid.records import Tap
from griddesign.grid.stack.clamps import clamps, parted_at
from griddesign.grid.stack.records import BoxStack, Clamped, Gap, Hardware, KindInStack, Rod, RodName, StackPart

_RODS: tuple[RodName, ...] = ("terminal side", "far side")


def stacks(
    layout: Layout,
    taps: Iterable[Tap],
    kinds: Mapping[str, KindInStack],
    hardware: Hardware,
    jumpers: Iterable[Clamped] = (),
    parted: frozenset[int] | None = None,
) -> tuple[BoxStack, ...]:
    """Every box of the grid, stacked. ``kinds`` holds every kind of the layout, "" for plates of none; ``jumpers``:
    what is clamped besides taps and links; ``parted``: plates after which the chain is parted, else as the taps say.

    Raises InputError where a plate out of circuit stands inside a step of plates side by side: no order of washers
    leaves it out there.
    """
    every = tuple(taps)
    parted = parted_at(every) if parted is None else parted
    clamped = (*clamps(layout, every, parted), *jumpers)
    return tuple(
        _Builder(layout, box, kinds, hardware, clamped, parted).box_stack() for box in range(1, layout.boxes + 1)
    )


class _Builder:
    """One box being stacked."""

    def __init__(
        self,
        layout: Layout,
        box: int,
        kinds: Mapping[str, KindInStack],
        hardware: Hardware,
        clamped: Iterable[Clamped],
        parted: frozenset[int],
    ) -> None:
        self._box, self._hardware, self._parted = box, hardware, parted
        self._places = layout.in_box(box)
        usual = next(iter(kinds.values()))
        self._kinds = [kinds.get(place.kind, usual) for place in self._places]
        self._clamped = [one for one in clamped if one.box == box]
        self._joints = self._joined_sides()
        gap_m = layout.plan.plate_gap_m
        steps = ((one.strip_m + other.strip_m) / 2.0 + gap_m for one, other in pairwise(self._kinds))
        self._middles = tuple(accumulate(steps, initial=self._kinds[0].eye_m / 2.0))

    def box_stack(self) -> BoxStack:
        """The box as stacked."""
        rods = [self._rod(name, range(len(self._places))) for name in _RODS]
        supported = [at for at, kind in enumerate(self._kinds) if kind.support]
        if supported:
            rods.append(self._rod("support", supported))
        over_eyes_m = self._middles[-1] + self._kinds[-1].eye_m / 2.0
        plates = tuple(place.plate for place in self._places)
        return BoxStack(self._box, tuple(rods), plates, self._middles, over_eyes_m)

    def _joined_sides(self) -> list[frozenset[RodName]]:
        """For each pair of neighbours the rods that conduct between them."""
        live = [at for at, place in enumerate(self._places) if place.in_circuit]
        joined: list[frozenset[RodName]] = [frozenset()] * (len(self._places) - 1)
        steps = 1
        for one, other in pairwise(live):
            sides = self._sides(self._places[one], self._places[other], steps)
            if len(sides) == 2 and other - one > 1:
                raise InputError(
                    f"plate {self._places[one + 1].plate} is out of circuit inside a step of plates side by side",
                    hint="Take it out of the stack: no order of washers leaves it out of circuit there.",
                )
            joined[one:other] = [sides] * (other - one)
            steps += len(sides) < 2
        return self._with_ends(joined, live, steps)

    def _with_ends(self, joined: list[frozenset[RodName]], live: list[int], steps: int) -> list[frozenset[RodName]]:
        """The same with plates out of circuit at either end of the box on the rod where the chain comes in or goes out,
        so that a lead beyond them meets it."""
        if live:
            joined[: live[0]] = [frozenset({_RODS[0]})] * live[0]
            beyond = len(joined) - live[-1]
            joined[live[-1] :] = [frozenset({side_after(steps)})] * beyond
        return joined

    def _sides(self, one: Place, other: Place, steps: int) -> frozenset[RodName]:
        if (one.section, one.step) == (other.section, other.step):
            return frozenset(_RODS)
        return frozenset() if one.plate in self._parted else frozenset({side_after(steps)})

    def _rod(self, name: RodName, eyes: Iterable[int]) -> Rod:
        at = list(eyes)
        pairs = [(-1, at[0]), *pairwise(at), (at[-1], len(self._places))]
        gaps = tuple(self._gap(name, one, other) for one, other in pairs)
        parts = tuple(StackPart("eye", self._kinds[k].eye_m, self._places[k].plate) for k in at)
        return Rod(name, gaps, parts)

    def _gap(self, name: RodName, one: int, other: int) -> Gap:
        if one < 0 or other == len(self._places):
            return self._end(name, one, other)
        joined = name != "support" and name in self._joints[one]
        half_eyes_m = (self._kinds[one].eye_m + self._kinds[other].eye_m) / 2.0
        length_m = self._middles[other] - self._middles[one] - half_eyes_m
        parts = tuple(self._joined(name, one + 1) if joined else self._apart(name, one + 1))
        return Gap(one + 1, other + 1, joined, length_m, _filled(parts, length_m))

    def _leads(self, name: RodName, gap: int, *hands: str) -> tuple[StackPart, ...]:
        """The clamp of a gap with every lead it takes, or nothing."""
        labels = tuple(one.label for one in self._clamped if one.gap == gap and one.side == name and one.hand in hands)
        return (StackPart("terminal clamp", self._hardware.terminal_clamp_m, 0, labels),) if labels else ()

    @property
    def _washer(self) -> StackPart:
        return StackPart("metal washer", self._hardware.metal_washer_m)

    def _joined(self, name: RodName, gap: int) -> Iterator[StackPart]:
        yield self._washer
        yield from self._leads(name, gap, "before", "after")
        yield StackPart("spacer", None)
        yield self._washer

    def _apart(self, name: RodName, gap: int) -> Iterator[StackPart]:
        mica = StackPart("mica washer", self._hardware.mica_washer_m)
        for clamp in self._leads(name, gap, "before"):
            yield from (self._washer, clamp)
        yield from (mica, StackPart("spacer", None), mica)
        for clamp in self._leads(name, gap, "after"):
            yield from (clamp, self._washer)

    def _end(self, name: RodName, one: int, other: int) -> Gap:
        """From an end frame to the nearest eye; a support rod's may begin some plates farther in."""
        at_dot = one < 0
        free_m = self._free_m(one, other)
        insulation = StackPart("end insulation", self._hardware.end_insulation_m)
        clamp = self._leads(name, one + 1, "after" if at_dot else "before") if name != "support" and not free_m else ()
        room_m = _sum(self._hardware.terminal_clamp_m, self._hardware.metal_washer_m)
        inner = (*clamp, self._washer) if clamp else (StackPart("spacer", _sum(room_m, free_m)),)
        parts = (insulation, *inner) if at_dot else (*reversed(inner), insulation)
        length_m = _sum(insulation.length_m, room_m, free_m)
        return Gap(one + 1, min(other, len(self._places)) + 1, False, length_m, parts)

    def _free_m(self, one: int, other: int) -> float:
        """Between the outermost eye of the box and the nearest eye of this rod; zero where they are the same."""
        if one < 0:
            return self._middles[other] - self._kinds[other].eye_m / 2.0 if other > 0 else 0.0
        whole_m = self._middles[-1] + self._kinds[-1].eye_m / 2.0
        return 0.0 if one == len(self._places) - 1 else whole_m - self._middles[one] - self._kinds[one].eye_m / 2.0


def _filled(parts: tuple[StackPart, ...], length_m: float) -> tuple[StackPart, ...]:
    """The parts with the spacer taking what they leave of the gap; less than nothing where they do not go in."""
    others = _sum(*(part.length_m for part in parts if part.what != "spacer"))
    spacer_m = None if others is None else length_m - others
    return tuple(StackPart("spacer", spacer_m) if part.what == "spacer" else part for part in parts)


def _sum(*lengths_m: float | None) -> float | None:
    known = [length_m for length_m in lengths_m if length_m is not None]
    return sum(known) if len(known) == len(lengths_m) else None
