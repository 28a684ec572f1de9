"""Best taps against plain enumeration: every arrangement tried, every aim compared, nothing shared with the search.

Evidence: own enumeration over joints. Ohms of sections are added up plate by plate (``math.fsum``), those of circuits
taken from ``grid.circuit`` (checked on its own with exact fractions). Ties are compared as ``best_taps`` states them:
worst errors within 1e-9 of the least and sums of squares within 1e-12 of theirs are equal; then moved taps, plates left
out, sections that do not meet, joints from the dot end. An error that passes its tolerance in the last digits only (a
wanted 0.12 ohm beside sums of 0.05 ohm lies at its tolerance of 20 % on both sides) keeps it. The arrangement and so
every figure must be the same, digit for digit.
"""

import os
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from math import fsum, inf
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import InputError
from griddesign.grid.circuit import ohms
from griddesign.grid.records import Branches, Run
from griddesign.retaps.best import best_taps
from griddesign.retaps.records import Answer, NotchTarget, PlateAtHand, PlatesAtHand, Question, Spare, TapRules

EXAMPLES = 4000 if os.environ.get("HYPOTHESIS_PROFILE") == "roam" else 150

ROUNDING = 1e-12
"""What the last digits of an error may come to, well below any that matter."""

Spans = tuple[tuple[int, int], ...]


def runs(order: str) -> list[Run]:
    """Circuits of any shape over the sections there are."""
    a, last = order[0], order[-1]
    found = [Run(tuple(order)), Run((a,)), Run((last,)), Run(tuple(order[1:])), Run((a, last)), Run((a, last, a))]
    if len(order) > 1:
        found.append(Run((Branches((Run((a,)), Run((last,)))),)))
    if len(order) > 2:
        found.append(Run((order[1], Branches((Run((a,)), Run((last,)))))))
        found.append(Run((Branches((Run((a, order[1])), Run((last,)))),)))
        inner = Branches((Run((order[1],)), Run((last,))))
        found.append(Run((Branches((Run((a,)), Run((last, inner)))),)))
    return [run for run in found if run.parts]


@st.composite
def plates(draw: st.DrawFn) -> PlatesAtHand:
    """Up to 14 plates in up to three boxes: even or scattered ohms, some dead, idle, cracked, weak or in pairs."""
    count = draw(st.integers(4, 14))
    box_size = draw(st.sampled_from((3, 4, 5, 7, 14)))
    even = draw(st.booleans())
    odd = draw(st.booleans())
    found = []
    for number in range(count):
        ohm = 0.07 if even else draw(st.integers(50, 95)) / 1000.0
        state = (
            draw(st.sampled_from(("in circuit",) * 7 + ("dead", "not in circuit", "cracked"))) if odd else "in circuit"
        )
        current = draw(st.sampled_from((None, 40.0, 80.0)))
        joined = draw(st.sampled_from((0, 0, 1))) if odd else 0
        found.append(PlateAtHand(number // box_size + 1, number % box_size + 1, "P", ohm, 0.0, state, current, joined))
    return PlatesAtHand(tuple(found), draw(st.sampled_from((0.0, 0.0002))))


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """A question on few plates, with every rule now and then."""
    at_hand = draw(plates())
    leave_out = draw(st.sampled_from(("nowhere", "at the ends", "at the ends", "anywhere")))
    order = "ABCD"[: draw(st.integers(1, 3 if leave_out == "anywhere" else 4))]
    whole = fsum(step.ohm for step in at_hand.steps if not step.dead)
    chosen = draw(st.lists(st.sampled_from(runs(order)), min_size=1, max_size=draw(st.sampled_from((1, 2, 5)))))
    targets = []
    for n, run in enumerate(chosen):
        weight, other = draw(st.sampled_from((1.0, 2.0))), draw(st.sampled_from((0.0, 0.5, 0.9)))
        share = ohms(run, dict.fromkeys(order, whole / len(order))) * draw(st.integers(60, 140)) / 100.0
        tolerance = draw(st.sampled_from((0.05, 0.05, 0.2)))
        targets.append(NotchTarget(str(n), run, max(other + weight * share, 1e-3), other, weight, tolerance))
    rules = draw(tap_rules(order, at_hand, leave_out))
    needs = {order[0]: 60.0} if draw(st.integers(0, 4)) == 0 else {}
    return Question(at_hand, tuple(order), tuple(targets), rules, needs)


@st.composite
def tap_rules(draw: st.DrawFn, order: str, at_hand: PlatesAtHand, leave_out: str) -> TapRules:
    names = [f"start of {order[0]}", *(f"{a}/{b}" for a, b in pairwise(order)), f"end of {order[-1]}"]
    joints = at_hand.joints
    present: dict[str, int] = {}
    if len(joints) >= len(names) and draw(st.booleans()):
        places = draw(st.lists(st.sampled_from(joints), min_size=len(names), max_size=len(names), unique=True))
        present = dict(zip(names, sorted(places), strict=True))
        if len(order) > 1 and draw(st.integers(0, 3)) == 0:
            joint = present.pop(names[1])
            present[f"end of {order[0]}"] = joint
            present[f"start of {order[1]}"] = draw(st.sampled_from([j for j in joints if j >= joint]))
    return TapRules(
        sides=frozenset(draw(st.sampled_from((("terminal side",), ("terminal side", "far side"), ("far side",))))),
        forbidden=frozenset(draw(st.sets(st.sampled_from(joints), max_size=2))),
        box_ends_only=draw(st.integers(0, 7)) == 0,
        present=present,
        fixed=frozenset(draw(st.sets(st.sampled_from(sorted(present)), max_size=2)) if present else ()),
        most_moves=draw(st.sampled_from((None, 0, 1, 2))) if present else None,
        may_jump=draw(st.booleans()),
        leave_out=leave_out,  # type: ignore[arg-type]
    )


class Plain:
    """The rules read once more, word for word."""

    def __init__(self, question: Question) -> None:
        self.question, self.rules = question, question.rules
        self.order, self.steps = question.section_order, question.plates.steps
        self.joints = question.plates.joints

    def open(self, joint: int, *names: str) -> bool:
        rules = self.rules
        held = [name for name in names if name in rules.fixed]
        if joint in rules.forbidden or any(rules.present[name] != joint for name in held):
            return False
        if any(rules.present.get(name) == joint for name in names):
            return True
        if rules.box_ends_only and joint not in self.question.plates.box_ends:
            return False
        return bool(self.question.plates.sides[joint] & rules.sides)

    def inside(self, first: int, last: int) -> list[int]:
        return [n for n, step in enumerate(self.steps) if first < step.last <= last]

    def sound(self, first: int, last: int) -> int:
        return sum(self.steps[n].ohm > 0.0 and not self.steps[n].dead for n in self.inside(first, last))

    def section_ok(self, name: str, first: int, last: int) -> bool:
        inside = [self.steps[n] for n in self.inside(first, last)]
        need = self.question.needs_a.get(name, 0.0)
        rated = [s.current_a for s in inside if s.current_a is not None and s.in_circuit and not s.dead]
        weak = any(current_a < need - 1e-6 for current_a in rated)
        dead = any(step.dead for step in inside) and not self.rules.may_jump
        return last > first and self.sound(first, last) > 0 and not weak and not dead

    def apart(self, a: str, b: str) -> bool:
        """Whether sections may end and begin at different joints."""
        present, end, start = self.rules.present, f"end of {a}", f"start of {b}"
        if self.rules.leave_out == "anywhere" or (not self.rules.may_jump and any(s.dead for s in self.steps)):
            return True
        return end in present and start in present and present[end] != present[start]

    def arrangements(self, done: Spans = ()) -> Iterator[Spans]:
        n = len(done)
        if n == len(self.order):
            if self.rules.leave_out != "nowhere" or self.sound(done[-1][1], self.joints[-1]) == 0:
                yield done
            return
        name = self.order[n]
        for first in self.beginnings(done):
            for last in self.joints:
                if self.section_ok(name, first, last) and self.end_open(n, last):
                    yield from self.arrangements((*done, (first, last)))

    def beginnings(self, done: Spans) -> Iterator[int]:
        name = self.order[len(done)]
        if not done:
            for joint in self.joints:
                if self.open(joint, f"start of {name}") and not (
                    self.rules.leave_out == "nowhere" and self.sound(0, joint)
                ):
                    yield joint
            return
        before, here = self.order[len(done) - 1], done[-1][1]
        if not self.apart(before, name):
            yield here
            return
        for joint in self.joints:
            idle = self.rules.leave_out == "anywhere" or self.sound(here, joint) == 0
            if joint >= here and idle and self.open(joint, f"{before}/{name}", f"start of {name}"):
                yield joint

    def end_open(self, n: int, joint: int) -> bool:
        if n + 1 == len(self.order):
            return self.open(joint, f"end of {self.order[n]}")
        a, b = self.order[n], self.order[n + 1]
        names = (f"{a}/{b}", f"end of {a}") if self.apart(a, b) else (f"{a}/{b}", f"end of {a}", f"start of {b}")
        return self.open(joint, *names)

    def moved(self, spans: Spans) -> set[str]:
        at = {f"start of {self.order[0]}": (spans[0][0],), f"end of {self.order[-1]}": (spans[-1][1],)}
        for (a, b), (left, right) in zip(pairwise(self.order), pairwise(spans), strict=True):
            at |= {f"end of {a}": (left[1],), f"start of {b}": (right[0],), f"{a}/{b}": (left[1], right[0])}
        return {name for name, joint in self.rules.present.items() if any(own != joint for own in at[name])}

    def errors(self, spans: Spans) -> tuple[float, ...]:
        section_ohm = {
            name: fsum(self.steps[n].ohm for n in self.inside(*span) if not self.steps[n].dead)
            for name, span in zip(self.order, spans, strict=True)
        }
        return tuple(target.error(ohms(target.run, section_ohm)) for target in self.question.targets)

    def unused(self, spans: Spans) -> list[int]:
        used = {n for span in spans for n in self.inside(*span) if not self.steps[n].dead}
        idle = [step for n, step in enumerate(self.steps) if n not in used and step.in_circuit]
        return [plate for step in idle for plate in range(step.first, step.last + 1)]

    def best(self) -> tuple[Spans, tuple[float, ...]] | None:
        most = self.rules.most_moves
        all_of_them = [s for s in self.arrangements() if most is None or len(self.moved(s)) <= most]
        tried = [(spans, self.errors(spans)) for spans in all_of_them]
        kept = [pair for pair in tried if self.tolerable(pair[1])] or tried
        if not kept:
            return None
        least = min(worst(errors) for _, errors in kept)
        kept = [pair for pair in kept if worst(pair[1]) <= least + 1e-9]
        squares = min(squared(errors) for _, errors in kept)
        kept = [pair for pair in kept if squared(pair[1]) <= squares + 1e-12]
        return min(kept, key=lambda pair: self.key(pair[0]))

    def tolerable(self, errors: tuple[float, ...]) -> bool:
        return all(
            abs(e) <= target.tolerance + ROUNDING for e, target in zip(errors, self.question.targets, strict=True)
        )

    def key(self, spans: Spans) -> tuple[int, int, int, Spans]:
        gaps = sum(left[1] != right[0] for left, right in pairwise(spans))
        return len(self.moved(spans)), len(self.unused(spans)), gaps, spans


def worst(errors: tuple[float, ...]) -> float:
    return max(map(abs, errors))


def squared(errors: tuple[float, ...]) -> float:
    return sum(error**2 for error in errors)


def spans_of(answer: Answer) -> Spans:
    return tuple((span.from_joint, span.to_joint) for span in answer.spans)


@settings(max_examples=EXAMPLES)
@given(questions())
def test_the_answer_is_that_of_plain_enumeration(question: Question) -> None:
    plain = Plain(question)
    if set(plain.rules.forbidden) & {plain.rules.present[name] for name in plain.rules.fixed}:
        with pytest.raises(InputError, match="forbidden"):
            best_taps(question)
        return
    expected = plain.best()
    if expected is None:
        with pytest.raises(InputError, match=r"no arrangement|cannot be made"):
            best_taps(question)
        return
    answer = best_taps(question, time_limit_s=inf)
    spans, errors = expected
    assert answer.proved
    assert (spans_of(answer), answer.errors, answer.worst_error) == (spans, errors, worst(errors))
    assert set(answer.moved) == plain.moved(spans)
    assert sorted(answer.bypassed) == plain.unused(spans)
    assert answer.bound <= answer.worst_error <= answer.bound + 1e-9


# --- exchanges: every set of them tried, each with every arrangement of taps ------------------------------------------

Made = tuple[tuple[int, int], ...]
"""Places that change: (plate, plate), or (plate, minus the number of a spare)."""


@st.composite
def exchange_questions(draw: st.DrawFn) -> Question:
    """A question on very few plates, with swaps, spares, dead, idle, weak and joined plates, and every rule."""
    count, box = draw(st.integers(3, 6)), draw(st.sampled_from((3, 6)))
    states = ("in circuit",) * 6 + ("dead", "not in circuit", "cracked")
    row = tuple(
        PlateAtHand(
            n // box + 1, n % box + 1, "P", draw(st.integers(40, 110)) / 1000.0, 0.0, draw(st.sampled_from(states)),
            draw(st.sampled_from((None, None, 40.0, 80.0))), draw(st.sampled_from((0, 0, 0, 0, 1))),
        )
        for n in range(count)
    )  # fmt: skip
    at_hand = PlatesAtHand(row, draw(st.sampled_from((0.0, 0.0002))))
    order = "AB"[: draw(st.integers(1, 2))]
    whole = 0.07 * count
    targets = []
    for n, run in enumerate(draw(st.lists(st.sampled_from(runs(order)), min_size=1, max_size=3))):
        share = ohms(run, dict.fromkeys(order, whole / len(order))) * draw(st.integers(60, 140)) / 100.0
        weight, other = draw(st.sampled_from((1.0, 2.0))), draw(st.sampled_from((0.0, 0.3)))
        tolerance = draw(st.sampled_from((0.02, 0.05, 0.2)))
        targets.append(NotchTarget(str(n), run, other + weight * share, other, weight, tolerance))
    leave_out = draw(st.sampled_from(("nowhere", "at the ends", "anywhere")))
    sizes = draw(st.lists(st.integers(40, 110), max_size=2))
    rules = replace(
        draw(tap_rules(order, at_hand, leave_out)),
        may_swap=draw(st.booleans()),
        most_swaps=draw(st.sampled_from((None, None, 0, 1, 2))),
        spares=tuple(Spare(f"S{n}", "P", size / 1000.0, 0.0, 60.0 if n else None) for n, size in enumerate(sizes)),
        most_spares=draw(st.sampled_from((None, None, 0, 1))),
        worth=draw(st.sampled_from((1e-5, 1e-3, 0.02))),
    )
    return Question(at_hand, tuple(order), tuple(targets), rules, {order[0]: 60.0} if draw(st.booleans()) else {})


def every_exchange(question: Question, place: int = 1, made: Made = ()) -> Iterator[Made]:
    """All sets of exchanges the rules allow, no place touched twice."""
    plates, rules = question.plates.plates, question.rules
    if place > len(plates):
        swaps = sum(other > 0 for _, other in made)
        if swaps <= (swaps if rules.most_swaps is None else rules.most_swaps):
            yield made
        return
    yield from every_exchange(question, place + 1, made)
    plate, taken = plates[place - 1], {number for pair in made for number in pair}
    if place in taken or plate.joined or plate.state not in ("in circuit", "dead"):
        return
    fitted = sum(other < 0 for _, other in made)
    if fitted < (len(rules.spares) if rules.most_spares is None else rules.most_spares):
        for number in range(1, len(rules.spares) + 1):
            if -number not in taken:
                yield from every_exchange(question, place + 1, (*made, (place, -number)))
    if rules.may_swap and plate.state == "in circuit":
        for other, second in enumerate(plates[place:], start=place + 1):
            if second.state == "in circuit" and not second.joined and other not in taken:
                yield from every_exchange(question, place + 1, (*made, (place, other)))


def after(question: Question, made: Made) -> Question:
    """The question of taps alone once all is done."""
    row, rules = list(question.plates.plates), question.rules
    for place, other in made:
        own = row[place - 1]
        if other > 0:
            second = row[other - 1]
            row[place - 1] = replace(second, box=own.box, position=own.position)
            row[other - 1] = replace(own, box=second.box, position=second.position)
        else:
            spare = rules.spares[-other - 1]
            row[place - 1] = replace(own, ohm=spare.ohm, current_a=spare.current_a, state="in circuit")
    bare = replace(rules, may_swap=False, spares=())
    return replace(question, plates=PlatesAtHand(tuple(row), question.plates.joint_ohm), rules=bare)


@settings(max_examples=EXAMPLES // 10)
@given(exchange_questions())
def test_with_exchanges_the_answer_is_that_of_plain_enumeration(question: Question) -> None:
    """Tolerances first, then the worst error with ``worth`` added for each exchange; on the order that comes out every
    figure must be that of plain enumeration, digit for digit. Once as it is, once with nothing found downhill, so that
    going through all of them has to find it."""
    plain = Plain(question)
    if set(plain.rules.forbidden) & {plain.rules.present[name] for name in plain.rules.fixed}:
        return
    tried = []
    for made in every_exchange(question):
        there = Plain(after(question, made))
        found = there.best()
        if found is not None:
            tried.append((not there.tolerable(found[1]), worst(found[1]) + len(made) * question.rules.worth))
    if not tried:
        with pytest.raises(InputError, match=r"no arrangement|cannot be made"):
            best_taps(question)
        return
    check_exchanges(question, best_taps(question, time_limit_s=inf), min(tried))
    with patch("griddesign.retaps.downhill.steepest", lambda _order, _answer: None):
        check_exchanges(question, best_taps(question, time_limit_s=inf), min(tried))


def check_exchanges(question: Question, answer: Answer, best: tuple[bool, float]) -> None:
    """The answer against whether the best of all misses a tolerance, and what it comes to."""
    numbers = {spare.name: -number for number, spare in enumerate(question.rules.spares, start=1)}
    done = (*answer.swaps, *((place, numbers[name]) for name, place in answer.spares))
    there = Plain(after(question, done))
    assert set(done) <= {pair for made in every_exchange(question) for pair in made}
    assert there.best() == (spans_of(answer), answer.errors)
    assert answer.exchange_cost == pytest.approx(len(done) * question.rules.worth, abs=1e-15)
    assert answer.proved
    misses, cost = best
    assert there.tolerable(answer.errors) != misses
    assert abs(answer.reached - cost) <= 2e-9
    assert answer.bound <= cost + 1e-12
