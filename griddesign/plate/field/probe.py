"""What is read off a solved field: potentials for drawing, and four-terminal resistances."""

from dataclasses import dataclass, replace

import numpy as np

from griddesign.errors import GeometryError
from griddesign.plate.field.bracket import Bracket, solved
from griddesign.plate.field.domain import Domain, Floats, Ints
from griddesign.plate.field.elements import conducting, energy, minimised, nodes_of, potential_start, stiffness
from griddesign.plate.field.mesh import Mesh
from griddesign.plate.field.thickness import corner_thickness


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """The solved field for drawing.

    ``xy`` (n, 2) points, ``triangles`` (m, 3), ``potential`` (n,) from 0 at the first terminal to 1 at the second.
    """

    xy: Floats
    triangles: Ints
    potential: Floats
    bracket: Bracket


def field(domain: Domain, tolerance: float = 1e-3) -> Field:
    """Mesh and potential of ``domain``, solved to the same bracket as ``squares``. Raises as ``squares``."""
    solution = solved(domain, tolerance)
    mesh = solution.mesh
    potential = np.empty(len(mesh.xy))
    potential[mesh.triangles] = solution.both.potential[:, :3]
    return Field(mesh.xy, mesh.triangles, potential, solution.bracket)


def transfer_squares(domain: Domain, tolerance: float = 1e-4) -> tuple[float, float]:
    """Four-terminal squares: volts from terminal 2 to 3 per ampere from 0 to 1, and the same with the pairs exchanged.

    The two are equal (reciprocity, H. A. Lorentz 1895 and later, from memory); both are given because that is a check.
    There is no bracket of a transfer resistance: ``tolerance`` is that of the bracket between terminals 0 and 1 on the
    same mesh.

    Raises:
        GeometryError: not four terminals; else as ``squares``.
    """
    if len(domain.terminals) != 4:
        raise GeometryError(f"a four-terminal resistance needs four terminals, got {len(domain.terminals)}")
    mesh = solved(domain, tolerance).mesh
    exchanged = np.append([2, 3, 0, 1], -1)[mesh.rim.terminal]
    swapped = replace(mesh, rim=replace(mesh.rim, terminal=exchanged))
    return _transfer(mesh, domain), _transfer(swapped, domain)


def _transfer(mesh: Mesh, domain: Domain) -> float:
    nodes = nodes_of(mesh, mesh.edges(), 2)
    matrices = stiffness(mesh.xy, mesh.triangles, 2, conducting(corner_thickness(mesh, mesh.xy, domain.thickness)))
    values = minimised(matrices, nodes, *potential_start(mesh, nodes))
    potential = np.empty(nodes.total)
    potential[nodes.of_triangle] = values
    at = [potential[mesh.rim.ends[mesh.rim.terminal == terminal, 0][0]] for terminal in (2, 3)]
    return float((at[1] - at[0]) / energy(matrices, values).sum())
