"""Of arcs alike only two get fine chords: the peak is the same as with fine chords on all of them, and an arc that is
not like the others is found among them."""

from dataclasses import fields

import numpy as np
import pytest

from griddesign.plate.field import Crowding, Domain, crowding, domain_of_outline, peak
from griddesign.plate.field.fillets import Corners, corners_of, filleted
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

SHAPE = Zigzag(0.060, 8, 0.008, 0.007, 0.005, Eye(0.030, 0.014, 0.021, fillet_m=0.004), "one edge")


def plate(odd_m: float) -> Domain:
    """Seven return bends whose inner corners have fillets of 2 mm, but one of ``odd_m``."""
    sharp = domain_of_outline(outline_of(SHAPE))
    corners = corners_of(sharp)
    most = np.arange(len(corners.points)) != 6
    alike = filleted(sharp, Corners(*(getattr(corners, each.name)[most] for each in fields(corners))), 0.002)
    return filleted(alike, corners_of(alike), odd_m)


def both_ways(domain: Domain, monkeypatch: pytest.MonkeyPatch) -> tuple[Crowding, Crowding]:
    found = crowding(domain, SHAPE.strip_width_m)
    monkeypatch.setattr(peak, "_OF_A_KIND", 10**6)
    return found, crowding(domain, SHAPE.strip_width_m)


@pytest.mark.parametrize("odd_m", [0.002, 0.0015])
def test_two_of_a_kind_stand_for_all_and_the_odd_one_is_found(odd_m: float, monkeypatch: pytest.MonkeyPatch) -> None:
    domain = plate(odd_m)
    found, of_all = both_ways(domain, monkeypatch)
    assert found.cause == "fillet" and found.ratio == pytest.approx(of_all.ratio, rel=5e-3)
    if odd_m < 0.002:
        where = corners_of(domain_of_outline(outline_of(SHAPE))).points[6]
        assert np.hypot(*(np.array(found.place) - where)) < odd_m
