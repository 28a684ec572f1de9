"""Marks as a DXF drawing: a straight stays one line, a circle one circle, at true size."""

import pytest

from griddesign.papers.dxf_library import read_dxf
from griddesign.papers.marks import Group, circle, line, rectangle
from griddesign.papers.picture_dxf import Layered, dxf_of
from griddesign.papers.scales import Scale


def drawn(*marks):
    """The entities of marks drawn at 1:2, in millimetres."""
    document = read_dxf(dxf_of([Layered({"OUTLINE": marks}, Scale(1, 2))], "mm"))
    return list(document.modelspace())


def test_a_circle_stays_a_circle_wherever_it_is_moved():
    (one,) = drawn(Group(10.0, 4.0, (circle(3.0, 2.0, 1.5, 0.7),)))
    assert one.dxftype() == "CIRCLE"
    assert (one.dxf.center.x, one.dxf.center.y) == pytest.approx((26.0, -12.0))
    assert one.dxf.radius == pytest.approx(3.0)
    assert one.dxf.lineweight == 70


def test_what_only_looks_like_a_circle_keeps_its_points():
    steps = list(circle(3.0, 2.0, 1.5).steps)
    kind, numbers = steps[1]
    steps[1] = kind, (*numbers[:2], numbers[2], numbers[3] + 0.2, *numbers[4:])
    (one,) = drawn(type(circle(0.0, 0.0, 1.0))(tuple(steps)))
    assert one.dxftype() == "LWPOLYLINE" and len(one) == 33


def test_a_straight_is_one_line_and_a_box_one_polyline():
    straight, box = drawn(line(0.0, 0.0, 5.0, 2.0, dash_mm=(1.2, 0.9)), rectangle(0.0, 0.0, 4.0, 3.0))
    assert (straight.dxftype(), straight.dxf.linetype) == ("LINE", "DASH")
    assert (straight.dxf.end.x, straight.dxf.end.y) == pytest.approx((10.0, -4.0))
    assert box.dxftype() == "LWPOLYLINE" and box.closed and len(box) == 4
