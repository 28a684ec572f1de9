"""What a sheet leaves out where the thickness steps: the current has to spread through the thickness there.

A potential that is the same through the thickness is one of those a plate may have, so the sheet's resistance is a
lower bound of the plate's. What is missing at a step on one face, from thickness a to b = k a and carrying the current
straight across, is the excess of a two-dimensional channel whose depth steps from 1 to k:

    X = [ (k^2 + 1)/k ln((k + 1)/(k - 1)) - 2 ln(4 k/(k^2 - 1)) ]/pi

in resistivity over the width of the channel (conformal map of the stepped channel, e.g. N. Marcuvitz, Waveguide
Handbook, 1951, section 5.26, from memory; tested against the solver itself). Along an edge of a region with the normal
sheet current j the power missing is ``rho X integral j^2 dl``. It is an estimate, good as long as a region is wide
against the plate's thickness; a step shared between both faces has half of it, a slope or a fillet less.
"""

import numpy as np

from griddesign.plate.field.bracket import Solution
from griddesign.plate.field.domain import Floats
from griddesign.plate.field.mesh import Mesh, behind_rim
from griddesign.plate.field.thickness import LEAST, corner_thickness


def step_excess(ratio: Floats) -> Floats:
    """X by the ratio of the two thicknesses, either way round; 0 for 1."""
    k = np.maximum(ratio, 1 / ratio)
    k = np.maximum(k, 1 + LEAST)
    excess: Floats = ((k**2 + 1) / k * np.log((k + 1) / (k - 1)) - 2 * np.log(4 * k / (k**2 - 1))) / np.pi
    return np.where(k > 1 + 2 * LEAST, excess, 0.0)


def squares_of_steps(solution: Solution, nominal: float) -> float:
    """Squares that the steps of the thickness may add; ``nominal``: the nominal thickness in the unit of the rings."""
    if (steps := _steps(solution)) is None:
        return 0.0
    mesh, first = solution.mesh, len(solution.mesh.rim.ends)
    triangle, side = (each[first:] for each in behind_rim(mesh, mesh.edges()))
    stream = solution.both.stream[triangle]
    row = np.arange(len(stream))
    flow = stream[row, (side + 1) % 3] - stream[row, side]
    return float(nominal * (step_excess(steps[0] / steps[1]) * flow**2 / _lengths(mesh)).sum())


def step_area(solution: Solution) -> float:
    """The area of all steps: their lengths times the relative thickness they step by."""
    steps = _steps(solution)
    return 0.0 if steps is None else float((_lengths(solution.mesh) * np.abs(steps[0] - steps[1])).sum())


def _steps(solution: Solution) -> Floats | None:
    """The relative thickness on both sides (2, n) of each edge of the seams, in its middle."""
    mesh = solution.mesh
    thick = corner_thickness(mesh, mesh.xy, solution.thickness)
    if mesh.seams is None or thick is None:
        return None
    edges, ends = mesh.edges(), mesh.seams.ends
    beside = [behind_rim(mesh, edges, other=other)[0][len(mesh.rim.ends) :] for other in (False, True)]
    at_edge = [(mesh.triangles[one][:, :, None] == ends[:, None, :]).any(axis=2) for one in beside]
    return np.array([(thick[one] * own).sum(axis=1) / 2 for one, own in zip(beside, at_edge, strict=True)])


def _lengths(mesh: Mesh) -> Floats:
    """The lengths of the edges of the seams."""
    assert mesh.seams is not None
    length: Floats = np.hypot(*(mesh.xy[mesh.seams.ends[:, 1]] - mesh.xy[mesh.seams.ends[:, 0]]).T)
    return length
