"""Makes the tables of ``griddesign/plate/tabled.py``: solves return bends and eyes in two dimensions and fits series.

Run it by hand: ``python tests/make_cell_tables.py``; it takes some minutes and prints the module's tables, the widest
bracket of the solutions and the worst miss of the series, where it was fitted and at other points.
"""

from collections.abc import Callable, Iterator
from itertools import product

import numpy as np

from griddesign.plate import cells, tabled
from griddesign.plate.hairpin import hairpin_squares
from griddesign.plate.shapes import Eye, Zigzag

EYE_BRACKET, BEND_BRACKET = 3e-5, 1e-5
EYE_TERMS, BEND_TERMS = (9, 8, 8), (9, 6)
MORE = {3: 1, 2: 5}  # solutions along each side beyond the terms, or the series would follow their grain
WITHIN = (
    1.25  # of the sum of degrees over their number of terms: the corner of the table beyond it is nothing but grain
)
TRIALS = 60


def solved_eye(hole: float, web: float, fillet: float) -> tuple[float, float]:
    """Squares less the reach, and their bracket, strip widths for unit."""
    ring = Eye(hole + 2 * web, hole, 100.0, 0.0, fillet)
    reach = max(ring.meets(0.5), hole / 2) + 0.3
    found = cells.solve_eye(Eye(hole + 2 * web, hole, reach, 0.0, fillet), EYE_BRACKET)
    return found.value - reach, found.high - found.low


def solved_bend(gap: float, round_share: float) -> tuple[float, float]:
    """What fillets of that share of half the gap save, over (fillet/width)^(4/3), and the bracket of the squares."""
    fillet = round_share * gap / 2
    shape = Zigzag(50.0, 2, 1.0, gap, 1.0, Eye(1.0, 0.5, 1.0), "one edge", fillet_m=fillet)
    found = cells.solve_bend(shape, 0, BEND_BRACKET)
    return (hairpin_squares(gap) - found.value) / fillet ** (4 / 3), found.high - found.low


def nodes(terms: int) -> np.ndarray:
    return np.cos(np.pi * (np.arange(terms) + 0.5) / terms)


def places(terms: tuple[int, ...]) -> list[tuple[int, ...]]:
    """The products of Chebyshev polynomials that are kept."""
    every = product(*map(range, terms))
    return [one for one in every if sum(at / count for at, count in zip(one, terms, strict=True)) < WITHIN]


def products(at: np.ndarray, terms: tuple[int, ...]) -> np.ndarray:
    columns = [np.polynomial.chebyshev.chebvander(at[:, k], count - 1) for k, count in enumerate(terms)]
    kept = places(terms)
    return np.stack([np.prod([c[:, n] for c, n in zip(columns, one, strict=True)], axis=0) for one in kept], axis=1)


def fitted(
    name: str,
    terms: tuple[int, ...],
    at: Callable[[np.ndarray], tuple[float, ...]],
    solve: Callable[..., tuple[float, float]],
    weight: Callable[..., float],
) -> Iterator[str]:
    grid = np.array(list(product(*(nodes(count + MORE[len(terms)]) for count in terms))))
    trials = np.random.default_rng(7).uniform(-1, 1, (TRIALS, len(terms)))
    values, brackets = np.array([solve(*at(one)) for one in grid]).T
    each = np.array([weight(*at(one)) for one in grid])
    series, *_ = np.linalg.lstsq(products(grid, terms) * each[:, None], values * each, rcond=None)
    series = np.round(series, 7)
    expected, beside = np.array([solve(*at(one)) for one in trials]).T
    missed = (products(trials, terms) @ series - expected) * [weight(*at(one)) for one in trials]
    own = (products(grid, terms) @ series - values) * each
    yield f"# {name}: brackets up to {max(brackets.max(), beside.max()):.2e}"
    yield f"# misses: fitted {np.abs(own).max():.2e}, trials {np.abs(missed).max():.2e}"
    table = np.zeros(terms)
    for place, value in zip(places(terms), series, strict=True):
        table[place] = value
    for row in table.reshape(-1, terms[-1]):
        last = int(np.max(np.flatnonzero(row), initial=-1)) + 1
        yield f"    ({', '.join(str(round(1e7 * value)) for value in row[:last])}{',' if last == 1 else ''}),"


def main() -> None:
    """Print both tables."""
    print(*fitted("eye", EYE_TERMS, tabled.eye_at, solved_eye, lambda *_: 1.0), sep="\n", flush=True)
    print(
        *fitted("bend", BEND_TERMS, tabled.bend_at, solved_bend, lambda gap, share: (share * gap / 2) ** (4 / 3)),
        sep="\n",
    )


if __name__ == "__main__":
    main()
