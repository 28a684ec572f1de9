"""Orders of plates that exchanges make of those found, and what they cost.

An exchange is of two plates, or of a plate and a spare; no place is touched twice, so they may be made in any order.
Plates side by side, idle and cracked ones stay where they are; a spare may take the place of a dead plate too.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations, permutations
from math import inf

from griddesign.retaps.board import KEEPS, SAME_ERROR
from griddesign.retaps.records import Answer, PlateAtHand, PlatesAtHand, Question, Spare


@dataclass(frozen=True, slots=True)
class Exchange:
    """Plate ``first`` changes places with ``second``, or goes to the shelf for ``spare`` (``second`` is 0)."""

    first: int
    second: int = 0
    spare: Spare | None = None


@dataclass(frozen=True)
class Order:
    """Plates as they stand after the exchanges ``made``; the rules of ``asked`` are those of the whole question."""

    asked: Question
    plates: PlatesAtHand
    made: tuple[Exchange, ...] = ()

    @property
    def fixed(self) -> Question:
        """The question of taps on this order as it stands."""
        rules = replace(self.asked.rules, may_swap=False, spares=())
        return replace(self.asked, plates=self.plates, rules=rules)

    @property
    def cost(self) -> float:
        """What the exchanges must have gained, as a share of the current."""
        return len(self.made) * self.asked.rules.worth

    @cached_property
    def touched(self) -> frozenset[int]:
        """Plates that have changed places."""
        return frozenset(number for one in self.made for number in (one.first, one.second) if number)

    @cached_property
    def movable(self) -> tuple[int, ...]:
        """Plates that may still change places or go to the shelf."""
        numbered = enumerate(self.plates.plates, start=1)
        return tuple(number for number, plate in numbered if movable(plate) and number not in self.touched)

    @cached_property
    def shelf(self) -> tuple[Spare, ...]:
        """Spares not yet used."""
        used = [one.spare.name for one in self.made if one.spare]
        return tuple(spare for spare in self.asked.rules.spares if spare.name not in used)

    @cached_property
    def swaps_left(self) -> int:
        """Exchanges of two plates that may still be made."""
        rules, pairs = self.asked.rules, len(self.movable) // 2
        done = sum(1 for one in self.made if one.second)
        if not rules.may_swap:
            return 0
        return pairs if rules.most_swaps is None else max(min(pairs, rules.most_swaps - done), 0)

    @cached_property
    def spares_left(self) -> int:
        """Spares that may still be fitted."""
        rules, done = self.asked.rules, sum(1 for one in self.made if one.spare)
        return len(self.shelf) if rules.most_spares is None else max(min(len(self.shelf), rules.most_spares - done), 0)

    def after(self, *exchanges: Exchange) -> "Order":
        """The order once these are made too."""
        row = list(self.plates.plates)
        for one in exchanges:
            _exchange(row, one)
        return replace(self, plates=PlatesAtHand(tuple(row), self.plates.joint_ohm), made=(*self.made, *exchanges))


def _exchange(row: list[PlateAtHand], exchange: Exchange) -> None:
    own, new = row[exchange.first - 1], exchange.spare
    if new is not None:
        row[exchange.first - 1] = replace(
            own, kind=new.kind, ohm=new.ohm, half_width_ohm=new.half_width_ohm, current_a=new.current_a,
            state="in circuit",
        )  # fmt: skip
        return
    other = row[exchange.second - 1]
    row[exchange.first - 1] = replace(other, box=own.box, position=own.position)
    row[exchange.second - 1] = replace(own, box=other.box, position=other.position)


def movable(plate: PlateAtHand) -> bool:
    """Whether a plate may change places."""
    return plate.state == "in circuit" and plate.joined == 0


def orders_of_dead(question: Question) -> Iterator[Order]:
    """The order as found, then spares in the places of dead plates that stand alone, in every way, fewest first."""
    found = Order(question, question.plates)
    numbered = enumerate(question.plates.plates, start=1)
    dead = [number for number, plate in numbered if plate.state == "dead" and plate.joined == 0]
    for count in range(min(len(dead), found.spares_left) + 1):
        for places in combinations(dead, count):
            for spares in permutations(question.rules.spares, count):
                yield found.after(*(Exchange(at, spare=one) for at, one in zip(places, spares, strict=True)))


class Best:
    """The best order and taps so far: notches within their tolerance first, then the worst error and the cost together.

    ``answer`` is that of the taps on ``order``; None before the first.
    """

    def __init__(self, question: Question) -> None:
        self.targets, self.worth = question.targets, question.rules.worth
        self.tolerances = [target.tolerance for target in question.targets]
        self.order: Order | None = None
        self.answer: Answer | None = None
        self.misses, self.cost = True, inf

    def offer(self, order: Order, answer: Answer) -> bool:
        """Keep the order where it is better."""
        over = (abs(error) > most + KEEPS for error, most in zip(answer.errors, self.tolerances, strict=True))
        misses, cost = any(over), answer.worst_error + order.cost
        if (misses, cost) >= (self.misses, self.cost - (SAME_ERROR if misses == self.misses else 0.0)):
            return False
        self.order, self.answer, self.misses, self.cost = order, answer, misses, cost
        return True

    def room(self, exchanges: int) -> float:
        """Worst error below which so many exchanges are better; may be below 0."""
        return self.cost - exchanges * self.worth - SAME_ERROR

    def bands(self, exchanges: int) -> list[float]:
        """Error each notch may have at most for so many exchanges to be better."""
        room = max(self.room(exchanges), 0.0)
        return [max(own, room) if self.misses else min(own, room) for own in self.tolerances]

    def stands(self, least_error: float, exchanges: int) -> bool:
        """Whether nothing with so many exchanges can be better, as no worst error is below ``least_error``."""
        hopeless = not self.misses or least_error > max(self.tolerances, default=inf)
        return hopeless and least_error >= self.room(exchanges)
