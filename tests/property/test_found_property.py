"""Readings reconciled, held against a general least squares and against leaving each reading out in earnest."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.found.squares import Observation, critical, fitted, reconciled


@st.composite
def chains(draw: st.DrawFn) -> tuple[int, list[Observation], np.ndarray]:
    """Steps each read alone, and readings over runs of them, all off by a normal deviation."""
    steps = draw(st.integers(2, 12))
    seed = draw(st.integers(0, 2**32 - 1))
    dice = np.random.default_rng(seed)
    true = dice.uniform(0.02, 0.08, steps)
    runs = [(place,) for place in range(steps)]
    for _ in range(draw(st.integers(1, 6))):
        first = draw(st.integers(0, steps - 2))
        last = draw(st.integers(first + 1, steps - 1))
        runs.append(tuple(range(first, last + 1)))
    seen = []
    for run in runs:
        sigma = 0.002 * float(true[list(run)].sum())
        seen.append(Observation(run, float(true[list(run)].sum() + sigma * dice.standard_normal()), sigma))
    return steps, seen, true


def by_lstsq(steps: int, seen: list[Observation]) -> np.ndarray:
    rows = np.zeros((len(seen), steps))
    for row, one in enumerate(seen):
        rows[row, list(one.steps)] = 1.0 / one.sigma_ohm
    return np.linalg.lstsq(rows, np.array([one.ohm / one.sigma_ohm for one in seen]), rcond=None)[0]


@settings(max_examples=60)
@given(chains())
def test_the_fit_is_the_general_least_squares(case: tuple[int, list[Observation], np.ndarray]) -> None:
    steps, seen, _ = case
    assert np.allclose(fitted(steps, seen).ohm, by_lstsq(steps, seen), rtol=1e-9)


@settings(max_examples=40)
@given(chains())
def test_what_the_others_say_is_the_fit_without_the_reading(case: tuple[int, list[Observation], np.ndarray]) -> None:
    """The quick form against leaving the reading out in earnest, both what the others make of it and its sigma."""
    steps, seen, _ = case
    fit = fitted(steps, seen)
    for place, one in enumerate(seen):
        rest = seen[:place] + seen[place + 1 :]
        told = {step for other in rest for step in other.steps}
        if set(range(steps)) <= told and _determined(steps, rest):
            without = fitted(steps, rest)
            others = without.ohm[list(one.steps)].sum()
            assert np.isclose(fit.others_ohm[place], others, rtol=1e-7)
            assert np.isclose(fit.w[place], (one.ohm - others) / fit.off_sigma_ohm[place], rtol=1e-5, atol=1e-6)


def _determined(steps: int, seen: list[Observation]) -> bool:
    rows = np.zeros((len(seen), steps))
    for row, one in enumerate(seen):
        rows[row, list(one.steps)] = 1.0
    return bool(np.linalg.matrix_rank(rows) == steps)


@settings(max_examples=40)
@given(chains(), st.data())
def test_a_grossly_wrong_plate_is_thrown_out_with_what_cannot_be_told_from_it(
    case: tuple[int, list[Observation], np.ndarray], data: st.DataObject
) -> None:
    steps, seen, true = case
    covered = sorted({step for one in seen if len(one.steps) > 1 for step in one.steps})
    bad = data.draw(st.sampled_from(covered))
    seen[bad] = Observation((bad,), seen[bad].ohm + 0.5 * float(true.sum()), seen[bad].sigma_ohm)
    _, out = reconciled(steps, seen)
    assert out and any(bad in one.alike for one in out[:1])


def test_sound_files_are_rarely_accused() -> None:
    """One false alarm in a hundred: of 2000 files made with the very deviations assumed 20 are expected, sigma 4.5."""
    dice = np.random.default_rng(20261126)
    accused = 0
    for _ in range(2000):
        true = dice.uniform(0.03, 0.05, 8)
        runs = [*((place,) for place in range(8)), tuple(range(8)), (0, 1, 2, 3), (4, 5, 6, 7)]
        seen = [Observation(run, float(true[list(run)].sum() + 2e-4 * dice.standard_normal()), 2e-4) for run in runs]
        accused += bool(reconciled(8, seen)[1])
    assert 4 <= accused <= 34


def test_critical_values_are_the_normal_laws() -> None:
    """Two-sided points of the normal law, any table: 2.576 for 1 per cent; 3.291 for 1 in 1000 (ten spare readings)."""
    assert round(critical(1.0), 3) == 2.576
    assert round(critical(10.0), 3) == 3.291
