"""Exchanges of plates: how often the best of all is proved within the time limit, and how far off it may be else.

Run: ``OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_retap_exchanges.py``. Asserts nothing; wall seconds, so a
busy machine tells worse. Castings scatter by 3 per cent, taps at every second joint, series notches of every tail of
the grid, targets 3 per cent beside what the plates make. All figures are invented.
"""

import random
from dataclasses import replace
from itertools import pairwise
from statistics import median
from time import perf_counter

from griddesign.grid.records import Run
from griddesign.retaps.best import best_taps
from griddesign.retaps.records import NotchTarget, PlateAtHand, PlatesAtHand, Question, Spare, TapRules

LIMIT_S = 3.0
SEEDS = range(5)


def question(plates: int, sections: int, seed: int, rules: TapRules) -> Question:
    """A grid of castings with the ohms wanted of every tail."""
    rng = random.Random(seed)
    row = tuple(PlateAtHand(n // 22 + 1, n % 22 + 1, "P", round(0.07 * rng.gauss(1.0, 0.03), 5)) for n in range(plates))
    order = tuple("ABCDEFGHIJ"[:sections])
    cuts = [0, *sorted(rng.sample(range(2, plates - 2, 2), sections - 1)), plates]
    wanted = [0.07 * (b - a) * rng.uniform(0.97, 1.03) for a, b in pairwise(cuts)]
    targets = tuple(NotchTarget(str(n + 1), Run(order[n:]), 0.5 + sum(wanted[n:]), 0.5) for n in range(sections))
    spares = tuple(Spare(one.name, "P", round(0.07 * rng.gauss(1.0, 0.04), 5)) for one in rules.spares)
    return Question(PlatesAtHand(row), order, targets, replace(rules, spares=spares))


def cell(name: str, plates: int, sections: int, rules: TapRules) -> str:
    """One line: of so many grids how many proved, worst notch before and after, exchanges, gap and seconds."""
    before, after, gaps, seconds, proved, made = [], [], [], [], 0, []
    for seed in SEEDS:
        asked = question(plates, sections, seed, rules)
        before.append(best_taps(replace(asked, rules=replace(rules, may_swap=False, spares=()))).worst_error)
        begun = perf_counter()
        answer = best_taps(asked, time_limit_s=LIMIT_S)
        seconds.append(perf_counter() - begun)
        after.append(answer.worst_error)
        gaps.append(answer.reached - answer.bound)
        made.append(len(answer.swaps) + len(answer.spares))
        proved += answer.proved
    return (
        f"{plates:4d} {sections:3d}  {name:24s} {proved} of {len(SEEDS)}  {100 * median(before):5.2f} %"
        f"  {100 * median(after):5.2f} %  {median(made):4.0f}  {100 * max(gaps):6.3f} %  {median(seconds):5.2f} s"
        f"  {max(seconds):5.2f} s"
    )


def main() -> None:
    """Every cell, one line each."""
    spares = tuple(Spare(f"S{n}", "P", 0.07) for n in range(4))
    cases = {
        "gain 0.5 %": TapRules(may_swap=True),
        "gain 0.5 %, 4 spares": TapRules(may_swap=True, spares=spares),
        "gain 0.1 %": TapRules(may_swap=True, worth=1e-3),
        "gain 0.1 %, 2 swaps": TapRules(may_swap=True, most_swaps=2, worth=1e-3),
    }
    print("   N   K  asked                    proved  before   after   made  worst gap  median     most")
    for plates, sections in ((24, 4), (66, 5), (66, 8), (132, 6), (300, 8)):
        for name, rules in cases.items():
            print(cell(name, plates, sections, rules), flush=True)


if __name__ == "__main__":
    main()
