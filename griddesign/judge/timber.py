"""Floor and hanger beams: the hottest box of the bank against timber at the distance the job names."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from math import pi

from griddesign.errors import InputError
from griddesign.grid.layout import Layout
from griddesign.heat.cooling import convection_w_m2k, loss_w
from griddesign.heat.records import HeatedSection
from griddesign.heat.timber import PLUME_FILMS_W_M2K, Strip, face_c, plume_rise_k, worst_point
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.stacked import stacked

FLOOR = "floor over the bank"
BEAM = "hanger beam beside the bank"


@dataclass(frozen=True, slots=True)
class TimberHeat:
    """Timber at ``distance_m``: W/m2 shining on it, view factor, rise of the plume there (0 beside), face in degC.

    All these with every section at its hottest moment and worst end, the high side; ``mean_face_c`` is the face with
    the sections at their settled means and the figures as given, None where no duty settles.
    ``choked``: the way out under the floor is narrower than the gaps it has to let out: no figure stands for that.
    """

    what: str
    box: int
    distance_m: float
    irradiance_w_m2: float
    seen: float
    plume_k: float
    face_c: float
    choked: bool = False
    mean_face_c: float | None = None


def timber_of(ran: RunHeat | None) -> tuple[TimberHeat, ...]:
    """Floor and beam at the distance the job names; nothing without one, or where the duty never settles."""
    distance_m = ran.job.limits.timber_distance_m if ran else None
    if ran is None or distance_m is None or any(t_c == float("inf") for t_c in ran.peak_c.values()):
        return ()
    return timber_heat(ran, distance_m)


def timber_heat(ran: RunHeat, distance_m: float) -> tuple[TimberHeat, ...]:
    """The hottest floor and the hottest beam, over all boxes, each box for itself.

    The floor lies over the top of the plates, the beam along the long side of the stack.
    """
    layout, mean_c = stacked(ran.ready), ran.mean_c
    if layout is None:
        return ()
    found = _hottest(ran, layout, distance_m, ran.peak_c)
    if mean_c is None:
        return found
    means = _hottest(ran, layout, distance_m, mean_c)
    return tuple(replace(one, mean_face_c=mean.face_c) for one, mean in zip(found, means, strict=True))


def _hottest(ran: RunHeat, layout: Layout, distance_m: float, t_c: Mapping[str, float]) -> tuple[TimberHeat, ...]:
    found = [one for box in range(1, layout.boxes + 1) for one in _of_box(ran, layout, (box, distance_m), t_c)]
    return tuple(max((one for one in found if one.what == what), key=lambda one: one.face_c) for what in (FLOOR, BEAM))


def _of_box(ran: RunHeat, layout: Layout, where: tuple[int, float], t_c: Mapping[str, float]) -> Iterator[TimberHeat]:
    """Floor and beam of one box with its sections at ``t_c``."""
    box, distance_m = where
    heated = {section.name: section for section in ran.ready.heated}
    order = [place.section for place in layout.in_box(box) if place.in_circuit]
    if not order:
        return
    strips, ambient_c = _strips(order, heated, t_c), ran.job.duty.ambient_high_c
    depth_m = max(heated[name].body.depth_m for name in order)
    height_m = max(heated[name].body.height_m for name in order)
    shone, seen = worst_point(strips, depth_m, distance_m)
    convected_w = sum(_convected_w(heated[name], t_c[name], ambient_c) for name in order)
    given_off_w = sum(float(loss_w(heated[name].body, heated[name].stack, t_c[name], ambient_c)) for name in order)
    rise_k = plume_rise_k(
        convected_w, given_off_w, (4.0 * strips[-1].x1_m * depth_m / pi) ** 0.5, distance_m, ambient_c
    )
    air_c = ambient_c + min(rise_k, max(strip.t_c for strip in strips) - ambient_c)
    hottest = max(face_c(shone, seen, ambient_c, air_c, film) for film in PLUME_FILMS_W_M2K)
    out_m2 = 2.0 * (strips[-1].x1_m + depth_m) * distance_m
    gaps_m2 = sum(heated[name].stack.clear_gap_m * heated[name].body.depth_m for name in order)
    yield TimberHeat(FLOOR, box, distance_m, shone, seen, air_c - ambient_c, hottest, choked=out_m2 < gaps_m2)
    shone, seen = worst_point(strips, height_m, distance_m)
    yield TimberHeat(BEAM, box, distance_m, shone, seen, 0.0, face_c(shone, seen, ambient_c, ambient_c, None))


def _strips(order: list[str], heated: Mapping[str, HeatedSection], peak_c: Mapping[str, float]) -> list[Strip]:
    """The box along its stack, a strip for each run of plates of one section. Raises InputError where one runs away."""
    strips, at_m = [], 0.0
    for name, run in groupby(order):
        section = heated[name]
        if peak_c[name] == float("inf"):
            raise InputError(f"section {name} never settles")
        end_m = at_m + len(list(run)) * (section.body.thickness_m + section.stack.clear_gap_m)
        strips.append(Strip(at_m, end_m, peak_c[name]))
        at_m = end_m
    return strips


def _convected_w(section: HeatedSection, t_c: float, ambient_c: float) -> float:
    """What one plate gives to the air that rises through the gaps, W."""
    film = convection_w_m2k(section.body.height_m, section.stack.clear_gap_m, t_c, ambient_c)
    return float(film) * section.body.surface_m2 * (t_c - ambient_c)
