"""Time of the 0.1 % bracket on three twelve-pass plates, beside general tools where they are installed.

Run: ``OPENBLAS_NUM_THREADS=1 python tests/benchmarks/bench_field.py``. Optional peers, never needed: the mesher
``triangle`` and, for the general library, ``netgen`` with ``scikit-fem``. Both do P1 and Crouzeix-Raviart and refine
where they differ; ``triangle`` refines by its own area constraints. They take polygons (16 chords to a quarter circle),
so theirs is the bracket of the polygon, ours that of the true arcs. A third peer puts our own solves on the first mesh
of ``triangle``: what our mesher costs. Processor time of one thread, best of several; nothing is asserted.
"""

import time
from collections.abc import Callable
from math import asin, log, pi, sqrt, tan

import numpy as np
import shapely
from scipy.sparse import coo_array
from scipy.sparse.linalg import splu

from griddesign.plate.field import Domain, RimTerminal, solved
from griddesign.plate.field.domain import Rim, cross
from griddesign.plate.field.elements import energy, solve_both, stiffness
from griddesign.plate.field.mesh import Mesh
from griddesign.plate.field.refine import refined
from griddesign.plate.field.ring import points_along

WIDTH, GAP, HEIGHT, EYE, HOLE, FILLET = 10.0, 6.0, 241.0, 8.0, 6.5, 1.5
QUARTER = tan(pi / 8)
TURNS = 3
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


def _mesh_of(found: dict[str, np.ndarray]) -> Mesh:
    """A mesh of ``triangle`` as one of ours: segments with the metal on their left, holes as terminals."""
    triangles, xy = found["triangles"].astype(np.intp), found["vertices"]
    ends, mark = found["segments"].astype(np.intp), found["segment_markers"].ravel()
    keys = np.sort((triangles * len(xy) + np.roll(triangles, -1, axis=1)).ravel())
    wanted = ends @ [len(xy), 1]
    backward = keys[np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)] != wanted
    ends[backward] = ends[backward][:, ::-1]
    none = np.full(len(ends), -1)
    return Mesh(xy, triangles, Rim(ends, none, mark - 3, mark - 2, np.zeros((0, 2)), none, np.zeros((0, 2, 3, 2))))


def _first_of_triangle(rings: list[np.ndarray]) -> dict[str, np.ndarray]:
    """Triangle's first mesh, no angle under 25 degrees; ring k has mark k + 2."""
    from triangle import triangulate

    count = [len(ring) for ring in rings]
    start = np.repeat(np.cumsum([0, *count[:-1]]), count)
    place = np.concatenate([np.arange(n) for n in count])
    segments = np.column_stack([start + place, start + (place + 1) % np.repeat(count, count)])
    marks = np.repeat(np.arange(len(rings)) + 2, count)[:, None]
    holes = np.array([ring.mean(axis=0) for ring in rings[1:]])
    plane = {"vertices": np.concatenate(rings), "segments": segments, "segment_markers": marks, "holes": holes}
    return triangulate(plane, f"pq25a{WIDTH**2}")


def _least(matrices: np.ndarray, of_node: np.ndarray, fixed: np.ndarray) -> np.ndarray:
    """Values of least energy, nan in ``fixed`` where free, by SuperLU."""
    rows, columns = np.repeat(of_node, 3, axis=1).ravel(), np.tile(of_node, 3).ravel()
    matrix = coo_array((matrices.ravel(), (rows, columns)), shape=(len(fixed),) * 2).tocsr()
    free, values = np.isnan(fixed), np.nan_to_num(fixed)
    inner = matrix[free][:, free].tocsc()
    factors = splu(inner, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    values[free] = factors.solve(-(matrix @ values)[free])
    return values


def peer_of_triangle(rings: list[np.ndarray], tolerance: float) -> tuple[float, float, int]:
    """The bracket by Triangle's meshes and refinement with P1 and Crouzeix-Raviart: low, high, triangles."""
    from triangle import triangulate

    found = _first_of_triangle(rings)
    while True:
        mesh = _mesh_of(found)
        edges, owner = mesh.edges(), mesh.rim.terminal
        linear = stiffness(mesh.xy, mesh.triangles, 1)
        of_edge = edges.of_triangle[:, [1, 2, 0]]  # the side opposite each corner
        at_points, at_edges = np.full(len(mesh.xy), np.nan), np.full(len(edges.ends), np.nan)
        on_rim = edges.numbers(mesh.rim.ends, len(mesh.xy))
        for terminal in (0, 1):
            at_points[mesh.rim.ends[owner == terminal]] = at_edges[on_rim[owner == terminal]] = terminal
        p1 = _least(linear, mesh.triangles, at_points)[mesh.triangles]
        cr = -2 * _least(4 * linear, of_edge, at_edges)[of_edge]
        low, high = 1 / energy(linear, p1).sum(), 1 / energy(linear, cr).sum()
        if high / low - 1 <= tolerance:
            return low, high, len(mesh.triangles)
        gap = energy(linear, p1 - cr)
        share = min(0.9, max(0.5, 1.5 * (1 - 0.8 * tolerance / (high / low - 1))))  # better than the same in each round
        order = np.argsort(-gap)
        marked = order[: int(np.searchsorted(np.cumsum(gap[order]), share * gap.sum())) + 1]
        corner = mesh.xy[mesh.triangles]
        found["triangle_max_area"] = np.full((len(gap), 1), -1.0)
        found["triangle_max_area"][marked, 0] = (
            cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0])[marked] / 6
        )
        found = triangulate(found, "prq25a")


def our_solves_on_triangle(rings: list[np.ndarray], tolerance: float) -> tuple[float, float, int]:
    """The bracket of the polygon by our solves and refinement from Triangle's first mesh: low, high, triangles."""
    mesh = _mesh_of(_first_of_triangle(rings))
    while True:
        edges = mesh.edges()
        both = solve_both(mesh, edges, (mesh.xy, mesh.xy), None, 2)
        if both.high / both.low - 1 <= tolerance:
            return both.low, both.high, len(mesh.triangles)
        order = np.argsort(-np.abs(both.gap))
        marked = np.zeros(len(order), dtype=bool)
        marked[order[: int(np.searchsorted(np.cumsum(np.abs(both.gap)[order]), 0.8 * np.abs(both.gap).sum())) + 1]] = (
            True
        )
        mesh = refined(mesh, edges, marked, np.array([], dtype=np.intp))


PEERS = {
    "triangle, P1 + CR": peer_of_triangle,
    "triangle, our solves": our_solves_on_triangle,
    "netgen, scikit-fem": peer,
}


def beside(rings: list[np.ndarray], domain: Domain) -> str:
    """Our time and those of the peers, taken in turns so that a busy machine is unkind to all alike."""
    tasks: dict[str, Callable[[], object]] = {"ours": lambda: solved(domain)}
    line = ""
    for name, task in PEERS.items():
        try:
            low, high, count = task(rings, 1e-3)
        except ImportError as missing:
            line += f"\n    {name}: not here ({missing.name})"
            continue
        tasks[name] = lambda task=task: task(rings, 1e-3)
        line += f"\n    {name}: {count} triangles, [{low:.3f}, {high:.3f}]"
    times = dict.fromkeys(tasks, float("inf"))
    for _ in range(TURNS):
        times = {name: min(times[name], best(task, 1 if "netgen" in name else TURNS)) for name, task in tasks.items()}
    ratios = [f"{name} {1000 * t:.0f} ms = {t / times['ours']:.2f} times ours" for name, t in times.items()]
    return line + "\n    " + "; ".join(ratios)


def traced(vertices: int) -> Domain:
    """The round plate with its rim traced at so many places, each a little off."""
    domain = plate("round")
    rim, *holes = polygons(domain)
    ring = shapely.LinearRing(rim)
    at = np.linspace(0, ring.length, vertices, endpoint=False)
    points = shapely.get_coordinates(shapely.line_interpolate_point(ring, at))
    noise = np.random.default_rng(1).uniform(-0.15, 0.15, points.shape) * min(ring.length / vertices, 0.3)
    return Domain((points + noise, *holes), domain.terminals)


def chorded(per_quarter: int) -> Domain:
    """The round plate with so many chords to a quarter circle."""
    return Domain(tuple(polygons(plate("round"), per_quarter)), plate("round").terminals)


def growth(name: str, domains: list[Domain]) -> None:
    """Print the times of ever larger outlines and the exponent with which they grow."""
    sizes = [len(domain.rings[0]) for domain in domains]
    times = [best(lambda domain=domain: solved(domain), 3) for domain in domains]
    exponent = log(times[-1] / times[0]) / log(sizes[-1] / sizes[0])
    print(f"{name}, vertices", sizes, [f"{1000 * t:.0f} ms" for t in times], f"growth exponent {exponent:.2f}")


def main() -> None:
    """Print the tables."""
    for kind in ("square", "fillet", "round"):
        domain = plate(kind)
        found = solved(domain).bracket
        print(f"{kind}: ours {found.triangles} triangles, [{found.low:.3f}, {found.high:.3f}]", end="")
        print(beside(polygons(domain), domain))
    growth("round, 6 to 48 passes", [plate("round", n) for n in (6, 12, 24, 48)])
    growth("traced", [traced(n) for n in (1000, 4000, 20000)])
    growth("chorded", [chorded(n) for n in (20, 80, 400)])


if __name__ == "__main__":
    main()
