"""Many small heat problems marched in time side by side, each on its own clock with its own step.

Dormand-Prince 5(4) with its dense output (J. R. Dormand and P. J. Prince, J. Comp. Appl. Math. 6 (1980) 19; dense
output of L. F. Shampine, Math. Comp. 46 (1986) 135). A case ends when a plate reaches the top of its table, when its
time is up, or when nothing changes any more. The moment a limit is crossed is read from the dense output.
"""

from dataclasses import dataclass
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray

STEP_ERROR_K = 5e-4
STEADY_K = 2e-3
"""Papers print whole degrees; ends come out within some thousandths of a kelvin."""
_FIRST_STEP_K = 10.0  # only where to begin: a step is judged by its error, STEP_ERROR_K, and taken again if it fails
_LONGEST_FIRST_S = 200.0
_LARGEST_STEP_K = 100.0
_MOST_STEPS = 5000

_A = (
    np.array([1 / 5]),
    np.array([3 / 40, 9 / 40]),
    np.array([44 / 45, -56 / 15, 32 / 9]),
    np.array([19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729]),
    np.array([9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656]),
)
_B = np.array([35 / 384, 0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84])
_ERROR = np.array([-71 / 57600, 0, 71 / 16695, -71 / 1920, 17253 / 339200, -22 / 525, 1 / 40])
_DENSE = np.array(
    [
        [1, -8048581381 / 2820520608, 8663915743 / 2820520608, -12715105075 / 11282082432],
        [0, 0, 0, 0],
        [0, 131558114200 / 32700410799, -68118460800 / 10900136933, 87487479700 / 32700410799],
        [0, -1754552775 / 470086768, 14199869525 / 1410260304, -10690763975 / 1880347072],
        [0, 127303824393 / 49829197408, -318862633887 / 49829197408, 701980252875 / 199316789632],
        [0, -282668133 / 205662961, 2019193451 / 616988883, -1453857185 / 822651844],
        [0, 40617522 / 29380423, -110615467 / 29380423, 69997945 / 29380423],
    ]
)


class System(Protocol):
    """Cases side by side: temperatures of shape (cases, sections) in, kelvin per second out."""

    def rate(self, t_c: FloatArray) -> FloatArray:
        """dT/dt of every section of every case, K/s."""

    def take(self, keep: NDArray[np.intp]) -> Self:
        """The same system with only the cases ``keep``."""


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """What became of each case.

    ``limit_s`` when the first section reached its limit (inf: never), ``at_limit_c`` all temperatures then;
    ``end_c`` the temperatures at the end, ``topped`` whether a section ran to the top of its table.
    """

    limit_s: FloatArray
    at_limit_c: FloatArray
    end_c: FloatArray
    topped: NDArray[np.bool_]


@dataclass(slots=True)
class _Front:
    """The cases still on their way, in step with each other: row of the result, clock, temperatures, rates, steps."""

    system: System
    row: NDArray[np.intp]
    now_s: FloatArray
    t_c: FloatArray
    rate: FloatArray
    step_s: FloatArray
    limit_c: FloatArray
    top_c: FloatArray
    end_s: FloatArray

    def keep(self, going: NDArray[np.bool_]) -> None:
        """Forget the cases that are over."""
        where = np.flatnonzero(going)
        self.system = self.system.take(where)
        for name in ("row", "now_s", "t_c", "rate", "step_s", "limit_c", "top_c", "end_s"):
            setattr(self, name, getattr(self, name)[where])


@dataclass(frozen=True, slots=True, eq=False)
class _Step:
    """One step tried for every case: its length, seven slopes, where it led, error over the error allowed."""

    step_s: FloatArray
    slopes: FloatArray
    new_c: FloatArray
    error: FloatArray
    good: NDArray[np.bool_]


def march(
    system: System, start_c: FloatArray, limit_c: FloatArray, top_c: FloatArray, end_s: FloatArray | None = None
) -> Course:
    """March every case of ``system`` from ``start_c`` (cases, sections) until it is over.

    ``limit_c`` and ``top_c``, same shape, may be inf where a section does not count. ``end_s`` (cases,) stops a case at
    a time; None lets each run until it is steady or at the top. Local error per step 5e-4 K. Raises InputError where a
    case comes to no end.
    """
    course = _fresh_course(start_c, limit_c)
    front = _first_front(system, start_c, limit_c, top_c, end_s)
    _drop_finished(front, course, np.any(start_c >= top_c, axis=1) | (front.end_s <= 0.0))
    for _ in range(_MOST_STEPS):
        if front.row.size == 0:
            break
        _advance(front, course)
    else:
        raise InputError(
            f"{front.row.size} temperatures found no end in {_MOST_STEPS} steps",
            hint="Look for ohms, masses or currents that no grid has.",
        )
    return course


def _fresh_course(start_c: FloatArray, limit_c: FloatArray) -> Course:
    at_once = np.any(start_c >= limit_c, axis=1)
    return Course(
        np.where(at_once, 0.0, np.inf), start_c.copy(), start_c.copy(), np.zeros(start_c.shape[0], dtype=np.bool_)
    )


def _first_front(
    system: System, start_c: FloatArray, limit_c: FloatArray, top_c: FloatArray, end_s: FloatArray | None
) -> _Front:
    cases = start_c.shape[0]
    rate = system.rate(start_c)
    fastest = np.maximum(np.abs(rate).max(axis=1), 1e-12)
    step_s = np.minimum(_FIRST_STEP_K / fastest, _LONGEST_FIRST_S)
    end_s = np.full(cases, np.inf) if end_s is None else end_s
    return _Front(
        system, np.arange(cases), np.zeros(cases), start_c.copy(), rate, step_s, limit_c.copy(), top_c.copy(), end_s
    )


def _advance(front: _Front, course: Course) -> None:
    step_s = np.minimum(front.step_s, front.end_s - front.now_s)
    step = _try_step(front, step_s)
    _note_crossings(front, course, step)
    good = step.good
    steady = good & _nothing_left(front.rate, step.slopes[6], step_s)
    front.now_s = np.where(good, front.now_s + step_s, front.now_s)
    front.t_c = np.where(good[:, None], step.new_c, front.t_c)
    front.rate = np.where(good[:, None], step.slopes[6], front.rate)
    front.step_s = _next_step(step, front.rate)
    topped = np.any(front.t_c >= front.top_c, axis=1)
    course.topped[front.row[topped]] = True
    _drop_finished(front, course, topped | steady | (front.now_s >= front.end_s))


def _try_step(front: _Front, step_s: FloatArray) -> _Step:
    slopes = np.empty((7, *front.t_c.shape))
    slopes[0] = front.rate
    h = step_s[:, None]
    for stage, weights in enumerate(_A, start=1):
        slopes[stage] = front.system.rate(front.t_c + h * _weighed(weights, slopes[:stage]))
    new_c = front.t_c + h * _weighed(_B, slopes[:6])
    slopes[6] = front.system.rate(new_c)
    error_k = np.abs(h * _weighed(_ERROR, slopes)).max(axis=1)
    error = np.maximum(error_k / STEP_ERROR_K, 1e-8)
    return _Step(step_s, slopes, new_c, error, error <= 1.0)


def _weighed(weights: FloatArray, slopes: FloatArray) -> FloatArray:
    """Weighted sum over the first axis."""
    return np.asarray((weights @ slopes.reshape(weights.size, -1)).reshape(slopes.shape[1:]))


def _next_step(step: _Step, rate: FloatArray) -> FloatArray:
    grown = step.step_s * np.minimum(np.maximum(0.9 * step.error**-0.2, 0.2), 5.0)
    return np.asarray(np.minimum(grown, _LARGEST_STEP_K / np.maximum(np.abs(rate).max(axis=1), 1e-12)))


def _nothing_left(before: FloatArray, after: FloatArray, step_s: FloatArray) -> NDArray[np.bool_]:
    """Whether the change still to come, if the rates go on dying away as in this step, is under STEADY_K."""
    decay = np.log(np.maximum(np.abs(before), 1e-200) / np.maximum(np.abs(after), 1e-200))  # their ratio is finite
    remaining_k = np.abs(after) * step_s[:, None] / np.maximum(decay, 1e-12)
    return np.asarray((remaining_k < STEADY_K).all(axis=1))


def _note_crossings(front: _Front, course: Course, step: _Step) -> None:
    waiting = np.isinf(course.limit_s[front.row])
    crossing = np.flatnonzero(step.good & waiting & np.any(step.new_c >= front.limit_c, axis=1))
    if crossing.size == 0:
        return
    old_c, limit_c, h = front.t_c[crossing], front.limit_c[crossing], step.step_s[crossing]
    powers = np.tensordot(_DENSE.T, step.slopes[:, crossing], axes=1)
    fraction = _first_fraction(old_c, limit_c, powers, h)
    rows = front.row[crossing]
    course.limit_s[rows] = front.now_s[crossing] + fraction * h
    course.at_limit_c[rows] = np.minimum(_dense_c(old_c, powers, h, fraction), limit_c)


def _dense_c(old_c: FloatArray, powers: FloatArray, h: FloatArray, fraction: FloatArray) -> FloatArray:
    x = fraction[:, None]
    return np.asarray(old_c + h[:, None] * x * (powers[0] + x * (powers[1] + x * (powers[2] + x * powers[3]))))


def _first_fraction(old_c: FloatArray, limit_c: FloatArray, powers: FloatArray, h: FloatArray) -> FloatArray:
    low, high = np.zeros(h.size), np.ones(h.size)
    for _ in range(40):
        middle = 0.5 * (low + high)
        over = np.any(_dense_c(old_c, powers, h, middle) >= limit_c, axis=1)
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return high


def _drop_finished(front: _Front, course: Course, finished: NDArray[np.bool_]) -> None:
    if finished.any():
        course.end_c[front.row[finished]] = front.t_c[finished]
        front.keep(~finished)
