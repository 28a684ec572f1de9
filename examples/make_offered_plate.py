"""Makes ``offered-plate.dxf``: the cutting file an invented supplier offers the invented tramway for its plate P.

Run it from anywhere: ``python examples/make_offered_plate.py``. The same bytes come out every time.
"""

from pathlib import Path

from griddesign.papers.cut_dxf import cut_dxf
from griddesign.plate.shapes import Eye, Zigzag
from griddesign.plate.zigzag import outline_of

OFFERED = Zigzag(
    height_m=0.260,
    passes=11,
    strip_width_m=0.009,
    pass_gap_m=0.008,
    thickness_m=0.005,
    eye=Eye(diameter_m=0.032, hole_m=0.014, reach_m=0.020, fillet_m=0.004),
    eyes="opposite edges",
    fillet_m=0.002,
)


def offered() -> bytes:
    """The file."""
    return cut_dxf(outline_of(OFFERED))


if __name__ == "__main__":
    (Path(__file__).parent / "offered-plate.dxf").write_bytes(offered())
