"""Percentiles, chances and shares of what was drawn."""

from collections.abc import Mapping

import numpy as np

from griddesign.heat.air import FloatArray

STARTS_A_SIGN = 20
"""So many starts for every number the shares are fitted by, or none are told."""
_SURE = 0.975


def chance_range(broken: int, starts: int) -> tuple[float, float]:
    """The 95 per cent range of a chance of which ``broken`` of ``starts`` were seen; none of N is not never.

    Exact for the binomial law: C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404. None of N gives a high end of
    ``1 - 0.025^(1/N)``, about 3.7/N.
    """
    from scipy.special import betaincinv

    low = 0.0 if broken == 0 else float(betaincinv(broken, starts - broken + 1, 1.0 - _SURE))
    high = 1.0 if broken == starts else float(betaincinv(broken + 1, starts - broken, _SURE))
    return low, high


def shares(causes: Mapping[str, FloatArray], found: FloatArray) -> tuple[dict[str, FloatArray], FloatArray] | None:
    """Share of each cause in the variance of each quantity, and what is left for their acting together.

    ``causes``: numbers (rows, N) by cause, independent from cause to cause; ``found`` (quantities, N). Returns arrays
    (quantities,). None where there are fewer than STARTS_A_SIGN starts a row.

    A regression on the numbers of all causes, with squares of those that are one number a start; share = covariance of
    the cause's part with the quantity over the quantity's variance. With independent causes that is the first-order
    share of the variance (the measure of I. M. Sobol', Math. Comput. Simul. 55 (2001) 271) as far as straight lines
    and parabolas follow it. The shares add up to the regression's R2, and 1 - R2 is what is left. Either half of the
    starts is judged by the fit to the other, so that many numbers and few starts feign no share.
    """
    signs, names = _signs(causes)
    if signs.shape[1] < STARTS_A_SIGN * max(signs.shape[0], 1):
        return None
    halves = np.arange(signs.shape[1]) % 2
    parts, variance = {name: np.zeros(found.shape[0]) for name in causes}, np.zeros(found.shape[0])
    for half in (0, 1):
        slopes = _slopes(_centred(signs[:, halves != half]), _centred(found[:, halves != half]))
        numbers, here = _centred(signs[:, halves == half]), _centred(found[:, halves == half])
        moved = slopes * (here @ numbers.T)
        variance += (here**2).sum(axis=1)
        for name in causes:
            parts[name] += moved[:, [of == name for of in names]].sum(axis=1)
    variance = np.where(variance > 0.0, variance, 1.0)
    told = {name: part / variance for name, part in parts.items()}
    return told, 1.0 - np.sum(list(told.values()), axis=0)


def _centred(rows: FloatArray) -> FloatArray:
    return np.asarray(rows - rows.mean(axis=1, keepdims=True))


def _signs(causes: Mapping[str, FloatArray]) -> tuple[FloatArray, list[str]]:
    """Numbers on one scale (rows, N) and the cause of each row; rows that never change are left out."""
    rows, names = [np.empty((0, next(iter(causes.values())).shape[1]))], []
    for name, numbers in causes.items():
        spread = numbers.std(axis=1, keepdims=True)
        moved = spread[:, 0] > 1e-12 * (1.0 + np.abs(numbers).max(axis=1))
        scaled = (numbers[moved] - numbers[moved].mean(axis=1, keepdims=True)) / spread[moved]
        whole = np.concatenate([scaled, scaled**2]) if scaled.shape[0] == 1 and _more_than_two(scaled[0]) else scaled
        rows.append(whole)
        names += [name] * whole.shape[0]
    return np.concatenate(rows), names


def _more_than_two(row: FloatArray) -> bool:
    return np.unique(row[:100]).size > 2


def _slopes(signs: FloatArray, found: FloatArray) -> FloatArray:
    """Least squares of the quantities on the signs, (quantities, rows); rows that say the same share the slope."""
    return np.asarray(np.linalg.lstsq(signs @ signs.T, signs @ found.T, rcond=1e-10)[0].T)
