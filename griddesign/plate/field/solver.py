"""The linear equations of a mesh: banded where it is strip-like, as plates are, else by a general sparse solver."""

import numpy as np

from griddesign.errors import GriddesignError
from griddesign.plate.field.domain import Floats, Ints

_WIDEST_BAND = 80  # beyond it the sparse solver is faster


class BracketError(GriddesignError, ArithmeticError):
    """The lower bound came out above the upper one, the bracket would not close, or its equations have no solution: the
    answer is withheld."""


def equilibrium(matrices: Floats, of_node: Ints, loads: Floats) -> Floats:
    """Unknowns (n, k) that balance ``loads`` (n, k), given element ``matrices`` (m, nodes, nodes).

    ``of_node`` (m, nodes) is the unknown of each node, -1 for none. The assembled matrix is positive definite.
    """
    from scipy.linalg import LinAlgError

    first, second = np.tril_indices(of_node.shape[1])
    one, other = of_node[:, first], of_node[:, second]
    used = (one >= 0) & (other >= 0)
    one, other, entry = one[used], other[used], matrices[:, first, second][used]
    below = np.abs(one - other)
    twice = (below == 0) & np.broadcast_to(first != second, used.shape)[used]  # tied nodes meet in both orders
    entry = np.where(twice, 2 * entry, entry)
    least, band = np.minimum(one, other), int(below.max(initial=0))
    if band <= _WIDEST_BAND:
        try:
            return _by_band(below, least, entry, band, loads)
        except LinAlgError:
            pass  # not definite by round-off in slivers of no width
    return _by_elimination(below, least, entry, loads)


def _by_band(below: Ints, column: Ints, entry: Floats, band: int, loads: Floats) -> Floats:
    """Cholesky of the lower diagonals."""
    from scipy.linalg import solveh_banded

    size = len(loads)
    diagonals = np.bincount(below * size + column, entry, minlength=(band + 1) * size).reshape(band + 1, size)
    solved: Floats = solveh_banded(diagonals, loads, overwrite_ab=True, lower=True, check_finite=False)
    return solved


def _by_elimination(below: Ints, column: Ints, entry: Floats, loads: Floats) -> Floats:
    """SuperLU without pivoting, minimum degree order. Raises BracketError where slivers leave nothing to solve."""
    from scipy.sparse import coo_array
    from scipy.sparse.linalg import splu

    row, off = column + below, below > 0
    rows, columns = np.concatenate([row, column[off]]), np.concatenate([column, row[off]])
    matrix = coo_array(
        (np.concatenate([entry, entry[off]]), (rows.astype(np.int32), columns.astype(np.int32))),
        shape=(len(loads),) * 2,
    )
    plain = {"SymmetricMode": True}
    try:
        factors = splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options=plain)
    except RuntimeError as error:  # exactly singular
        raise BracketError(
            "the equations of the mesh have no solution: it holds slivers of no width",
            hint="Look for webs and slits far narrower than the rest of the plate.",
        ) from error
    solved: Floats = factors.solve(loads)
    return solved
