"""The designer against an independent method: mixed-integer linear programmes solved by HiGHS through scipy.

For one kind of plate and a fixed notch error the question is linear in the step counts and in u = 1/plate ohm:
``L u <= sum(steps / in_parallel) <= U u``. The least error proved by the designer must be possible there a hair above
and impossible a hair below. Two kinds of free ohms: for all counts of a small grid, a linear programme each.
"""

from itertools import product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from griddesign.choose.design import choose
from griddesign.choose.problem import CandidateKind, Choice, NotchAim
from griddesign.grid.records import BoxPlan, Run

HAIR = 2e-3


def mass_kg(kind: str, plate_ohm: float) -> float:
    return 0.17 / plate_ohm


@st.composite
def ladders(draw: st.DrawFn) -> Choice:
    """Four sections cut out one after another, in series and in parallel."""
    wanted = draw(st.tuples(*(st.floats(0.2, 1.2) for _ in range(4))))
    section = dict(zip("ABCD", wanted, strict=True))
    parts = [(tail, factor) for tail in ("ABCD", "BCD", "CD", "D") for factor in (1.0, 2.0)]
    chosen = [parts[0], *draw(st.lists(st.sampled_from(parts[1:]), min_size=2, max_size=5, unique=True))]
    aims = tuple(
        NotchAim(f"{tail}{factor:g}", Run(tuple(tail)), sum(section[s] for s in tail), 0.4, factor)
        for tail, factor in chosen
    )
    return Choice(
        section_order=tuple("ABCD"),
        notches=aims,
        tolerance=0.5,
        kinds=(CandidateKind("P", 0.06, draw(st.sampled_from((0.06, 0.07, 0.085)))),),
        plan=BoxPlan(3, 16, 0.0127, draw(st.sampled_from((1, 2)))),
        margin=lambda *_: None,
        mass=mass_kg,
        shape_for=lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
        in_parallel=(1,),
        prefer="closest",
    )


def possible(choice: Choice, error: float) -> bool:
    """Whether some counts and plate ohms keep every notch within ``+-error``, by HiGHS."""
    order, unit = choice.section_order, choice.step_unit
    rows, low, high = [], [], []
    for notch in choice.notches:
        total = notch.total_ohm
        ends = [(total / (1.0 + sign * error) - notch.other_ohm) / notch.factor for sign in (1.0, -1.0)]
        count = np.array([float(name in notch.circuit.parts) * unit for name in order])
        rows += [np.append(count, -ends[0]), np.append(count, -ends[1])]
        low += [0.0, -np.inf]
        high += [np.inf, 0.0]
    rows.append(np.append(np.full(len(order), float(unit)), 0.0))
    low.append(0.0)
    high.append(choice.plan.boxes * choice.plan.plates_per_box)
    kind = choice.kinds[0]
    answer = milp(
        np.zeros(len(order) + 1),
        constraints=LinearConstraint(np.array(rows), np.array(low), np.array(high)),
        bounds=Bounds(
            np.append(np.ones(len(order)), 1.0 / kind.high_ohm),
            np.append(np.full(len(order), 99.0), 1.0 / kind.low_ohm),
        ),
        integrality=np.append(np.ones(len(order)), 0.0),
    )
    return answer.x is not None


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(ladders())
def test_least_error_is_that_of_a_mixed_integer_programme(choice: Choice) -> None:
    design = choose(choice)
    error = max(abs(row.error) for row in design.notches)
    assert all(proof.proved for proof in design.proofs)
    assert possible(choice, error * (1.0 + HAIR) + 1e-5)
    assert error < 1e-4 or not possible(choice, error * (1.0 - HAIR) - 1e-5)


def least_error_of(counts: tuple[tuple[int, int], ...], choice: Choice, best: float) -> float:
    """Least worst error of fixed (kind, steps) for two kinds, by bisection over linear programmes; ``best`` if none."""
    shares = np.zeros((len(choice.notches), 2))
    for row, notch in enumerate(choice.notches):
        for name, (kind, steps) in zip(choice.section_order, counts, strict=True):
            shares[row, kind] += steps * (name in notch.circuit.parts)
    total = np.array([notch.total_ohm for notch in choice.notches])
    other = np.array([notch.other_ohm for notch in choice.notches])
    bounds = [(kind.low_ohm, kind.high_ohm) for kind in choice.kinds]

    def possible_at(error: float) -> bool:
        sides = np.concatenate((-shares * (1.0 + error), shares * (1.0 - error)))
        limits = np.concatenate((other * (1.0 + error) - total, total - other * (1.0 - error)))
        return bool(linprog(np.zeros(2), A_ub=sides, b_ub=limits, bounds=bounds).status == 0)

    low, high = (0.0, best) if possible_at(best) else (best, best)
    while high - low > 1e-6:
        error = 0.5 * (low + high)
        low, high = (low, error) if possible_at(error) else (error, high)
    return high


@pytest.mark.parametrize("wanted", [(0.42, 0.31, 0.2), (0.2, 0.37, 0.44)])
def test_two_free_kinds_equal_enumeration_by_linear_programmes(wanted: tuple[float, ...]) -> None:
    section = dict(zip("ABC", wanted, strict=True))
    aims = tuple(
        NotchAim(tail, Run(tuple(tail)), sum(section[s] for s in tail), 0.15) for tail in ("ABC", "BC", "C", "AC")
    )
    choice = Choice(
        ("A", "B", "C"),
        aims,
        0.2,
        (CandidateKind("P", 0.08, 0.095), CandidateKind("Q", 0.05, 0.06)),
        BoxPlan(3, 10, 0.0127, 2),
        lambda *_: None,
        mass_kg,
        lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
        in_parallel=(1,),
        prefer="closest",
    )
    design = choose(choice)
    ways = [
        [(k, n) for k, kind in enumerate(choice.kinds) for n in range(1, 12) if _near(kind, n, ohm)] for ohm in wanted
    ]
    expected = 0.1
    for counts in product(*ways):
        expected = least_error_of(counts, choice, expected)
    assert design.proofs[0].proved
    assert design.proofs[0].reached == pytest.approx(expected, abs=2e-6)


def _near(kind: CandidateKind, steps: int, ohm: float) -> bool:
    """Counts that come within 0.05 ohm of the section: others are out by more than the designer's answer."""
    return steps * kind.low_ohm - 0.05 <= ohm <= steps * kind.high_ohm + 0.05
