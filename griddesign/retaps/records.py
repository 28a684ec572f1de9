"""The question of new taps on plates at hand, and its answer: what reading, search and papers agree on.

Joints are counted as everywhere: joint j lies after plate j of the whole grid, from the dot end of box 1; joint 0 is
the dot end itself, joint N the far end of the last box. Where a box ends, its far end and the dot end of the next are
one joint (the box link joins them). The search is one function of these records:

``best_taps(question: Question, *, time_limit_s: float = 3.0) -> Answer`` in ``griddesign.retaps.best``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import Literal

from griddesign.grid.records import Run, Side

State = Literal["in circuit", "not in circuit", "cracked", "dead"]
LeaveOut = Literal["nowhere", "at the ends", "anywhere"]


@dataclass(frozen=True, slots=True)
class PlateAtHand:
    """One plate as it stands in its box.

    ``ohm`` at 20 degC, ``half_width_ohm`` how far it may be off either way; a dead plate is open and has no ohms
    (``inf``). ``current_a`` is what it may carry for ever, None where nobody knows. ``joined``: plates next to each
    other in one box with the same number above 0 stand side by side and make one step; 0 stands alone. A plate that is
    not in circuit takes a place and nothing else; a cracked one carries current but nobody should build on it.
    """

    box: int
    position: int
    kind: str
    ohm: float
    half_width_ohm: float = 0.0
    state: State = "in circuit"
    current_a: float | None = None
    joined: int = 0


@dataclass(frozen=True, slots=True)
class Step:
    """Plates side by side that count once along the zig-zag: ``first`` to ``last`` plate (counted from 1), joints
    ``first - 1`` and ``last``. ``ohm`` of all live plates side by side, ``inf`` where every one is dead;
    ``in_circuit`` False for a plate that takes a place and nothing else (0 ohm, no step of the zig-zag)."""

    first: int
    last: int
    ohm: float
    in_circuit: bool
    current_a: float | None

    @property
    def plates(self) -> int:
        """Plates of the step."""
        return self.last - self.first + 1

    @property
    def dead(self) -> bool:
        """Whether no current passes."""
        return self.ohm == float("inf")


@dataclass(frozen=True)
class PlatesAtHand:
    """Every plate in order from the dot end of box 1. ``joint_ohm`` is one clamped joint, counted to each step, where
    it is not in the plates' ohms already."""

    plates: tuple[PlateAtHand, ...]
    joint_ohm: float = 0.0

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The plates put together as they carry current."""
        groups: list[list[int]] = []
        for number, plate in enumerate(self.plates, start=1):
            before = self.plates[number - 2] if number > 1 else None
            together = before and plate.joined and (before.joined, before.box) == (plate.joined, plate.box)
            if together:
                groups[-1].append(number)
            else:
                groups.append([number])
        return tuple(self._step(group) for group in groups)

    def _step(self, numbers: list[int]) -> Step:
        live = [plate for number in numbers if (plate := self.plates[number - 1]).state in ("in circuit", "cracked")]
        first, last = numbers[0], numbers[-1]
        if all(self.plates[number - 1].state == "not in circuit" for number in numbers):
            return Step(first, last, 0.0, False, None)
        if not live:
            return Step(first, last, float("inf"), True, None)
        ohm = live[0].ohm if len(live) == 1 else 1.0 / sum(1.0 / plate.ohm for plate in live)
        shares = [ohm / plate.ohm for plate in live]
        carried = [plate.current_a / share for plate, share in zip(live, shares, strict=True) if plate.current_a]
        return Step(first, last, ohm + self.joint_ohm, True, min(carried) if len(carried) == len(live) else None)

    @cached_property
    def joints(self) -> tuple[int, ...]:
        """Joints at which current can enter or leave: none inside a step."""
        return (0, *(step.last for step in self.steps))

    @cached_property
    def box_ends(self) -> frozenset[int]:
        """Joints where a box begins or ends."""
        inner = (number for number, (a, b) in enumerate(pairwise(self.plates), start=1) if a.box != b.box)
        return frozenset((0, *inner, len(self.plates)))

    @cached_property
    def sides(self) -> Mapping[int, frozenset[Side]]:
        """On which sides each joint comes out: terminal side after an even number of steps in its box. Where boxes meet
        the joint comes out at the far end of the one and, on the terminal side, at the dot end of the next."""
        found: dict[int, frozenset[Side]] = {0: frozenset(("terminal side",))}
        steps_in_box, box = 0, 0
        for step in self.steps:
            here = self.plates[step.first - 1].box
            steps_in_box = steps_in_box if here == box else 0
            box = here
            steps_in_box += step.in_circuit
            side: Side = "terminal side" if steps_in_box % 2 == 0 else "far side"
            found[step.last] = frozenset((side,))
        return {
            joint: sides | {"terminal side"} if joint in self.box_ends and joint < len(self.plates) else sides
            for joint, sides in found.items()
        }


@dataclass(frozen=True, slots=True)
class Spare:
    """A plate on the shelf: its kind, ohms at 20 degC and half-width; ``current_a`` as in ``PlateAtHand``."""

    name: str
    kind: str
    ohm: float
    half_width_ohm: float = 0.0
    current_a: float | None = None


WORTH = 5e-3
"""What an exchange of plates must take off the worst notch, as a share of the current: what a good reading of ohms is
sure of (ours, no source). A box has to be opened for it."""


@dataclass(frozen=True, slots=True)
class TapRules:
    """Where taps may sit, and what may be done besides. Taps are named as in ``grid.taps``: ``start of A``, ``A/B``,
    ``end of C``; where plates are left out between sections the one tap becomes two, ``end of A`` and ``start of B``,
    and counts as moved once.

    ``sides``: reachable sides. ``forbidden``: joints no lead can reach. ``box_ends_only``: taps at box ends alone.
    ``present``: joint of each tap today (empty: nobody knows). ``fixed``: taps that must stay where they are, by name;
    each is in ``present``. ``most_moves``: at most so many taps move (None: any number). ``may_jump``: dead plates may
    be bridged by a jumper inside a section (each is a bypassed plate). ``leave_out``: where sound plates may stay
    unused. ``may_swap``: plates may change places, at most ``most_swaps`` exchanges (None: any number); ``spares`` may
    take the place of plates, at most ``most_spares`` (None: all of them). An exchange of either sort must take
    ``worth`` off the worst notch, a share of the current; no place is touched twice. ``breaks``: sections after which
    the chain is parted, so that the tap there is two taps at one joint.
    """

    sides: frozenset[Side] = frozenset(("terminal side",))
    forbidden: frozenset[int] = frozenset()
    box_ends_only: bool = False
    present: Mapping[str, int] = field(default_factory=dict)
    fixed: frozenset[str] = frozenset()
    most_moves: int | None = None
    may_jump: bool = True
    leave_out: LeaveOut = "at the ends"
    may_swap: bool = False
    most_swaps: int | None = None
    spares: tuple[Spare, ...] = ()
    most_spares: int | None = None
    worth: float = WORTH
    breaks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class NotchTarget:
    """One circuit of one notch. What the current feels is ``R' = other_ohm + weight * ohms(run)``; the error of the
    notch is ``wanted_total_ohm / R' - 1``, positive for too much current; ``tolerance`` is what is allowed of it."""

    name: str
    run: Run
    wanted_total_ohm: float
    other_ohm: float = 0.0
    weight: float = 1.0
    tolerance: float = 0.05

    @property
    def wanted_ohm(self) -> float:
        """The grid's own ohms wanted."""
        return (self.wanted_total_ohm - self.other_ohm) / self.weight

    def error(self, grid_ohm: float) -> float:
        """Error of the notch with so many ohms in the grid."""
        return self.wanted_total_ohm / (self.other_ohm + self.weight * grid_ohm) - 1.0


@dataclass(frozen=True, slots=True)
class Question:
    """The whole question. ``section_order``: sections one after another from the dot end of box 1.

    ``needs_a``: current each section must be able to carry for ever, A (a plate of unknown rating is not held against
    it; the papers say so). A target whose run is empty says nothing and is left out by whoever asks.
    """

    plates: PlatesAtHand
    section_order: tuple[str, ...]
    targets: tuple[NotchTarget, ...]
    rules: TapRules = field(default_factory=TapRules)
    needs_a: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Span:
    """One section as tapped: from joint to joint, its cold ohms, and plates inside that are bridged by a jumper."""

    section: str
    from_joint: int
    to_joint: int
    cold_ohm: float
    jumped: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """The best arrangement found, how good it is and how sure.

    ``errors`` stand in the order of the targets. ``bound`` is the least worst error any arrangement can have, as a
    share; ``proved`` that ``worst_error`` is it, ties and all. ``moved``: names of taps that leave their present joint.
    ``bypassed``: plates that carried current or could and now do not: jumped or left between taps, or at the ends.
    ``swaps``: pairs of plate numbers that change places; ``spares``: (name of the spare, number of the plate it stands
    in for). ``exchange_cost`` is what these exchanges had to gain; where there may be any, ``bound`` and ``proved`` are
    of ``reached``, the worst error and this cost together. Search raises InputError where no arrangement is possible at
    all (the message names the rule that bites).
    """

    spans: tuple[Span, ...]
    errors: tuple[float, ...]
    worst_error: float
    bound: float
    proved: bool
    moved: tuple[str, ...] = ()
    bypassed: tuple[int, ...] = ()
    swaps: tuple[tuple[int, int], ...] = ()
    spares: tuple[tuple[str, int], ...] = ()
    exchange_cost: float = 0.0
    seconds: float = 0.0
    note: str = ""

    @property
    def reached(self) -> float:
        """What was made least: the worst error, and the cost of the exchanges."""
        return self.worst_error + self.exchange_cost

    @property
    def taps(self) -> tuple[tuple[str, int], ...]:
        """Name and joint of every tap from the dot end; two where sections do not meet at one joint."""
        if not self.spans:
            return ()
        found = [(f"start of {self.spans[0].section}", self.spans[0].from_joint)]
        for before, after in pairwise(self.spans):
            if before.to_joint == after.from_joint:
                found.append((f"{before.section}/{after.section}", before.to_joint))
            else:
                found.append((f"end of {before.section}", before.to_joint))
                found.append((f"start of {after.section}", after.from_joint))
        return (*found, (f"end of {self.spans[-1].section}", self.spans[-1].to_joint))
