"""The next exchange downhill: with the taps held, the one that takes most off the errors.

Errors are put together by their eighth-power mean, which the worst rules but the next worst still moves.
"""

import numpy as np

from griddesign.retaps.moves import Floats, moves_on, notch_errors
from griddesign.retaps.orders import Order
from griddesign.retaps.records import Answer

_POWER = 8


def steepest(order: Order, answer: Answer) -> Order | None:
    """The order after that exchange; None where none takes anything off, or none is left."""
    if not (order.swaps_left or order.spares_left):
        return None
    moves = moves_on(order, _section_of(answer))
    if not len(moves):
        return None
    ohm = np.array([span.cold_ohm for span in answer.spans])
    means = _mean_errors(order, np.vstack((ohm, ohm + moves.change)))
    at = int(np.argmin(means[1:]))
    return order.after(moves.exchange(at)) if means[at + 1] < means[0] else None


def _section_of(answer: Answer) -> dict[int, int]:
    """Number of the section each plate is in."""
    return {
        plate: number
        for number, span in enumerate(answer.spans)
        for plate in range(span.from_joint + 1, span.to_joint + 1)
    }


def _mean_errors(order: Order, section_ohm: Floats) -> Floats:
    errors = notch_errors(order.asked, section_ohm)
    return np.asarray((errors**_POWER).sum(axis=1) ** (1.0 / _POWER))
