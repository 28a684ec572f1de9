"""The best taps on plates at hand: the answer of the search with what stands behind it."""

from collections.abc import Sequence
from dataclasses import replace
from math import fsum, inf
from time import monotonic

from griddesign.errors import InputError, OutOfTime
from griddesign.grid.circuit import ohms
from griddesign.retaps.board import Board, first_allowed, has_taps
from griddesign.retaps.closest import Closest
from griddesign.retaps.exchange import exchanged
from griddesign.retaps.ground import Ground, lay_ground
from griddesign.retaps.least_error import LeastError
from griddesign.retaps.records import Answer, Question, Span


def best_taps(question: Question, *, time_limit_s: float = 3.0) -> Answer:
    """The best arrangement of taps, proved within the time limit, or the best found with its proven bound.

    An arrangement in which every notch keeps its tolerance comes before any other. Then counts the least worst error
    ``max |R'_wanted / R' - 1|``, then the least sum of squared errors, fewest moved taps, fewest plates left out,
    fewest sections that do not meet, and joints nearest the dot end. Worst errors within 1e-9 of the least and sums of
    squares within 1e-12 of theirs are equal; an error beyond its tolerance by rounding alone, 1e-12, keeps it.
    Plates whose rating is below a section's need are never in it.

    Where plates may be swapped or spares used, see ``exchange``: the worst error then counts together with what the
    exchanges cost, and the bound holds for every exchange the rules allow.

    ``time_limit_s`` in seconds, for all of it. Raises InputError where no arrangement keeps the rules; the message
    names the rule that bites.
    """
    if question.rules.may_swap or question.rules.spares:
        return exchanged(question, lambda fixed, left_s: best_taps(fixed, time_limit_s=left_s), time_limit_s)
    started = monotonic()
    ground = lay_ground(question)
    board = None if ground is None else Board(ground, started + time_limit_s)
    if board is None or first_allowed(board) is None:
        raise _refusal(question)
    return replace(_searched(board), seconds=monotonic() - started)


def _searched(board: Board) -> Answer:
    """Capped search first; where nothing keeps every tolerance, the least worst error of all."""
    tolerances = [target.tolerance for target in board.targets]
    search, caps = LeastError(board, capped=True), tolerances
    try:
        search.run(max(tolerances, default=0.0))
        if search.choice is None:
            search, caps = LeastError(board, capped=False, proved=min(tolerances)), [inf] * len(tolerances)
            search.run()
    except OutOfTime:
        return in_time(board, search)
    assert search.choice is not None
    return _closest(board, search, caps)


def _closest(board: Board, search: LeastError, caps: Sequence[float]) -> Answer:
    assert search.choice is not None
    closest = Closest(board, search.choice, search.error, caps)
    try:
        closest.run()
        closest.ties()
    except OutOfTime:
        found = answer(board.ground, closest.choice, search.proved, proved=False)
        return replace(found, note="least worst error proved; its ties were not settled in time")
    return answer(board.ground, closest.choice, search.proved, proved=True)


def in_time(board: Board, search: LeastError) -> Answer:
    """The best found until time was up, and what none can beat."""
    choice = search.choice or first_allowed(board)
    assert choice is not None
    # where none was found that keeps every tolerance, the best may be one that misses the least of them
    least = search.proved if search.choice else min(search.proved, *search.caps)
    found = answer(board.ground, choice, least, proved=False)
    return replace(found, note=f"time is up: no arrangement has a worst error below {least:.3%}")


def answer(ground: Ground, choice: Sequence[int], bound: float, *, proved: bool) -> Answer:
    """An arrangement as it is told: spans, errors from the plates' own ohms, what moved and what is left out."""
    question = ground.question
    spans = tuple(
        _span(question, name, *places)
        for name, places in zip(question.section_order, ground.places(choice), strict=True)
    )
    section_ohm = {span.section: span.cold_ohm for span in spans}
    errors = tuple(target.error(ohms(target.run, section_ohm)) for target in question.targets)
    worst = max(map(abs, errors), default=0.0)
    moved = tuple(tap.name for tap in ground.taps if tap.moved(choice))
    return Answer(spans, errors, worst, min(bound, worst), proved, moved, bypassed(question, spans))


def _span(question: Question, name: str, first: int, last: int) -> Span:
    inside = question.plates.steps[first:last]
    joints = question.plates.joints
    jumped = tuple(plate for step in inside if step.dead for plate in range(step.first, step.last + 1))
    return Span(name, joints[first], joints[last], fsum(step.ohm for step in inside if not step.dead), jumped)


def bypassed(question: Question, spans: Sequence[Span]) -> tuple[int, ...]:
    """Plates that could carry current, or did before they died, and do not."""
    carrying = {plate for span in spans for plate in range(span.from_joint + 1, span.to_joint + 1)}
    jumped = {plate for span in spans for plate in span.jumped}
    members = (plate for step in question.plates.steps if step.in_circuit for plate in range(step.first, step.last + 1))
    return tuple(plate for plate in members if plate not in carrying or plate in jumped)


def _refusal(question: Question) -> InputError:
    """The complaint that names the rule without which there would be an arrangement."""
    rules = question.rules
    lifted = (
        ("taps that must stay", replace(question, rules=replace(rules, fixed=frozenset()))),
        (f"at most {rules.most_moves} moved taps", replace(question, rules=replace(rules, most_moves=None))),
        ("forbidden joints", replace(question, rules=replace(rules, forbidden=frozenset()))),
        ("taps at box ends only", replace(question, rules=replace(rules, box_ends_only=False))),
        ("the sides leads reach",
         replace(question, rules=replace(rules, sides=frozenset(("terminal side", "far side"))))),
        ("current the sections must carry", replace(question, needs_a={})),
        ("no jumper over a dead plate", replace(question, rules=replace(rules, may_jump=True))),
        ("no plate may be left out", replace(question, rules=replace(rules, leave_out="at the ends"))),
    )  # fmt: skip
    for name, easier in lifted:
        if easier != question and has_taps(easier):
            return InputError(f"no arrangement of taps is possible with this rule: {name}", hint="Relax it.")
    return InputError(
        f"{len(question.section_order)} sections cannot be made of {len(question.plates.plates)} plates by these rules",
        hint="Fewer sections or more joints within reach.",
    )
