"""Values along straight lines between points, for one temperature or a whole array of them."""

from bisect import bisect_right
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, overload

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Points = tuple[float, ...]
Outside = Literal["slope", "flat"]


@overload
def along(xs: Points, ys: Points, x: float, outside: Outside) -> float: ...
@overload
def along(xs: Points, ys: Points, x: "Array", outside: Outside) -> "Array": ...
def along(xs: Points, ys: Points, x: "float | Array", outside: Outside) -> "float | Array":
    """The polyline through (xs, ys) at ``x``; beyond its ends it goes on with the last slope, or stays flat.

    One number goes through plain Python, so a scalar caller never loads numpy; an array gives an array of its shape.
    The arithmetic is the same, digit for digit.
    """
    if isinstance(x, (int, float)):
        return _along_scalar(xs, ys, x, outside)
    return _along_array(xs, ys, x, outside)


def _along_scalar(xs: Points, ys: Points, x: float, outside: Outside) -> float:
    if outside == "flat":
        x = min(max(x, xs[0]), xs[-1])
    piece = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
    x0, y0 = xs[piece], ys[piece]
    return y0 + (x - x0) * ((ys[piece + 1] - y0) / (xs[piece + 1] - x0))


def _along_array(xs: Points, ys: Points, x: "Array", outside: Outside) -> "Array":
    import numpy as np

    knots, values, slopes = _as_arrays(xs, ys)
    if outside == "flat":
        x = np.clip(x, xs[0], xs[-1])
    piece = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(xs) - 2)
    result: Array = values[piece] + (x - knots[piece]) * slopes[piece]
    return result


@lru_cache(maxsize=256)
def _as_arrays(xs: Points, ys: Points) -> "tuple[Array, Array, Array]":
    import numpy as np

    knots, values = np.array(xs, dtype=float), np.array(ys, dtype=float)
    return knots, values, np.diff(values) / np.diff(knots)
