"""How long the choice takes, beside HiGHS (scipy.optimize.milp) on the same question in the same run. Asserts nothing.

Run it by itself: ``python tests/benchmarks/bench_choose.py``. The question both answer: smallest worst notch error for
plates of one kind with free ohms, sections in series, single plates. HiGHS has no closed form for the error, so it
halves on it down to 1e-5 with one feasibility programme each; the designer proves the error to 1e-11. Seconds are those
of the processor, so that a busy machine does not matter. The
designer's full set of five aims, pairs in parallel and heat margins, which HiGHS is not asked for, is timed beside it.
All figures are invented.
"""

import random
from dataclasses import replace
from statistics import median
from time import process_time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

from griddesign.choose.design import choose
from griddesign.choose.problem import CandidateKind, Choice, NotchAim
from griddesign.grid.records import BoxPlan, Run

DEMO_OHM = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27}


class Heat:
    """Hotter towards the last sections, as in a start."""

    def __init__(self, names: str) -> None:
        self.duty_k = {name: 12.0 + 240.0 * at / (len(names) - 1) for at, name in enumerate(names)}

    def __call__(self, section: str, kind: str, in_parallel: int, plate_ohm: float) -> float:
        return 370.0 - self.duty_k[section] * (plate_ohm / 0.069) ** 1.5 / in_parallel**2


def question(
    wanted: dict[str, float], boxes: int, joint_ohm: float = 0.0, spread: float = 0.0, seed: int = 0
) -> Choice:
    """Sections cut out one by one in series, the latter half again in parallel; targets off by up to ``spread``."""
    names, rng = "".join(wanted), random.Random(seed)
    tails = [(names[n:], 0.88, 1.0) for n in range(len(names))]
    tails += [(names[n:], 0.5, 2.0) for n in range(len(names) // 2, len(names))]
    notches = tuple(
        NotchAim(str(n), Run(tuple(tail)), sum(wanted[s] for s in tail) * (1 + rng.uniform(-spread, spread)), other, p)
        for n, (tail, other, p) in enumerate(tails, 1)
    )
    return Choice(
        tuple(names),
        notches,
        0.05,
        (CandidateKind("P", 0.06, 0.085),),
        BoxPlan(boxes, 20, 0.0127, 1, joint_ohm),
        Heat(names),
        lambda kind, ohm: 2.5 * 0.069 / ohm,
        lambda kind, ohm: (kind, ohm),  # type: ignore[arg-type,return-value]
    )


def scattered(sections: int, plates: int, seed: int) -> Choice:
    """A random ladder of about nine tenths of so many plates."""
    rng, used = random.Random(seed), plates * 9 // 10
    cuts = sorted(rng.sample(range(4, used - 1), sections - 1))
    counts = [after - before for before, after in zip([0, *cuts], [*cuts, used], strict=True)]
    wanted = {name: n * 0.07 * rng.uniform(0.97, 1.03) for name, n in zip("ABCDEFGHIJ", counts, strict=False)}
    return question(wanted, plates // 20, spread=0.02, seed=seed)


def possible(choice: Choice, error: float) -> bool:
    """Whether counts and plate ohms exist within ``+-error``: linear in counts and u = 1/plate ohm."""
    order, unit = choice.section_order, choice.step_unit
    rows, low, high = [], [], []
    for notch in choice.notches:
        ends = [(notch.total_ohm / (1 + sign * error) - notch.other_ohm) / notch.factor for sign in (1, -1)]
        count = np.array([float(name in notch.circuit.parts) * unit for name in order])
        rows += [np.append(count, -ends[0]), np.append(count, -ends[1])]
        low, high = [*low, 0.0, -np.inf], [*high, np.inf, 0.0]
    rows.append(np.append(np.full(len(order), float(unit)), 0.0))
    low, high = [*low, 0.0], [*high, choice.plan.boxes * choice.plan.plates_per_box]
    kind = choice.kinds[0]
    bounds = Bounds(
        np.append(np.ones(len(order)), 1 / kind.high_ohm), np.append(np.full(len(order), 400.0), 1 / kind.low_ohm)
    )
    whole = np.append(np.ones(len(order)), 0.0)
    constraint = LinearConstraint(np.array(rows), np.array(low), np.array(high))
    answer = milp(np.zeros(len(order) + 1), constraints=constraint, bounds=bounds, integrality=whole)
    return answer.x is not None


def least_error_by_milp(choice: Choice) -> float:
    low, high = 0.0, choice.tolerance
    while high - low > 1e-5:
        error = 0.5 * (low + high)
        low, high = (low, error) if possible(choice, error) else (error, high)
    return high


def seconds(call: object, *arguments: object) -> tuple[float, object]:
    assert callable(call)
    start = process_time()
    answer = call(*arguments)
    return process_time() - start, answer


def compare(title: str, choices: list[Choice]) -> None:
    """One line: the error question by both, and all five aims by the designer; medians and the worst."""
    ours, theirs, full, differ = [], [], [], []
    for choice in choices:
        only_error = replace(choice, prefer="closest", in_parallel=(1,), margin=lambda *_: None)
        mine, design = seconds(choose, only_error)
        other, error = seconds(least_error_by_milp, only_error)
        ours, theirs = [*ours, mine], [*theirs, other]
        full.append(seconds(choose, choice)[0])
        differ.append(abs(design.proofs[0].reached - error))  # type: ignore[attr-defined]
    print(
        f"{title:28s} designer {median(ours) * 1e3:6.0f} ms, HiGHS {median(theirs) * 1e3:7.0f} ms, "
        f"ratio {median(theirs) / median(ours):6.1f}; all aims {median(full) * 1e3:6.0f} ms (worst "
        f"{max(full) * 1e3:6.0f}); errors differ by {max(differ):.0e}"
    )


def main() -> None:
    choose(question(DEMO_OHM, 3))
    compare("demo, 60 plates, 5 sections", [question(DEMO_OHM, 3)] * 5)
    compare("demo with joint ohms, alone", [question(DEMO_OHM, 3, 1e-4)] * 3)
    for plates, sections in ((60, 5), (120, 7), (300, 7), (300, 10), (600, 10)):
        compare(f"{plates} plates, {sections} sections", [scattered(sections, plates, seed) for seed in range(4)])


if __name__ == "__main__":
    main()
