"""Where a quantity that only rises or only falls stops being enough."""

from collections.abc import Callable

_CLOSE = 1e-12
_TURNS = 200


def last_good(spare: Callable[[float], float], good: float, bad: float) -> float:
    """The good end of a bracket 1e-12 wide (relative) around the place where ``spare`` turns negative.

    ``spare(good) >= 0 > spare(bad)``, monotone between, jumps allowed; either end may be the larger one, both above
    zero. False position with the weight of the end that stays halved (the Illinois rule), every third turn a plain
    halving, so that no shape of curve makes it slow.
    """
    over, under = spare(good), spare(bad)
    for turn in range(_TURNS):
        least_move = 0.4 * _CLOSE * max(good, bad)
        if abs(bad - good) <= _CLOSE * max(good, bad):
            break
        halve = turn % 3 == 2 or not over - under < float("inf")
        share = 0.5 if halve else over / (over - under)
        edge = least_move / abs(bad - good)
        trial = good + (bad - good) * min(max(share, edge), 1.0 - edge)
        left = spare(trial)
        if left >= 0.0:
            good, over, under = trial, left, under * (1.0 if halve else 0.5)
        else:
            bad, under, over = trial, left, over * (1.0 if halve else 0.5)
    return good
