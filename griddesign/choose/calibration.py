"""The loss of the plates as the user's own heat run tells it; every body that is built from the job carries it."""

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from griddesign.errors import InputError
from griddesign.heat.records import LossKnown, PlateBody
from griddesign.metals import Metal
from griddesign.plate.ohms import cold_ohm, surface_m2
from griddesign.plate.shapes import Zigzag
from griddesign.plate.zigzag import outline_of

if TYPE_CHECKING:
    from griddesign.heat.fit import LossFit
    from griddesign.job.heat_run import HeatRunGiven


def loss_known(run: "HeatRunGiven | None") -> LossKnown | None:
    """What the run tells, if there is one. Raises InputError where it tells nothing."""
    if run is None:
        return None
    fit = loss_fit(run)
    return LossKnown(fit.factor, fit.low, fit.high)


@lru_cache(maxsize=16)
def loss_fit(run: "HeatRunGiven") -> "LossFit":
    """The loss factor of a heat run, its range and its misses; see ``heat.fit``. Raises InputError.

    The plate is the job's as drawn; the current of the section is shared evenly by the plates side by side.
    """
    from griddesign.heat.fit import HeatRun, fit_loss

    ohm = run.measured_ohm or cold_ohm(run.shape, run.metal)
    time_s = tuple(reading.time_s for reading in run.readings)
    plate_a = tuple(reading.current_a / run.in_parallel for reading in run.readings)
    try:
        heat_run = HeatRun(time_s, _temperatures(run), plate_a, run.ambient_c)
        return fit_loss(bare_body(run.shape, run.metal, ohm), run.stack, heat_run)
    except InputError as error:
        raise InputError(f"heat run {run.path.name}: {error.message}", hint=error.hint) from error


def _temperatures(run: "HeatRunGiven") -> tuple[float, ...]:
    """The temperatures of the run, degC; where a line has none, from its ohms."""
    if all(reading.t_c is not None for reading in run.readings):
        return tuple(reading.t_c for reading in run.readings if reading.t_c is not None)
    from griddesign.heat.fit import temperatures_by_ohms

    both = [(one.ohm, one.t_c) for one in run.readings if one.ohm is not None and one.t_c is not None]
    if not both:
        raise InputError(
            "no line gives both ohms and temperature",
            hint="Ohms alone tell no temperature: read both once, with the bank as cold as the air.",
        )
    known_ohm, known_c = both[0]
    by_ohms = [one.ohm if one.t_c is None and one.ohm is not None else known_ohm for one in run.readings]
    found = temperatures_by_ohms(run.metal, np.array(by_ohms), known_ohm, known_c)
    return tuple(t_c if one.t_c is None else one.t_c for one, t_c in zip(run.readings, found.tolist(), strict=True))


def bare_body(shape: Zigzag, metal: Metal, ohm: float) -> PlateBody:
    """A plate of this shape and metal with these cold ohms, as the heat sees it, nothing being known of its loss."""
    outline = outline_of(shape)
    thickness_m = shape.effective_thickness_m
    return PlateBody(
        height_m=shape.height_m,
        depth_m=shape.width_m,
        thickness_m=thickness_m,
        surface_m2=surface_m2(shape, outline),
        mass_kg=metal.density.value * outline.area_m2 * thickness_m,
        cold_ohm=ohm,
        metal=metal,
    )
