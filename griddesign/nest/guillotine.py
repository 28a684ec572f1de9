"""Filling a sheet by straight cuts right through: the best of all such layouts, by dynamic programming.

A rectangle is either filled with one unit repeated, or parted by a cut along or across. Cuts need only be tried at sums
of the lengths that units can take (normal patterns: J. C. Herz, Recursive computational procedure for two-dimensional
stock cutting, IBM J. Res. Dev. 16, 1972, pp. 462-469; N. Christofides and C. Whitlock, An algorithm for
two-dimensional cutting problems, Oper. Res. 25, 1977, pp. 30-44), and every rectangle may be shrunk to the largest such
sums inside it. Lengths are whole micrometres here, so sums are exact. Where there are too many sums only those of the
fewest pieces are tried, and the layout is not called exact.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import floor
from typing import TYPE_CHECKING

from griddesign.errors import InputError
from griddesign.nest.records import Pattern, Place, Stock, Unit
from griddesign.nest.units import GRAIN_M

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Whole = NDArray[np.int64]

MOST_SUMS = 260
"""Cutting positions tried along one side; with more the layout is no longer called exact."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """A unit in whole micrometres, web included: the first takes ``first``, each further one ``step`` more."""

    unit: Unit
    first: tuple[int, int]
    step: tuple[int, int]

    def fit(self, room: int, side: int) -> int:
        """How many of it fit into a length."""
        return 0 if room < self.first[side] else 1 + (room - self.first[side]) // self.step[side]


def fill(stock: Stock, units: Sequence[Unit]) -> Pattern:
    """The layout of most plates, with its bound. Raises InputError where not one plate fits, or thousands would."""
    web = _whole(stock.web_m)
    kinds = [_kind(unit, web) for unit in units]
    sheet = tuple(floor((size_m - 2 * stock.margin_m) / GRAIN_M + 1e-6) + web
                  for size_m in (stock.length_m, stock.width_m))  # fmt: skip
    if not any(kind.fit(sheet[0], 0) and kind.fit(sheet[1], 1) for kind in kinds):
        _refuse(stock, units)
    sums = [_sums(kinds, side, sheet[side]) for side in (0, 1)]
    table = _Table(kinds, sums[0][0], sums[1][0])
    places = tuple(
        place.shifted(stock.margin_m, stock.margin_m) for place in table.places(len(table.x) - 1, len(table.y) - 1)
    )
    return Pattern(places, max(_bound(kinds, table), len(places)), sums[0][1] and sums[1][1])


def _kind(unit: Unit, web: int) -> _Kind:
    first = (_whole(unit.wide_m) + web, _whole(unit.high_m) + web)
    return _Kind(unit, first, (_whole(unit.step_x_m), _whole(unit.step_y_m)))


def _whole(length_m: float) -> int:
    return round(length_m / GRAIN_M)


def _sums(kinds: Sequence[_Kind], side: int, limit: int) -> "tuple[Whole, bool]":
    """Every sum of lengths units take, up to ``limit``, from 0; and whether these are all."""
    import numpy as np

    pieces = np.unique([
        kind.first[side] + k * kind.step[side] for kind in kinds for k in range(kind.fit(limit, side))
    ]).astype(np.int64)  # fmt: skip
    if len(pieces) > MOST_SUMS:
        raise InputError(
            f"{len(pieces)} plates and more lie side by side on this sheet", hint="Nest on a smaller sheet."
        )
    found = np.concatenate([np.zeros(1, np.int64), pieces])
    while True:
        more = np.unique(np.concatenate([found, (found[:, None] + pieces).ravel()]))
        more = more[more <= limit]
        if len(more) == len(found) or len(more) > MOST_SUMS:
            return found, len(more) == len(found)
        found = more


class _Table:
    """Most plates in every rectangle of sums: ``best[i, j]`` in ``x[i]`` by ``y[j]``."""

    def __init__(self, kinds: Sequence[_Kind], x: "Whole", y: "Whole") -> None:
        import numpy as np

        self.kinds, self.x, self.y = kinds, x, y
        self.x_cuts, self.y_cuts = _cuts(x), _cuts(y)
        self.best = np.max([_filled(kind, x, y) for kind in kinds], axis=0)
        for i, (one, other) in enumerate(self.x_cuts):
            row = self.best[i]
            if len(one):
                np.maximum(row, (self.best[one] + self.best[other]).max(axis=0), out=row)
            for j, (low, high) in enumerate(self.y_cuts):
                if len(low):
                    row[j] = max(row[j], (row[low] + row[high]).max())

    def places(self, i: int, j: int, x: int = 0, y: int = 0) -> Iterator[Place]:
        """Where the plates of one rectangle lie, its corner at (x, y)."""
        best = int(self.best[i, j])
        if best == 0:
            return
        kind = next((kind for kind in self.kinds if _count(kind, self.x[i], self.y[j]) == best), None)
        if kind is not None:
            yield from _grid(kind, int(self.x[i]), int(self.y[j]), x, y)
            return
        for one, other in zip(*self.x_cuts[i], strict=True):
            if self.best[one, j] + self.best[other, j] == best:
                yield from self.places(one, j, x, y)
                yield from self.places(other, j, x + int(self.x[one]), y)
                return
        low, high = next(
            (low, high)
            for low, high in zip(*self.y_cuts[j], strict=True)
            if self.best[i, low] + self.best[i, high] == best
        )
        yield from self.places(i, low, x, y)
        yield from self.places(i, high, x, y + int(self.y[low]))


def _cuts(sums: "Whole") -> "list[tuple[Whole, Whole]]":
    """For every length the cuts worth trying: the shorter part a sum, the rest shrunk to one."""
    import numpy as np

    cuts = []
    for length in sums:
        one = np.arange(1, np.searchsorted(sums, length // 2, side="right"))
        cuts.append((one, np.searchsorted(sums, length - sums[one], side="right") - 1))
    return cuts


def _filled(kind: _Kind, x: "Whole", y: "Whole") -> "Whole":
    import numpy as np

    counts = [
        np.where(sums < first, 0, 1 + (sums - first) // step)
        for sums, first, step in zip((x, y), kind.first, kind.step, strict=True)
    ]
    filled: Whole = len(kind.unit.places) * counts[0][:, None] * counts[1][None, :]
    return filled


def _count(kind: _Kind, wide: int, high: int) -> int:
    return len(kind.unit.places) * kind.fit(wide, 0) * kind.fit(high, 1)


def _grid(kind: _Kind, wide: int, high: int, x: int, y: int) -> Iterator[Place]:
    for column in range(int(kind.fit(wide, 0))):
        for row in range(int(kind.fit(high, 1))):
            at = (x + column * kind.step[0]) * GRAIN_M, (y + row * kind.step[1]) * GRAIN_M
            yield from (place.shifted(*at) for place in kind.unit.places)


def _bound(kinds: Sequence[_Kind], table: _Table) -> int:
    """Area of the largest sums inside the sheet over the smallest area that a plate takes: no layout of the units,
    however cut, holds more."""
    areas = (kind.step[0] * kind.step[1] / len(kind.unit.places) for kind in kinds)
    return floor(int(table.x[-1]) * int(table.y[-1]) / min(areas) * (1 + 1e-12))


def _refuse(stock: Stock, units: Sequence[Unit]) -> None:
    sizes = " or ".join(f"{1000 * unit.wide_m:.4g} x {1000 * unit.high_m:.4g} mm" for unit in units[:1])
    raise InputError(
        f"a plate of {sizes} does not go on a sheet of {1000 * stock.length_m:.6g} x {1000 * stock.width_m:.6g} mm "
        f"with {1000 * stock.margin_m:.4g} mm kept along its edges",
        hint="Take a larger sheet, or give a smaller margin.",
    )
