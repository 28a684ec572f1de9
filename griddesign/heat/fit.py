"""The loss factor from a heat run: what a bank really loses over what the model says, fitted to its temperatures.

The plate of the model (one lump inside a stack) is run through the same currents and times as the bank, and the factor
on its loss and its temperature at the first reading are chosen so that the squares of the misses are least:

    C(T) dT/dt = I^2 R20 r(T) - factor loss(T)

A heat run tells loss over heat capacity: an error of the mass or the specific heat goes into the factor, where it does
no harm as long as the factor is used with the same mass and specific heat.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Self

import numpy as np
from numpy.typing import NDArray

from griddesign.errors import InputError
from griddesign.heat.air import FloatArray
from griddesign.heat.lumps import AS_GIVEN, LumpShelf, LumpTables
from griddesign.heat.march import march
from griddesign.heat.records import HeatedSection, PlateBody, Stack
from griddesign.metals import Metal

FEWEST_READINGS = 4
LEAST_RISE_K = 20.0
FOLLOWS = 0.1
"""The model follows a run where the misses are within this share of its greatest rise (our rule, no source)."""
_SURE = 0.975
_ROUNDS = 30
_SAME, _SAME_K = 1e-4, 0.01
"""Far under what any run tells, and above the grain of the marched temperatures."""
_FACTOR_STEP, _START_STEP_K = 0.01, 0.5
_LAG_TOP = 0.95  # misses that follow each other more closely tell one thing: the error grows 6-fold (ours, no source)


@dataclass(frozen=True, slots=True)
class HeatRun:
    """A heat run of one plate of a stack: seconds, degC and amperes in the plate at the readings, air in degC."""

    time_s: tuple[float, ...]
    t_c: tuple[float, ...]
    plate_a: tuple[float, ...]
    ambient_c: float

    @property
    def rise_k(self) -> float:
        """The greatest rise over the air, K."""
        return max(self.t_c) - self.ambient_c


@dataclass(frozen=True, slots=True)
class LossFit:
    """The factor on the modelled loss with its 95 per cent range, and how well the model then follows the run.

    ``residual_k`` is the root of the mean square of the misses, ``worst_k`` the largest, ``start_c`` the temperature
    at the first reading as fitted, ``rise_k`` the greatest rise of the run, ``readings`` how many there were.
    """

    factor: float
    low: float
    high: float
    residual_k: float
    worst_k: float
    start_c: float
    rise_k: float
    readings: int

    @property
    def follows(self) -> bool:
        """Whether the model with this factor follows the run at all."""
        return self.residual_k <= FOLLOWS * self.rise_k


def fit_loss(body: PlateBody, stack: Stack, run: HeatRun) -> LossFit:
    """The loss factor of a plate inside ``stack`` by least squares (Gauss and Newton) over all readings.

    The current is taken to run straight from reading to reading. The range is that of the linearised fit at 95 per
    cent (Student's t), widened by ``sqrt((1 + r) / (1 - r))`` for the lag-one autocorrelation r of the misses, since
    neighbouring readings tell less than independent ones (G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc. Suppl. 8
    (1946) 184; formula for a first-order process). It holds what the run can tell, not what another bank would differ.

    Raises InputError on fewer than four readings, readings that do not follow each other in time, a bank never 20 K
    over the air, temperatures above the metal's table, or a run that tells nothing of the loss.
    """
    _refuse_poor(body, run)
    return fitted(Bench.of(body, stack, run), run)


def fitted(bench: "Bench", run: HeatRun) -> LossFit:
    """The same for a plate laid out already, whatever its laws. Raises InputError on a run that tells nothing."""
    at = np.array([1.0, run.t_c[0]])
    for _ in range(_ROUNDS):
        modelled, slopes = bench.course(at)
        misses = np.array(run.t_c) - modelled
        normal = slopes.T @ slopes
        if not np.linalg.cond(normal / np.outer(*[np.sqrt(np.diag(normal))] * 2)) < 1e8:
            raise _tells_nothing()
        change = np.linalg.solve(normal, slopes.T @ misses)
        change[0] = np.clip(change[0], -0.5 * at[0], at[0])
        at = at + change
        if abs(change[0]) < _SAME * at[0] and abs(change[1]) < _SAME_K:
            return _told(run, at, misses, np.asarray(np.linalg.inv(normal), dtype=np.float64))
    raise _tells_nothing()


def temperatures_by_ohms(metal: Metal, ohm: FloatArray, known_ohm: float, known_c: float) -> FloatArray:
    """Mean temperatures of a bank from its ohms, degC: ``r(T) = r(known) ohm / known_ohm`` read backwards.

    Raises InputError where the metal's ohms hardly change with temperature, or run above its table.
    """
    grid_c = np.arange(-50.0, metal.top_c + 0.5, 1.0)
    ratio = np.asarray(metal.ratio(grid_c))
    if not np.all(np.diff(ratio) > 1e-5):
        raise InputError(
            f"the ohms of {metal.key} change too little with temperature to tell it",
            hint="Give the temperatures themselves.",
        )
    wanted = float(metal.ratio(known_c)) * np.asarray(ohm) / known_ohm
    if float(wanted.max()) > ratio[-1] or float(wanted.min()) < ratio[0]:
        raise InputError(
            f"ohms of {float(np.max(ohm)):.4g} lie outside the table of {metal.key}",
            hint="Check the ohms, and the reading that gives both ohms and temperature.",
        )
    return np.asarray(np.interp(wanted, ratio, grid_c))


@dataclass(frozen=True, slots=True, eq=False)
class _Plates:
    """The plate three times side by side, with a factor and a mean square current each."""

    tables: LumpTables
    r20_ohm: float
    factor: FloatArray
    square_a2: float

    def rate(self, t_c: FloatArray) -> FloatArray:
        """dT/dt, K/s."""
        ratio, heat_j_k, loss_w = self.tables.read(np.zeros(t_c.shape, dtype=np.intp), t_c)
        return (self.square_a2 * self.r20_ohm * ratio - self.factor[:, None] * loss_w) / heat_j_k

    def take(self, keep: NDArray[np.intp]) -> Self:
        """Only the plates ``keep``."""
        return type(self)(self.tables, self.r20_ohm, self.factor[keep], self.square_a2)


@dataclass(frozen=True, slots=True)
class Bench:
    """The run laid out: the plate's laws, spans between readings and the mean square of the current in each."""

    tables: LumpTables
    r20_ohm: float
    spans_s: tuple[float, ...]
    squares_a2: tuple[float, ...]

    @classmethod
    def of(cls, body: PlateBody, stack: Stack, run: HeatRun) -> Self:
        """A plate inside the stack."""
        shelf = LumpShelf()
        shelf.number(HeatedSection("", body, 1, 1, stack, body.metal.top_c), AS_GIVEN, run.ambient_c)
        spans = tuple(after - before for before, after in pairwise(run.time_s))
        squares = tuple((one * one + one * two + two * two) / 3.0 for one, two in pairwise(run.plate_a))
        return cls(shelf.tables(), body.cold_ohm, spans, squares)

    def course(self, at: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Temperatures at the readings, and their slopes along factor and first temperature (readings, 2)."""
        factor = at[0] * np.array([1.0, 1.0 + _FACTOR_STEP, 1.0])
        now_c = at[1] + np.array([[0.0], [0.0], [_START_STEP_K]])
        never, passed = np.full((3, 1), np.inf), [now_c]
        for span_s, square_a2 in zip(self.spans_s, self.squares_a2, strict=True):
            system = _Plates(self.tables, self.r20_ohm, factor, square_a2)
            now_c = march(system, now_c, never, never, np.full(3, span_s)).end_c
            passed.append(now_c)
        t_c = np.concatenate(passed, axis=1)
        slopes = np.stack([(t_c[1] - t_c[0]) / (at[0] * _FACTOR_STEP), (t_c[2] - t_c[0]) / _START_STEP_K], axis=1)
        return t_c[0], slopes


def _told(run: HeatRun, at: FloatArray, misses: FloatArray, inverse: FloatArray) -> LossFit:
    from scipy.special import stdtrit

    left = misses.size - at.size
    lag_one = float(np.clip((misses[1:] @ misses[:-1]) / max(float(misses @ misses), 1e-30), 0.0, _LAG_TOP))
    error = math.sqrt(float(misses @ misses) / left * float(inverse[0, 0]) * (1.0 + lag_one) / (1.0 - lag_one))
    half = float(stdtrit(left, _SURE)) * error
    return LossFit(
        factor=float(at[0]),
        low=max(float(at[0]) - half, 0.0),
        high=float(at[0]) + half,
        residual_k=math.sqrt(float(np.mean(misses**2))),
        worst_k=float(np.abs(misses).max()),
        start_c=float(at[1]),
        rise_k=run.rise_k,
        readings=misses.size,
    )


def _refuse_poor(body: PlateBody, run: HeatRun) -> None:
    if len(run.time_s) < FEWEST_READINGS:
        raise InputError(
            f"{len(run.time_s)} readings tell no loss", hint=f"Give at least {FEWEST_READINGS}, a minute or more apart."
        )
    if any(after <= before for before, after in pairwise(run.time_s)):
        raise InputError("the readings do not follow each other in time", hint="Put them in order.")
    if run.rise_k < LEAST_RISE_K:
        raise InputError(
            f"the bank is never more than {run.rise_k:.3g} K above the air of {run.ambient_c:.3g} degC",
            hint=f"Heat it by {LEAST_RISE_K:.0f} K at least: what it loses must show.",
        )
    if max(run.t_c) > body.metal.top_c:
        top_c = body.metal.top_c
        raise InputError(
            f"the run reaches {max(run.t_c):.4g} degC, the table of {body.metal.key} ends at {top_c:.4g} degC",
            hint="Leave out the readings above.",
        )


def _tells_nothing() -> InputError:
    return InputError(
        "the heat run does not settle on a loss factor",
        hint="Run it longer, and let the bank cool: what it loses must show against what it stores.",
    )
