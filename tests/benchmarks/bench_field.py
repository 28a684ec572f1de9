"""Time of the 0.1 % bracket on three twelve-pass plates, beside general tools where they are installed.

Run: ``python tests/benchmarks/bench_field.py``. The peers do the same two linear solves (P1 and Crouzeix-Raviart of
scikit-fem) with the same share refined per round, on a first mesh of netgen; they take polygons, so theirs is the
bracket of the polygon, ours that of the true arcs. Nothing is asserted: times belong to the machine.
"""

import time
from collections.abc import Callable
from math import asin, log, pi, sqrt, tan

import numpy as np

from griddesign.plate.field import Domain, RimTerminal, solved

WIDTH, GAP, HEIGHT, EYE, HOLE, FILLET = 10.0, 6.0, 241.0, 8.0, 6.5, 1.5
QUARTER = tan(pi / 8)
Path = list[tuple[tuple[float, float], float]]


def plate(kind: str, passes: int = 12) -> Domain:
    """A plate of ``passes`` passes of 10 mm with 6 mm gaps, 241 mm high, with round eyes below its first and last."""
    pitch, last = WIDTH + GAP, (passes - 1) * (WIDTH + GAP)
    right: Path = []
    left: Path = []
    for bend in range(passes - 1):
        x, up = bend * pitch, 1 if bend % 2 == 0 else -1
        edge = HEIGHT if up > 0 else 0.0
        inner, outer = (right, left) if up > 0 else (left, right)
        inner += _inner(kind, x + WIDTH, x + pitch, edge, up)
        outer += _outer(kind, x, x + pitch + WIDTH, edge, up)
    drop = sqrt(EYE**2 - (WIDTH / 2) ** 2)
    quarter = tan((2 * pi - 2 * asin(WIDTH / 2 / EYE)) / 8)
    eyes = [[((x, 0.0), quarter), ((x + WIDTH / 2, -drop - EYE), quarter), ((x + WIDTH, 0.0), 0.0)] for x in (0, last)]
    rim = [*eyes[0], *right, *eyes[1], *_backwards(left)]
    holes = [np.array([(x + WIDTH / 2 - HOLE, -drop), (x + WIDTH / 2 + HOLE, -drop)]) for x in (0, last)]
    rings = (np.array([point for point, _ in rim]), *holes)
    return Domain(
        rings, (RimTerminal(1), RimTerminal(2)), None, (np.array([b for _, b in rim]), np.ones(2), np.ones(2))
    )


def _inner(kind: str, left: float, right: float, edge: float, up: int) -> Path:
    y, turn = edge - up * WIDTH, -up
    if kind == "round":
        y -= up * GAP / 2
        return [((left, y), float(turn)), ((right, y), 0.0)]
    if kind == "square":
        return [((left, y), 0.0), ((right, y), 0.0)]
    low, bulge = y - up * FILLET, turn * QUARTER
    return [((left, low), bulge), ((left + FILLET, y), 0.0), ((right - FILLET, y), bulge), ((right, low), 0.0)]


def _outer(kind: str, left: float, right: float, edge: float, up: int) -> Path:
    y = edge - up * (WIDTH + GAP / 2) if kind == "round" else edge
    return [((left, y), -float(up) if kind == "round" else 0.0), ((right, y), 0.0)]


def _backwards(path: Path) -> Path:
    points, bulges = [point for point, _ in path][::-1], [-bulge for _, bulge in path]
    return list(zip(points, [*bulges[:-1][::-1], 0.0], strict=True))


def best(run: Callable[[], object], repeats: int = 7) -> float:
    """The least processor time of this thread, in seconds."""
    times = []
    for _ in range(repeats):
        start = time.thread_time()
        run()
        times.append(time.thread_time() - start)
    return min(times)


def polygons(domain: Domain, per_quarter: int = 16) -> list[np.ndarray]:
    """The rings with their arcs as chords, for tools that take polygons."""
    from griddesign.plate.field.ring import points_along

    rings = []
    for ring, bulges in zip(domain.rings, domain.bulges or (), strict=True):
        parts = []
        for start, end, bulge in zip(ring, np.roll(ring, -1, axis=0), bulges, strict=True):
            count = 1 if bulge == 0 else int(np.ceil(abs(bulge and 8 * np.arctan(bulge) / pi) * per_quarter - 1e-9))
            parts.append(points_along(start, end, float(bulge), np.arange(count) / count))
        rings.append(np.concatenate(parts))
    return rings


def peer(rings: list[np.ndarray], tolerance: float) -> tuple[float, float, int]:
    """The bracket by netgen's first mesh and scikit-fem's elements and refinement: low, high, triangles."""
    from netgen.geom2d import SplineGeometry
    from skfem import Basis, ElementTriCR, ElementTriP1, MeshTri, condense, solve
    from skfem.models.poisson import laplace

    geometry = SplineGeometry()
    for number, ring in enumerate(rings):
        points = [geometry.AppendPoint(*point) for point in ring]
        for start, end in zip(points, [*points[1:], points[0]], strict=True):
            sides = {"leftdomain": 1, "rightdomain": 0} if number == 0 else {"leftdomain": 0, "rightdomain": 1}
            geometry.Append(["line", start, end], bc=number + 1, **sides)
    first = geometry.GenerateMesh(maxh=WIDTH)
    xy = np.array([point.p[:2] for point in first.Points()])
    mesh = MeshTri(xy.T, np.array([[v.nr - 1 for v in element.vertices] for element in first.Elements2D()]).T)
    centres, reach = [ring.mean(axis=0) for ring in rings[1:]], HOLE * 1.01
    while True:
        fields = []
        for element in (ElementTriP1(), ElementTriCR()):
            basis = Basis(mesh, element)
            ends = [basis.get_dofs(mesh.facets_satisfying(_near(c, reach), boundaries_only=True)) for c in centres]
            matrix, value = laplace.assemble(basis), basis.zeros()
            value[ends[1].all()] = 1
            value = solve(*condense(matrix, x=value, D=np.concatenate([end.all() for end in ends])))
            fields.append((1 / (value @ (matrix @ value)), basis.interpolate(value).grad, basis.dx))
        (low, by_p1, dx), (high, by_cr, _) = fields
        if high / low - 1 <= tolerance:
            return low, high, mesh.t.shape[1]
        gap = (((by_p1 - by_cr) ** 2).sum(axis=0) * dx).sum(axis=1)
        order = np.argsort(-gap)
        mesh = mesh.refined(order[: int(np.searchsorted(np.cumsum(gap[order]), 0.6 * gap.sum())) + 1])


def _near(centre: np.ndarray, reach: float) -> Callable[[np.ndarray], np.ndarray]:
    return lambda x: np.hypot(x[0] - centre[0], x[1] - centre[1]) < reach


def main() -> None:
    """Print the table."""
    for kind in ("square", "fillet", "round"):
        domain = plate(kind)
        ours, found = best(lambda domain=domain: solved(domain)), solved(domain).bracket
        line = f"{kind:7} ours {1000 * ours:6.0f} ms, {found.triangles} triangles, [{found.low:.3f}, {found.high:.3f}]"
        try:
            rings = polygons(domain)
            theirs = best(lambda rings=rings: peer(rings, 1e-3), 3)
            line += f"; general mesher and library {1000 * theirs:6.0f} ms, {theirs / ours:.1f} times ours"
        except ImportError as missing:
            line += f"; no peer here ({missing.name})"
        print(line)
    sizes = (6, 12, 24, 48)
    times = [best(lambda n=n: solved(plate("round", n)), 3) for n in sizes]
    growth = log(times[-1] / times[0]) / log(sizes[-1] / sizes[0])
    print("round, passes", sizes, [f"{1000 * t:.0f} ms" for t in times], f"growth exponent {growth:.2f}")


if __name__ == "__main__":
    main()
