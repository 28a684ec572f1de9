"""Plates that may change places, and spares that may stand in: the best of all ways, or how far it may be from it.

Each exchange costs somebody an evening: it is made only where it takes ``worth`` off the worst notch. So what is made
least is the worst error with ``worth`` added for every exchange, notches within their tolerance first. First downhill,
one exchange at a time; then every way to make one exchange, two, three … is gone through, until so many cost more than
they could gain. That is known from ``exactly.least_error``, from ``relaxed``, or because no error is below nothing.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from math import inf
from time import monotonic

from griddesign.errors import InputError, OutOfTime
from griddesign.progress import at
from griddesign.retaps.board import has_taps
from griddesign.retaps.orders import Best, Order, orders_of_dead
from griddesign.retaps.records import Answer, Question

Search = Callable[[Question, float], Answer]

_EACH, _STANDING, _DOWNHILL, _THROUGH = 0.2, 0.45, 0.55, 0.8
"""Shares of the time: for the taps of one order; until when orders are tried as they stand, gone downhill from, and
gone through. What is left is for the bound."""
_MOST_BOUNDS = 20


def exchanged(question: Question, search: Search, time_limit_s: float) -> Answer:
    """The best found with exchanges. ``search`` finds taps for a fixed order within so many seconds.

    Raises InputError where no arrangement is possible, with or without exchanges.
    """
    import scipy.optimize  # noqa: F401 - loaded before the clock starts: a slow disk is no part of the search

    return _Exchanging(question, search, time_limit_s).answer()


class _Exchanging:
    """One question being worked out."""

    def __init__(self, question: Question, search: Search, time_limit_s: float) -> None:
        self.question, self.search, self.limit_s = question, search, time_limit_s
        self.started = monotonic()
        self.best = Best(question)
        self.refused: InputError | None = None
        self.open: list[float] = []
        self.relaxed: float | None = None

    def answer(self) -> Answer:
        """All of it."""
        orders = self._as_they_stand()
        self._downhill()
        for number in range(1, self._most(orders) + 1):
            if self._stands(number):
                break
            if not self._through(orders, number):
                self.open += self._open_costs(orders, number)
                break
        return self._told()

    def _left(self) -> float:
        return max(self.started + self.limit_s - monotonic(), 0.05)

    def _late(self, share: float) -> bool:
        return monotonic() > self.started + share * self.limit_s

    def _offer(self, order: Order) -> Answer | None:
        """The best taps on an order, kept where they are better; None where there are none. No order may take all the
        time there is. Which rule bites is asked once: it takes several times as long."""
        if self.refused is not None and not has_taps(order.fixed):
            return None
        try:
            answer = self.search(order.fixed, min(self._left(), max(_EACH * self.limit_s, 0.05)))
        except InputError as error:
            self.refused = self.refused or error
            return None
        self.best.offer(order, answer)
        return answer

    def _take(self, order: Order) -> bool:
        """Offer an order; whether it has any taps. Where time was up before its best were known, it may still be better
        than it looks."""
        answer = self._offer(order)
        if answer is not None and not answer.proved:
            self.open.append(answer.bound + order.cost)
        return answer is not None

    def _as_they_stand(self) -> list[Order]:
        """The plates as found, and with spares for the dead, each with its best taps. Where spares in some places leave
        no taps whatever plates may carry, no other spares there will do either."""
        orders: list[Order] = []
        hopeless: set[frozenset[int]] = set()
        for order in orders_of_dead(self.question):
            if self._late(_STANDING) and (orders or hopeless):
                self.open.append(order.cost)
                break
            if order.touched in hopeless:
                continue
            if self._take(order) or has_taps(replace(order.fixed, needs_a={})):
                orders.append(order)
            else:
                hopeless.add(order.touched)
        return orders

    def _downhill(self) -> None:
        """From the best order, the exchange that takes most off the errors, as long as that is better."""
        from griddesign.retaps.downhill import steepest

        order, answer = self.best.order, self.best.answer
        while order is not None and answer is not None and not self._late(_DOWNHILL):
            further = steepest(order, answer)
            if further is None:
                return
            order, answer = further, self._offer(further)

    def _most(self, orders: list[Order]) -> int:
        return max((len(one.made) + one.swaps_left + one.spares_left for one in orders), default=0)

    def _stands(self, number: int) -> bool:
        """Whether so many exchanges or more cannot be better."""
        if self.best.stands(0.0, number):
            return True
        if number > 2 and self.relaxed is None:
            self.relaxed = self._relaxed(0.5)
        return self.relaxed is not None and self.best.stands(self.relaxed, number)

    def _relaxed(self, share: float) -> float:
        from griddesign.retaps.relaxed import least_error_of_any_exchange

        return float(least_error_of_any_exchange(self.question, monotonic() + share * self._left()))

    def _through(self, orders: list[Order], number: int) -> bool:
        """Go through every way to make so many exchanges in all; whether that was done in time."""
        from griddesign.retaps.exactly import exactly, least_error

        at(f"exchanges of plates: every way to make {number}, up to {self.limit_s:.3g} s")
        deadline = self.started + _THROUGH * self.limit_s
        for order in orders:
            further = number - len(order.made)
            if not 1 <= further <= order.swaps_left + order.spares_left:
                continue
            if self._late(_THROUGH):
                return False
            if self.best.stands(least_error(order, further, deadline), number):
                continue
            try:
                exactly(order, further, self.best, self._take, deadline)
            except OutOfTime:
                return False
        return True

    def _open_costs(self, orders: list[Order], number: int) -> Iterator[float]:
        """What so many exchanges, or more, may cost at least."""
        from griddesign.retaps.exactly import least_error

        relaxed = self._relaxed(0.7) if self.relaxed is None else self.relaxed
        for order in orders[:_MOST_BOUNDS]:
            for further in range(max(number - len(order.made), 1), order.swaps_left + order.spares_left + 1):
                least = least_error(order, further, self.started + self.limit_s)
                yield max(relaxed, least) + order.cost + further * self.best.worth
                if least <= relaxed or least == inf:
                    break  # more exchanges may only be less far off, but no more possible
        if len(orders) > _MOST_BOUNDS:
            yield relaxed + number * self.best.worth

    def _told(self) -> Answer:
        order, answer = self.best.order, self.best.answer
        if order is None or answer is None:
            assert self.refused is not None
            raise self._none_found(self.refused) if self.open else self.refused
        bound = float(min([self.best.cost, *self.open]))
        proved = not self.open or (not self.best.misses and bound >= self.best.room(0))
        return replace(
            answer,
            bound=self.best.cost if proved else bound,
            proved=proved,
            swaps=tuple((one.first, one.second) for one in order.made if one.second),
            spares=tuple((one.spare.name, one.first) for one in order.made if one.spare),
            exchange_cost=order.cost,
            seconds=monotonic() - self.started,
            note="" if proved else self._not_proved(),
        )

    def _none_found(self, as_found: InputError) -> InputError:
        """Time is up without any taps, though some exchanges were not gone through."""
        return InputError(
            f"no arrangement was found in {self.limit_s:.3g} s, and not every exchange of plates was gone through; of "
            f"the plates as they stand: {as_found.message}",
            hint="More time, fewer spares to choose from, or relax that rule.",
        )

    def _not_proved(self) -> str:
        if self.best.misses:
            return "time is up: more exchanges may still bring every notch within its tolerance"
        return "time is up before every way to exchange plates was gone through"
