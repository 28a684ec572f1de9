"""An edge that the true arc of a seam runs across: exchanged for the other diagonal, or left alone."""

import numpy as np

from griddesign.plate.field.domain import Rim
from griddesign.plate.field.flips import flipped
from griddesign.plate.field.mesh import Mesh

NONE = np.full(4, -1)
# A sliver 0-1-2 whose point 1 is moved over its long side 0-2, and the triangle on the other side of that.
XY = np.array([(0.0, 0.0), (1.0, -0.01), (4.0, 0.0), (2.0, 3.0)])
OVER = XY + np.array([(0, 0), (0, 0.05), (0, 0), (0, 0)])


def two_triangles(rim: list[tuple[int, int]]) -> Mesh:
    ends = np.array(rim)
    return Mesh(
        XY, np.array([(0, 1, 2), (0, 2, 3)]), Rim(ends, NONE, NONE, NONE + 1, XY[:0], NONE, np.zeros((0, 2, 3, 2)))
    )


def areas(mesh: Mesh, xy: np.ndarray) -> np.ndarray:
    corner = xy[mesh.triangles]
    return 0.5 * np.linalg.det(corner[:, 1:] - corner[:, :1])


def test_the_long_side_of_a_turned_triangle_is_exchanged() -> None:
    mesh = two_triangles([(0, 1), (1, 2), (2, 3), (3, 0)])
    assert areas(mesh, OVER).min() < 0
    turned = flipped(mesh, mesh.edges(), np.array([True, False]), (XY, OVER))
    assert turned is not None
    assert areas(turned, XY).min() > 0 and areas(turned, OVER).min() > 0
    assert areas(turned, XY).sum() == areas(mesh, XY).sum()
    assert {1, 3} <= set(turned.triangles[0]) and {1, 3} <= set(turned.triangles[1])


def test_an_edge_of_rim_or_seam_stays_and_so_does_one_whose_exchange_would_not_help() -> None:
    mesh = two_triangles([(0, 2), (1, 2), (2, 3), (3, 0)])
    assert flipped(mesh, mesh.edges(), np.array([True, False]), (XY, OVER)) is None
    free = two_triangles([(0, 1), (1, 2), (2, 3), (3, 0)])
    far = XY + np.array([(0, 0), (0, 4.0), (0, 0), (0, 0)])
    assert flipped(free, free.edges(), np.array([True, False]), (XY, far)) is None
