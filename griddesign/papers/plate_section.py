"""The cross-section of the strip, drawn larger beside the plate: width Ω, thickness at mid width and at the edge."""

from math import cos, pi, sin, tan

from griddesign.papers.dxf_board import Board, Look, Point, length_words
from griddesign.papers.scales import largest
from griddesign.plate.shapes import Zigzag

WIDE_MM = 44.0
"""Paper the section takes across, dimensions included."""
_STRIP_MM, _THICK_MM = 20.0, 16.0  # the most the strip itself may take on paper
_LEFT_MM, _ABOVE_MM = 12.0, 12.0


def draw_section(board: Board, shape: Zigzag, corner: Point, thick_half_m: float | None = None) -> float:
    """Draw the section, dimensions included, right of and below ``corner``; returns the height of its foot, metres.

    ``thick_half_m``: plus and minus on the thickness.
    """
    scale = largest(min(_STRIP_MM / shape.strip_width_m, _THICK_MM / shape.thickness_m) / 1000.0, board.unit)
    enlarged = scale.factor / board.scale.factor
    wide, mm = shape.strip_width_m * enlarged, board.paper_m
    centre = (corner[0] + _LEFT_MM * mm + wide / 2.0, corner[1] - _ABOVE_MM * mm - shape.thickness_m * enlarged / 2.0)
    ring = board.loop(
        [(x * enlarged + centre[0], y * enlarged + centre[1], b) for x, y, b in _corners(shape)], "SECTION"
    )
    board.hatch(ring)
    _dimension(board, shape, centre, enlarged, thick_half_m)
    foot = centre[1] - shape.thickness_m * enlarged / 2.0 - 8.0 * mm
    board.words((corner[0], foot), f"Section of strip, {scale}")
    if shape.edge_radius_m:
        foot -= 4.0 * mm
        board.words((corner[0], foot), f"edges R {length_words(shape.edge_radius_m, board.unit)}")
    return foot


def _dimension(board: Board, shape: Zigzag, centre: Point, enlarged: float, thick_half_m: float | None) -> None:
    (x, y), mm = centre, board.paper_m
    half_wide, half_thick = shape.strip_width_m * enlarged / 2.0, shape.thickness_m * enlarged / 2.0
    edge_m = shape.thickness_m if shape.edge_thickness_m is None else shape.edge_thickness_m
    half_edge = edge_m * enlarged / 2.0
    board.across((x - half_wide, y), (x + half_wide, y), y + half_thick + 6.0 * mm, Look("Ω: ", "", enlarged, True))
    at = x + half_wide + 8.0 * mm
    after = "" if thick_half_m is None else f" ±{length_words(thick_half_m, board.unit)}"
    board.upright((x, y - half_thick), (x, y + half_thick), at, Look(after=after, enlarged=enlarged))
    if shape.edge_thickness_m is not None:
        at = x - half_wide - 5.0 * mm
        ends = (x - half_wide, y - half_edge), (x - half_wide, y + half_edge)
        board.upright(*ends, at, Look(after=after, enlarged=enlarged))


def _corners(shape: Zigzag) -> list[tuple[float, float, float]]:
    """The section about its centre as x, y, bulge: six corners, the four at the edges rounded where the shape says so.

    A rounded corner turns through ``pi/2 - slope``; its arc begins ``e tan(turn/2)`` from the sharp corner.
    """
    half_w, half_t = shape.strip_width_m / 2.0, shape.thickness_m / 2.0
    half_e = half_t if shape.edge_thickness_m is None else shape.edge_thickness_m / 2.0
    turn = pi / 2.0 - shape.edge_slope_rad
    back, bulge = shape.edge_radius_m * tan(turn / 2.0), tan(turn / 4.0) if shape.edge_radius_m else 0.0
    along = (back * cos(shape.edge_slope_rad), back * sin(shape.edge_slope_rad))
    points: list[tuple[float, float, float]] = []
    for sx, sy in ((1, -1), (1, 1), (-1, 1), (-1, -1)):
        on_edge = (sx * half_w, sy * (half_e - back), 0.0)
        on_face = (sx * (half_w - along[0]), sy * (half_e + along[1]), 0.0)
        first, second = (on_edge, on_face) if sx * sy > 0 else (on_face, on_edge)
        points += [(first[0], first[1], bulge), second] if back else [(sx * half_w, sy * half_e, 0.0)]
        if sy == 1 and sx == 1:
            points.append((0.0, half_t, 0.0))
    return [*points, (0.0, -half_t, 0.0)]
