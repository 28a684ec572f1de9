"""The settled duty with its neighbours against every plate of a box marched by itself, pulse by pulse."""

import numpy as np
import pytest

from griddesign.heat.cooling import STEFAN_BOLTZMANN_W_M2K4, loss_w, rectangle_view_factor
from griddesign.heat.lumps import AS_GIVEN
from griddesign.judge.records import Result
from griddesign.judge.run_heat import RunHeat
from griddesign.judge.runup import StartCase
from griddesign.judge.stacked import stacked


@pytest.fixture(scope="module")
def ran(demo: Result) -> RunHeat:
    assert demo.ran is not None
    return demo.ran


def marched_c(ran: RunHeat, box: int, case: StartCase) -> tuple[list[str], np.ndarray]:
    """Hottest moment of each plate of a box once its cycle has settled, by small steps of time: plates that radiate to
    their neighbours as two grey walls without a mouth would (an upper end) and conduct through the gap."""
    layout, day = stacked(ran.ready), ran.duties[1]
    assert layout is not None
    names = [place.section for place in layout.in_box(box)]
    number = {section.name: place for place, section in enumerate(ran.ready.heated)}
    at, order = day.cases.index(case), [number[name] for name in names]
    body, stack = ran.ready.heated[0].body, ran.ready.heated[0].stack
    plates = np.array([one.series * one.in_parallel for one in ran.ready.heated])
    (pulse,) = day.pulses
    watts = (pulse.joules[:, at] / plates / pulse.on_s[:, at])[order]
    on_s = pulse.on_s[order, at]
    edges = np.arange(case.ambient_c, 700.0)
    lost = loss_w(body, stack, edges, case.ambient_c)
    emissivity, area = body.metal.emissivity.value, body.height_m * body.depth_m
    facing = rectangle_view_factor(body.height_m, body.depth_m, stack.clear_gap_m)
    black = 1.0 / ((1.0 - emissivity) / (emissivity * area) * 2.0 + 1.0 / (area * facing))
    t_c, step, peak = np.full(len(order), case.ambient_c), 0.5, np.zeros(len(order))
    for _ in range(40):
        peak = t_c.copy()
        for tick in range(int(day.round_s / step)):
            power = np.where(tick * step < on_s, watts, 0.0)
            kelvin4 = (t_c + 273.15) ** 4
            across = STEFAN_BOLTZMANN_W_M2K4 * black * -np.diff(kelvin4) - 0.035 * area / stack.clear_gap_m * np.diff(
                t_c
            )
            gained = power - np.interp(t_c, edges, lost) - np.append(across, 0.0) + np.insert(across, 0, 0.0)
            t_c = t_c + step * gained / (body.mass_kg * body.metal.specific_heat(t_c))
            peak = np.maximum(peak, t_c)
    return names, peak


def test_every_section_covers_its_hottest_plate_marched_alone_in_its_box(ran: RunHeat) -> None:
    """Box 3 of the demo, four sections side by side: the printed peak of each section stands at or above that of its
    hottest plate (3 K for the steps and for heat spread evenly), and not more than a fifth of the rise above it; but
    for the hottest section, to which no cooling by its neighbours is credited."""
    case = StartCase(660.0, 40.0, AS_GIVEN)
    names, peak = marched_c(ran, 3, case)
    printed = {
        row.section: row.hot_c
        for row in ran.duties[1].at(AS_GIVEN)
        if (row.line_v, row.ambient_c) == (case.line_v, case.ambient_c)
    }
    assert len(set(names)) >= 3
    for name in set(names):
        hottest = max(t_c for one, t_c in zip(names, peak, strict=True) if one == name)
        assert printed[name] >= hottest - 3.0
        if name != max(printed, key=printed.__getitem__):
            assert printed[name] - hottest <= 0.2 * (printed[name] - case.ambient_c) + 3.0, name


def test_boxes_of_one_section_have_no_neighbours(ran: RunHeat) -> None:
    assert all(np.all(one.neighbour_k >= 0.0) for one in ran.duties)
    row = next(one for one in ran.duties[1].worst() if one.section == "D" and one.line_v == 660.0)
    assert row.neighbour_k == 0.0
