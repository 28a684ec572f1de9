"""Taps on plates at hand beside a general MILP solver and a general constraint solver, in one run. Asserts nothing.

Run: ``OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_retap.py``. Peers: HiGHS (``scipy.optimize.milp``) and
CP-SAT (``ortools``, only for this; extra ``bench``). All three answer the same statement to proven optimality: the
least worst ``|R'_wanted / R' - 1|`` over taps at every second joint. The peers take the ratio by Dinkelbach's
iteration, two to four linear programmes; HiGHS is asked for series notches only, CP-SAT works in micro-ohms and
millionths with two workers, and multiplies ohms for sections side by side.

Ratios are told so that they favour the peers: processor seconds, so that a busy machine weighs on all alike; of the
peers only the first programme, an easier question (``|R' / R'_wanted - 1|``), those of CP-SAT halved for its two
workers; ours is the median of three, to the ratio's own error with its proof. Beside it the whole answer (then least
squares, fewest moves and so on, which the peers are not asked). A peer is stopped after 10 s and then counts as a
lower limit.
All figures are invented.
"""

import random
from collections.abc import Callable
from math import inf
from statistics import median
from time import monotonic, perf_counter, process_time

import numpy as np
from ortools.sat.python import cp_model
from scipy.optimize import Bounds, LinearConstraint, milp

from griddesign.grid.records import Branches, Run
from griddesign.retaps.best import best_taps
from griddesign.retaps.board import Board
from griddesign.retaps.ground import Ground, lay_ground
from griddesign.retaps.least_error import LeastError
from griddesign.retaps.narrowing import terms_of
from griddesign.retaps.records import NotchTarget, PlateAtHand, PlatesAtHand, Question, TapRules

CAP_S = 10.0
MICRO = 1_000_000
SEEDS = range(2)
FIRST: list[float] = []
"""Processor seconds after each programme of the peer that ran last."""

Solve = Callable[[Ground, float, float], tuple[np.ndarray, float]]


def question(plates: int, sections: int, seed: int, *, abreast: bool) -> Question:
    """Sections cut out from both ends in series grouping, tails again in parallel grouping, pairs side by side."""
    rng = random.Random(seed)
    ohm = [round(0.07 * rng.uniform(0.92, 1.08), 6) for _ in range(plates)]
    at_hand = PlatesAtHand(tuple(PlateAtHand(n // 20 + 1, n % 20 + 1, "P", value) for n, value in enumerate(ohm)))
    order = tuple("ABCDEFGHIJKL"[:sections])
    share = {name: rng.uniform(0.5, 1.5) for name in order}
    whole = 0.93 * sum(ohm) / sum(share.values())
    targets: list[NotchTarget] = []

    def aim(run: Run, grid_ohm: float, other: float, weight: float) -> None:
        wanted = round((other + weight * grid_ohm) * rng.uniform(0.97, 1.03), 6)
        targets.append(NotchTarget(str(len(targets) + 1), run, wanted, other, weight, 0.2))

    first, last = 0, sections
    while last - first >= 2:
        aim(Run(order[first:last]), whole * sum(share[n] for n in order[first:last]), 0.88, 1.0)
        first, last = (first + 1, last) if len(targets) % 2 else (first, last - 1)
    for tail in range(sections // 2, sections):
        aim(Run(order[tail:]), whole * sum(share[n] for n in order[tail:]), 0.5, 2.0)
    for a, b in zip(order[::2], order[1::2], strict=False) if abreast else ():
        aim(Run((Branches((Run((a,)), Run((b,)))),)), whole / (1 / share[a] + 1 / share[b]), 0.5, 2.0)
    return Question(at_hand, order, tuple(targets), TapRules())


def ours(asked: Question) -> float:
    ground = lay_ground(asked)
    assert ground is not None
    search = LeastError(Board(ground, monotonic() + CAP_S), capped=False)
    search.run()
    return search.error


def ours_whole(asked: Question) -> float:
    return best_taps(asked, time_limit_s=CAP_S).worst_error


def by_milp(asked: Question) -> float:
    """HiGHS: one binary for each joint of each tap."""
    return _by_ratios(asked, _programme)


def _by_ratios(asked: Question, solve: Solve) -> float:
    """Dinkelbach: the worst ratio of the last answer, until no arrangement beats it."""
    ground = lay_ground(asked)
    assert ground is not None
    ratio, deadline, start = 0.0, perf_counter() + CAP_S, process_time()
    FIRST.clear()
    while True:
        felt, least = solve(ground, ratio, deadline - perf_counter())
        FIRST.append(process_time() - start)
        reached = max(abs(t.wanted_total_ohm / r - 1.0) for t, r in zip(asked.targets, felt, strict=True))
        if ratio and (least > -1e-7 or reached >= ratio):
            return ratio
        ratio = reached


def _programme(ground: Ground, ratio: float, left_s: float) -> tuple[np.ndarray, float]:
    count, choices = len(ground.unknowns), len(ground.unknowns[0].places)
    width, targets = count * choices + 1, ground.question.targets
    ohm, spot = np.array(ground.unknowns[0].ohm), np.arange(choices)
    rows, low, high = [], [], []
    for v in range(count):
        row = np.zeros(width)
        row[v * choices : (v + 1) * choices] = 1.0
        rows, low, high = [*rows, row], [*low, 1.0], [*high, 1.0]
    for before, after in ground.spans:
        row = np.zeros(width)
        row[after * choices : (after + 1) * choices], row[before * choices : (before + 1) * choices] = spot, -spot
        rows, low, high = [*rows, row], [*low, 1.0], [*high, inf]
    felt = np.zeros((len(targets), width))
    for row, target in zip(felt, targets, strict=True):
        for v, times in terms_of(target.run.parts, ground):  # type: ignore[arg-type]
            row[v * choices : (v + 1) * choices] += target.weight * times * ohm
    for row, target in zip(felt, targets, strict=True):
        wanted, other, unit = target.wanted_total_ohm, target.other_ohm, np.zeros(width)
        unit[-1] = wanted
        rows += [(1 - ratio) * row - unit, -(1 + ratio) * row - unit]
        low, high = [*low, -inf, -inf], [*high, wanted - (1 - ratio) * other, (1 + ratio) * other - wanted]
    goal, whole = np.append(np.zeros(width - 1), 1.0), np.append(np.ones(width - 1), 0.0)
    bounds = Bounds(np.append(np.zeros(width - 1), -inf), np.append(np.ones(width - 1), inf))
    found = milp(goal, constraints=LinearConstraint(np.array(rows), low, high), bounds=bounds, integrality=whole,
                 options={"time_limit": max(left_s, 0.1), "mip_rel_gap": 0.0})  # fmt: skip
    if found.status != 0:
        raise TimeoutError
    return np.array([t.other_ohm for t in targets]) + felt @ found.x, float(found.fun)


def by_constraints(asked: Question) -> float:
    """CP-SAT: each tap an element of the row of ohms; a pair side by side by the product of its ohms."""
    return _by_ratios(asked, _constraints)


def _constraints(ground: Ground, ratio: float, left_s: float) -> tuple[np.ndarray, float]:
    model, top = cp_model.CpModel(), round(ground.unknowns[0].ohm[-1] * MICRO) + MICRO
    table = [round(value * MICRO) for value in ground.unknowns[0].ohm]
    spots = [model.new_int_var(0, len(table) - 1, "") for _ in ground.unknowns]
    ohm = [model.new_int_var(0, top, "") for _ in ground.unknowns]
    for spot, value in zip(spots, ohm, strict=True):
        model.add_element(spot, table, value)
    for before, after in ground.spans:
        model.add(spots[after] >= spots[before] + 1)
    least, share, all_felt = model.new_int_var(-MICRO, MICRO, ""), round(ratio * MICRO), []
    for target in ground.question.targets:
        grid = _grid_ohm(model, target.run, ground, ohm, top)
        felt, wanted = model.new_int_var(1, 4 * top, ""), round(target.wanted_total_ohm * MICRO)
        model.add(felt == round(target.other_ohm * MICRO) + int(target.weight) * grid)
        model.add(MICRO * (wanted - felt) - share * felt <= wanted * least)
        model.add(MICRO * (felt - wanted) - share * felt <= wanted * least)
        all_felt.append(felt)
    model.minimize(least)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = max(left_s, 0.1), 2
    if solver.solve(model) != cp_model.OPTIMAL:
        raise TimeoutError
    return np.array([solver.value(felt) / MICRO for felt in all_felt]), float(solver.objective_value) / MICRO


def _grid_ohm(
    model: cp_model.CpModel, run: Run, ground: Ground, ohm: list[cp_model.IntVar], top: int
) -> "cp_model.LinearExprT":
    if all(isinstance(part, str) for part in run.parts):
        return sum(times * ohm[v] for v, times in terms_of(run.parts, ground))  # type: ignore[arg-type]
    (group,) = run.parts
    assert isinstance(group, Branches)
    pair = [model.new_int_var(1, top, "") for _ in group.runs]
    for value, branch in zip(pair, group.runs, strict=True):
        model.add(value == _grid_ohm(model, branch, ground, ohm, top))
    abreast, both, product = model.new_int_var(0, top, ""), model.new_int_var(1, 2 * top, ""), top * top
    times, shared = model.new_int_var(0, product, ""), model.new_int_var(0, 2 * product, "")
    model.add(both == sum(pair))
    model.add_multiplication_equality(times, pair)
    model.add_multiplication_equality(shared, [abreast, both])
    model.add(shared <= times)
    model.add(times <= shared + both - 1)
    return abreast


def timed(solve: Callable[[Question], float], asked: Question) -> tuple[float, float]:
    start = process_time()
    error = solve(asked)
    return process_time() - start, error


def peer_timed(solve: Callable[[Question], float], asked: Question) -> tuple[float, float | None]:
    """Seconds of the first programme, and the error reached; None where time ran out before the proof."""
    start = process_time()
    try:
        error: float | None = solve(asked)
    except TimeoutError:
        error = None
    return (FIRST[0] if FIRST else process_time() - start), error


def cell(plates: int, sections: int, *, abreast: bool, seeds: range) -> list[float]:
    """One line of the table; the ratios of every peer to ours."""
    times: dict[str, list[float]] = {}
    ratios: dict[str, list[float]] = {}
    differ, stopped = 0.0, 0
    for seed in seeds:
        asked = question(plates, sections, seed, abreast=abreast)
        own_s, own_error = sorted(timed(ours, asked) for _ in range(3))[1]
        peers = {"CP-SAT": by_constraints} if abreast else {"HiGHS": by_milp, "CP-SAT": by_constraints}
        times.setdefault("error", []).append(own_s)
        times.setdefault("whole", []).append(timed(ours_whole, asked)[0])
        for name, solve in peers.items():
            taken, error = peer_timed(solve, asked)
            taken *= 0.5 if name == "CP-SAT" else 1.0
            stopped += error is None
            differ = max(differ, abs(error - own_error) if error is not None else 0.0)
            times.setdefault(name, []).append(taken)
            ratios.setdefault(name, []).append(taken / own_s)
    told = ", ".join(f"{name} {median(values) * 1e3:8.1f} ms" for name, values in times.items())
    beside = ", ".join(f"{name} {median(r):.0f}x (least {min(r):.0f}x)" for name, r in ratios.items())
    kind = "series and side by side" if abreast else "series"
    print(f"{plates:3d} plates {sections:2d} sections, {kind}: {told}; {beside}; "
          f"differ by {differ:.0e}, stopped {stopped}", flush=True)  # fmt: skip
    return [median(values) for values in ratios.values()]


def main() -> None:
    ours_whole(question(66, 4, 0, abreast=True))
    found: list[float] = []
    for plates in (66, 132, 300):
        for sections in (4, 6, 8, 10):
            found += cell(plates, sections, abreast=False, seeds=SEEDS)
    for plates in (66, 132, 300):
        for sections in (4, 6, 8, 10):
            found += cell(plates, sections, abreast=True, seeds=SEEDS)
    print(f"cells: least ratio {min(found):.0f}x, median {median(found):.0f}x")


if __name__ == "__main__":
    main()
