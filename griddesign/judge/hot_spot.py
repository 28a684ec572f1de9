"""Where the current crowds in a plate of a job, by the two-dimensional solve of its outline."""

from griddesign.figures import Figure, Status
from griddesign.judge.records import PlateReport
from griddesign.plate.outlined import HotSpot, solve_outline

BRACKET = 3e-3  # of the ohms: peaks are good to about 1 %


def hot_spot_of(plate: PlateReport) -> HotSpot:
    """Peak over mean current density, terminals at the rims of the eyes' holes. Raises as ``solve_outline``."""
    thickness = Figure.exact(plate.figures.effective_thickness_m, Status.DERIVED, "effective section of the strip")
    return solve_outline(plate.outline, plate.wish.metal, thickness, bracket=BRACKET).figures.hot_spot
