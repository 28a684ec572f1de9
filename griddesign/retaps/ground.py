"""A question of taps laid out for the search: taps as unknowns, each with the joints it may take and the ohms up to
there, and what every pair of taps owes each other.

Unknowns are the ends of sections. Where two sections must meet at one joint they share one unknown; where plates may
stay unused between them (or dead plates lie there that may not be jumped) there are two. Joints are counted here by
steps: place i lies after step i.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from griddesign.errors import InputError
from griddesign.grid.circuit import names
from griddesign.retaps.records import Question, Step

_PARTS = 1 << 60
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Unknown:
    """One end of a section or the joint of two: the places it may take, in order, and the ohms from the dot end."""

    places: tuple[int, ...]
    ohm: list[float]


@dataclass(frozen=True, slots=True)
class Link:
    """What two unknowns owe each other: for each choice of the one the first and last choice of the other."""

    before: int
    after: int
    after_from: list[int]
    after_to: list[int]
    before_from: list[int]
    before_to: list[int]


@dataclass(frozen=True, slots=True)
class PresentTap:
    """A tap as it sits today: moved where any of its unknowns takes another place than ``choices`` names."""

    name: str
    unknowns: tuple[int, ...]
    choices: tuple[int, ...]

    def moved(self, choice: Sequence[int]) -> bool:
        """Whether the tap leaves its joint."""
        return any(choice[v] != own for v, own in zip(self.unknowns, self.choices, strict=True))


@dataclass(frozen=True)
class Ground:
    """Everything the search moves on. ``spans`` are the two unknowns of every section; ``plates_before`` the plates
    that could carry current up to each place."""

    question: Question
    unknowns: tuple[Unknown, ...]
    spans: tuple[tuple[int, int], ...]
    links: tuple[Link, ...]
    taps: tuple[PresentTap, ...]
    plates_before: tuple[int, ...]

    @property
    def most_moves(self) -> int | None:
        """Taps that may move, None where any number may."""
        return self.question.rules.most_moves

    @property
    def section_unknowns(self) -> Mapping[str, tuple[int, int]]:
        """The two unknowns of each section by its name."""
        return dict(zip(self.question.section_order, self.spans, strict=True))

    def places(self, choice: Sequence[int]) -> tuple[tuple[int, int], ...]:
        """Places of both ends of every section."""
        at = [unknown.places[own] for unknown, own in zip(self.unknowns, choice, strict=True)]
        return tuple((at[before], at[after]) for before, after in self.spans)

    def moves(self, choice: Sequence[int]) -> int:
        """Taps that leave their joints."""
        return sum(tap.moved(choice) for tap in self.taps)


def lay_ground(question: Question) -> Ground | None:
    """The ground of a question; None where a tap has no joint at all to sit at.

    Raises InputError on a rule that names what does not exist, or a fixed tap at a forbidden joint.
    """
    _check(question)
    layer = _Layer(question)
    layer.name_unknowns()
    if not all(layer.domains):
        return None
    return layer.ground()


def _check(question: Question) -> None:
    order, rules = question.section_order, question.rules
    if not order or len(set(order)) != len(order) or not question.plates.steps:
        raise InputError("there are no sections or no plates, or a section is named twice", hint="Name each once.")
    used = {name for target in question.targets for name in names(target.run)}
    for name in (*used, *question.needs_a, *rules.breaks):
        if name not in order:
            raise InputError(f"section {name} is not one of {', '.join(order)}", hint="Name the sections in order.")
    for target in question.targets:
        if not (target.wanted_total_ohm > 0.0 and target.weight > 0.0 and target.other_ohm >= 0.0):
            raise InputError(
                f"notch {target.name}: {target.wanted_total_ohm:g} ohm wanted, {target.other_ohm:g} ohm beside it",
                hint="Both must be possible resistances.",
            )
    known = set(tap_names(order))
    for name in (*rules.present, *rules.fixed):
        if name not in known:
            raise InputError(f"there is no tap {name!r}", hint=f"Taps: {', '.join(sorted(known))}.")
    for name in rules.fixed:
        if name not in rules.present:
            raise InputError(f"tap {name!r} is to stay, but nobody says where it is", hint="Give its joint.")
        if rules.present[name] in rules.forbidden:
            raise InputError(
                f"tap {name!r} is to stay at joint {rules.present[name]}, a forbidden joint", hint="Relax one of them."
            )
    for name, joint in rules.present.items():
        if joint not in question.plates.joints:
            raise InputError(f"tap {name!r} sits at joint {joint}, where there is none", hint="Count from the dot end.")


def tap_names(order: Sequence[str]) -> tuple[str, ...]:
    """Every name a tap of these sections can have."""
    inner = [(f"{a}/{b}", f"end of {a}", f"start of {b}") for a, b in pairwise(order)]
    return (f"start of {order[0]}", *(name for three in inner for name in three), f"end of {order[-1]}")


class _Layer:
    """Lays the ground: unknowns first, then what they owe each other."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.rules = question.rules
        self.steps = question.plates.steps
        self.place_of = {joint: place for place, joint in enumerate(question.plates.joints)}
        self.domains: list[tuple[int, ...]] = []
        self.spans: list[tuple[int, int]] = []
        self.taps: list[tuple[str, tuple[int, ...]]] = []
        self.gaps: list[tuple[int, int]] = []
        self.live_before = _counted(step.ohm > 0.0 and not step.dead for step in self.steps)
        self.dead_before = _counted(step.dead for step in self.steps)
        self.open_places = tuple(place for joint, place in self.place_of.items() if self._reachable(joint))
        self.parting = rules_part(question)
        self._table: dict[object, tuple[list[int], list[int], list[int], list[int]]] = {}

    def _reachable(self, joint: int) -> bool:
        rules, plates = self.rules, self.question.plates
        if joint in rules.forbidden or (rules.box_ends_only and joint not in plates.box_ends):
            return False
        return bool(plates.sides[joint] & rules.sides)

    def name_unknowns(self) -> None:
        """The unknowns of every section and the taps of today."""
        order = self.question.section_order
        begin = self._unknown(f"start of {order[0]}", begins=True)
        for name, following in zip(order, (*order[1:], ""), strict=True):
            end_name = f"end of {name}"
            if not following:
                self.spans.append((begin, self._unknown(end_name, ends=True)))
                continue
            both, start_name = f"{name}/{following}", f"start of {following}"
            if both in self.parting:
                end, start = self._unknown(both, end_name), self._unknown(both, start_name)
                self._tap(end_name, end)
                self._tap(start_name, start)
                self._tap(both, end, start)
                self.gaps.append((end, start))
            else:
                end = start = self._unknown(both, end_name, start_name)
                for tap in (both, end_name, start_name):
                    self._tap(tap, end)
            self.spans.append((begin, end))
            begin = start
        self._tap(f"start of {order[0]}", 0)
        self._tap(f"end of {order[-1]}", len(self.domains) - 1)

    def _tap(self, name: str, *unknowns: int) -> None:
        if name in self.rules.present:
            self.taps.append((name, unknowns))

    def _unknown(self, *tap_names: str, begins: bool = False, ends: bool = False) -> int:
        own = {self.place_of[self.rules.present[name]] for name in tap_names if name in self.rules.present}
        shut = {self.place_of[joint] for joint in self.rules.forbidden if joint in self.place_of}
        places = {place for place in (*self.open_places, *own) if place not in shut}
        for name in tap_names:
            if name in self.rules.fixed:
                places &= {self.place_of[self.rules.present[name]]}
        if self.rules.leave_out == "nowhere":
            whole = self.live_before[-1]
            places = {place for place in places if not begins or self.live_before[place] == 0}
            places = {place for place in places if not ends or self.live_before[place] == whole}
        self.domains.append(tuple(sorted(places)))
        return len(self.domains) - 1

    def ground(self) -> Ground:
        """The ground, once every unknown has a place to take."""
        ohm_before = _ohms_before(self.steps)
        ohms = {domain: [ohm_before[place] for place in domain] for domain in set(self.domains)}
        unknowns = tuple(Unknown(domain, ohms[domain]) for domain in self.domains)
        return Ground(
            self.question, unknowns, tuple(self.spans), self._links(), self._present(),
            tuple(accumulate((step.plates if step.in_circuit and not step.dead else 0 for step in self.steps),
                             initial=0)),
        )  # fmt: skip

    def _present(self) -> tuple[PresentTap, ...]:
        found = []
        for name, unknowns in self.taps:
            place = self.place_of[self.rules.present[name]]
            choices = tuple(_choice_of(self.domains[v], place) for v in unknowns)
            found.append(PresentTap(name, unknowns, choices))
        return tuple(found)

    def _links(self) -> tuple[Link, ...]:
        last = len(self.steps)
        found = []
        for name, (before, after) in zip(self.question.section_order, self.spans, strict=True):
            need = self.question.needs_a.get(name, 0.0)
            found.append(self._link(before, after, ("section", need)))
        everywhere = self.rules.leave_out == "anywhere"
        for before, after in self.gaps:
            found.append(self._link(before, after, ("gap", last if everywhere else 0)))
        return tuple(found)

    def _link(self, before: int, after: int, kind: tuple[str, float]) -> Link:
        key = (self.domains[before], self.domains[after], kind)
        if key not in self._table:
            first, last = self._section_reach(kind[1]) if kind[0] == "section" else self._gap_reach(kind[1] > 0)
            self._table[key] = _four_ways(self.domains[before], self.domains[after], first, last)
        return Link(before, after, *self._table[key])

    def _section_reach(self, need_a: float) -> tuple[list[int], list[int]]:
        """First and last place at which a section from each place can end: one live step at least, none too weak."""
        count = len(self.steps)
        first, last = [count + 1] * (count + 1), [count] * (count + 1)
        for place in range(count - 1, -1, -1):
            step = self.steps[place]
            first[place] = first[place + 1] if step.dead or step.ohm <= 0.0 else place + 1
            barred = (step.dead and not self.rules.may_jump) or _too_weak(step, need_a)
            last[place] = place if barred else last[place + 1]
        return first, last

    def _gap_reach(self, everywhere: bool) -> tuple[list[int], list[int]]:
        """First and last place at which the next section can begin: with no sound step between unless allowed."""
        count = len(self.steps)
        if everywhere:
            return list(range(count + 1)), [count] * (count + 1)
        return list(range(count + 1)), [bisect_right(self.live_before, live) - 1 for live in self.live_before]


def rules_part(question: Question) -> frozenset[str]:
    """Taps, named ``A/B``, where two sections need not meet at one joint."""
    rules, steps = question.rules, question.plates.steps
    inner = [(a, b) for a, b in pairwise(question.section_order)]
    if rules.leave_out == "anywhere" or (not rules.may_jump and any(step.dead for step in steps)):
        return frozenset(f"{a}/{b}" for a, b in inner)
    present = rules.present
    apart = [(a, b) for a, b in inner if {f"end of {a}", f"start of {b}"} <= set(present)]
    return frozenset(f"{a}/{b}" for a, b in apart if present[f"end of {a}"] != present[f"start of {b}"])


def _too_weak(step: Step, need_a: float) -> bool:
    """Whether a step cannot carry what is needed."""
    return step.in_circuit and not step.dead and falls_short(step.current_a, need_a)


def falls_short(current_a: float | None, need_a: float) -> bool:
    """Whether a rating (None: nobody knows) is below the need; plates side by side share it but for rounding."""
    return current_a is not None and current_a < need_a * (1.0 - ROUNDING)


def _choice_of(domain: Sequence[int], place: int) -> int:
    """Choice that takes the place; -1 where none does."""
    at = bisect_left(domain, place)
    return at if at < len(domain) and domain[at] == place else -1


def _counted(marks: Iterable[bool]) -> list[int]:
    return list(accumulate(map(int, marks), initial=0))


def _ohms_before(steps: Sequence[Step]) -> list[float]:
    """Ohms from the dot end to each place, dead steps bridged; added up in whole parts so that no rounding piles up."""
    parts = accumulate((0 if step.dead else round(step.ohm * _PARTS) for step in steps), initial=0)
    return [whole / _PARTS for whole in parts]


def _four_ways(
    before: Sequence[int], after: Sequence[int], first: Sequence[int], last: Sequence[int]
) -> tuple[list[int], list[int], list[int], list[int]]:
    """Choices of ``after`` from and to for each choice of ``before``, and the other way about; both reaches rise."""
    firsts, lasts = [first[place] for place in before], [last[place] for place in before]
    return (
        [bisect_left(after, place) for place in firsts],
        [bisect_right(after, place) - 1 for place in lasts],
        [bisect_left(lasts, place) for place in after],
        [bisect_right(firsts, place) - 1 for place in after],
    )
