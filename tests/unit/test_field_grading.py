"""The first mesh made finer at sharp corners, and limits that end in words."""

import numpy as np
import pytest

from griddesign.errors import GeometryError
from griddesign.plate.field import BracketError, Domain, RimTerminal, squares
from griddesign.plate.field import bracket as bracket_module
from griddesign.plate.field import mesh as mesh_module
from griddesign.plate.field.grading import graded, mesh_width
from griddesign.plate.field.mesh import triangulated
from griddesign.plate.field.rim import rim_of

CORNER = np.array([(0, 0), (1, 0), (1, 5), (6, 5), (6, 6), (0, 6.0)])  # inner corner at (1, 5)
BENT = Domain((CORNER,), (RimTerminal(0, (0,)), RimTerminal(0, (3,))))


@pytest.mark.parametrize(("tolerance", "halvings"), [(1e-1, 0), (1e-2, 0), (1e-3, 3), (1e-4, 5)])
def test_triangles_at_a_sharp_corner_suit_the_bracket(tolerance: float, halvings: int) -> None:
    mesh = triangulated(*rim_of(BENT))
    finer = graded(mesh, tolerance)
    (at,) = np.flatnonzero((finer.xy == (1, 5)).all(axis=1))
    near = finer.xy[finer.triangles[(finer.triangles == at).any(axis=1)]]
    longest = np.hypot(*(near - np.roll(near, 1, axis=1)).T).max()
    assert longest <= 2 * mesh_width(mesh) / 2**halvings
    assert (len(finer.triangles) == len(mesh.triangles)) == (halvings == 0)


def test_a_bend_needs_one_solve() -> None:
    assert squares(BENT).rounds == 1
    assert squares(BENT).value == pytest.approx(2 * 5 + 1 - 2 * np.log(2) / np.pi, rel=1e-4)


def test_a_jagged_rim_is_fine_enough_as_it_is() -> None:
    x = np.linspace(0, 6, 241)
    teeth = np.column_stack([x, 0.02 * (np.arange(241) % 2)])
    rim = np.concatenate([teeth, [(6, 1), (0, 1)]])
    mesh = triangulated(*rim_of(Domain((rim,), (RimTerminal(0, (240,)), RimTerminal(0, (242,))))))
    assert graded(mesh, 1e-3) is mesh


def test_a_mesh_beyond_all_measure_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bracket_module, "_TRIANGLES", 200)
    with pytest.raises(BracketError, match=r"did not close to 0.0001 %: that wants more than 200 triangles") as refused:
        squares(BENT, 1e-6)
    assert "fewer edges" in refused.value.hint
    monkeypatch.setattr(mesh_module, "_POINTS", 10)
    with pytest.raises(GeometryError, match="more than 10 points to mesh") as refused_mesh:
        squares(BENT, 1e-6)
    assert "fewer edges" in refused_mesh.value.hint
