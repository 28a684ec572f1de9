"""Windows, rules and notches of one question put together: settle windows, weigh an arrangement, split."""

from collections.abc import Sequence
from math import inf
from time import monotonic

from griddesign.errors import OutOfTime
from griddesign.retaps.ground import Ground, lay_ground
from griddesign.retaps.narrowing import EMPTY, SLACK, FewMoves, Linked, Rule, notch_rule
from griddesign.retaps.records import Question

Windows = tuple[list[int], list[int]]
SAME_ERROR = 1e-9
KEEPS = 1e-12  # how far an error may lie beyond its tolerance by rounding alone
"""Shares that differ by less are the same: a millionth of what any meter shows."""
SAME_SQUARES = 1e-12
_LOOKS = 64


class Board:
    """The rules of a question, which of them look at which unknown, and the bands of its notches."""

    def __init__(self, ground: Ground, deadline: float) -> None:
        self.ground, self.deadline = ground, deadline
        self.targets = ground.question.targets
        self.notches = [notch_rule(target.run, ground) for target in self.targets]
        self.rules: list[Rule] = [*self.notches, *map(Linked, ground.links)]
        if ground.most_moves is not None:
            self.rules.append(FewMoves(ground.taps, ground.most_moves))
        count = len(ground.unknowns)
        self.watching = [sum(1 << n for n, rule in enumerate(self.rules) if rule.mask >> v & 1) for v in range(count)]
        self.every_rule = (1 << len(self.rules)) - 1
        self.hard = self._hard_unknowns()
        self._looks = 0

    def _hard_unknowns(self) -> int:
        """Unknowns whose rules do more than bound one tap by another: there alone narrowing does not decide."""
        mask = 0
        for notch in self.notches:
            mask |= 0 if notch.lowly else notch.mask
        for rule in self.rules[len(self.notches) :]:
            mask |= rule.mask if isinstance(rule, FewMoves) else 0
        return mask

    def whole(self) -> Windows:
        """Every choice of every unknown."""
        return [0] * len(self.ground.unknowns), [len(unknown.places) - 1 for unknown in self.ground.unknowns]

    def aim(self, errors: Sequence[float]) -> None:
        """Give every notch the band ``R'_wanted / (1 +- error)`` of what the current feels, turned to grid ohms."""
        for notch, target, error in zip(self.notches, self.targets, errors, strict=True):
            wanted, slack = target.wanted_total_ohm, SLACK * (target.wanted_total_ohm + target.other_ohm)
            notch.least = ((wanted / (1.0 + error) if error < inf else 0.0) - target.other_ohm - slack) / target.weight
            notch.most = (wanted / (1.0 - error) - target.other_ohm + slack) / target.weight if error < 1.0 else inf

    def settle(self, low: list[int], high: list[int], pending: int) -> bool:
        """Narrow the windows until no rule cuts any more; False where nothing is left."""
        rules, watching = self.rules, self.watching
        while pending:
            first = pending & -pending
            pending ^= first
            cut = rules[first.bit_length() - 1].narrow(low, high)
            if cut == EMPTY:
                return False
            while cut:
                bit = cut & -cut
                cut ^= bit
                pending |= watching[bit.bit_length() - 1]
        return True

    def tick(self) -> None:
        """Raises OutOfTime once the time limit has passed."""
        self._looks += 1
        if self._looks % _LOOKS == 0 and monotonic() > self.deadline:
            raise OutOfTime

    def errors(self, choice: Sequence[int]) -> list[float]:
        """Error of every notch in one arrangement, from the running sums."""
        found = []
        for notch, target in zip(self.notches, self.targets, strict=True):
            ohm = notch.ends(choice, choice)[0]
            felt = target.other_ohm + target.weight * ohm
            found.append(target.wanted_total_ohm / felt - 1.0 if felt > 0.0 else inf)
        return found

    def allowed(self, choice: Sequence[int]) -> bool:
        """Whether the arrangement keeps every rule but those of the notches."""
        for link in self.ground.links:
            own = choice[link.after]
            if not link.after_from[choice[link.before]] <= own <= link.after_to[choice[link.before]]:
                return False
        return self.ground.most_moves is None or self.ground.moves(choice) <= self.ground.most_moves

    def squares(self, low: Sequence[int], high: Sequence[int]) -> tuple[list[float], list[float]]:
        """Least and most square of each notch's error within the windows."""
        least, most = [], []
        for notch, target in zip(self.notches, self.targets, strict=True):
            bottom, top = notch.ends(low, high)
            wanted, other, weight = target.wanted_total_ohm, target.other_ohm, target.weight
            felt_low, felt_high = other + weight * bottom, other + weight * top
            high_error = wanted / felt_low - 1.0 if felt_low > 0.0 else inf
            low_error = wanted / felt_high - 1.0 if felt_high > 0.0 else inf
            least.append(low_error**2 if low_error > 0.0 else high_error**2 if high_error < 0.0 else 0.0)
            most.append(max(low_error**2, high_error**2))
        return least, most


def split(low: list[int], high: list[int], v: int) -> tuple[Windows, Windows]:
    """The windows with the choices of one unknown in two halves, the lower first."""
    middle = (low[v] + high[v]) // 2
    left, right = (low, [*high]), ([*low], high)
    left[1][v], right[0][v] = middle, middle + 1
    return left, right


def first_allowed(board: Board) -> tuple[int, ...] | None:
    """Any arrangement that keeps the rules, notches apart."""
    board.aim([inf] * len(board.targets))
    stack = [board.whole()]
    while stack:
        low, high = stack.pop()
        if not board.settle(low, high, board.every_rule):
            continue
        if board.allowed(low):
            return tuple(low)
        v = max(range(len(low)), key=lambda v: high[v] - low[v])
        if high[v] > low[v]:
            for at in reversed(range(low[v], high[v] + 1)):
                stack.append(([*low[:v], at, *low[v + 1 :]], [*high[:v], at, *high[v + 1 :]]))
    return None


def has_taps(question: Question) -> bool:
    """Whether any arrangement of taps keeps the rules, notches apart. Raises InputError as ``lay_ground``."""
    ground = lay_ground(question)
    return ground is not None and first_allowed(Board(ground, inf)) is not None
