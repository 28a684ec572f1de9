"""Sections as their plates stand in the boxes: what a hotter section adds to the plates beside it."""

import numpy as np

from griddesign.grid.layout import Layout, lay_out
from griddesign.heat.air import FloatArray
from griddesign.heat.neighbours import Gaps, alone_c, beside_c
from griddesign.judge.ran import Ran
from griddesign.judge.runup import Starter


def stacked(ready: Starter) -> Layout | None:
    """Where every plate stands; None without a design."""
    design, boxes = ready.worked.design, ready.job.boxes
    return lay_out(design.sections, boxes) if design and boxes else None


def neighbour_k(ran: Ran) -> FloatArray:
    """What hotter neighbours add to the hottest plate of each section, K (sections, cases), never below zero.

    Of a round: the steady balance of all plates of a box under their mean heat, less the same alone. Of one start:
    the exchange at the temperatures the neighbours end at, as if it had gone on all the time: a bound.
    """
    layout = stacked(ran.ready)
    if layout is None:
        return np.zeros_like(ran.hot_c)
    orders = [order for order in _orders(ran, layout) if len(set(order)) > 1]
    return _settled_k(ran, orders) if ran.round_s else _at_once_k(ran, orders)


def _orders(ran: Ran, layout: Layout) -> list[list[int]]:
    """Numbers of the sections of the plates of each box, in stacking order."""
    number = {section.name: place for place, section in enumerate(ran.ready.heated)}
    boxes = range(1, layout.boxes + 1)
    return [[number[place.section] for place in layout.in_box(box) if place.in_circuit] for box in boxes]


def _settled_k(ran: Ran, orders: list[list[int]]) -> FloatArray:
    mean_w, cases = ran.mean_w, [(case.end, case.ambient_c) for case in ran.cases]
    own_c = alone_c(ran.ready.heated, mean_w, cases)[0]
    added_k = np.zeros_like(ran.hot_c)
    for order in orders:
        beside = beside_c(order, ran.ready.heated, mean_w, cases)
        for place, section in enumerate(order):
            added_k[section] = np.maximum(added_k[section], beside[place] - own_c[section])
    return np.where(np.isfinite(ran.hot_c), added_k, 0.0)


def _at_once_k(ran: Ran, orders: list[list[int]]) -> FloatArray:
    heated, added_k = ran.ready.heated, np.zeros_like(ran.hot_c)
    seconds = max(float((pulse.begin_s + pulse.on_s).max()) for pulse in ran.pulses)
    cool_c = np.array([case.ambient_c for case in ran.cases])
    for order in orders:
        for place, section in enumerate(order):
            watts = np.zeros(len(ran.cases))
            for other in {order[max(place - 1, 0)], order[min(place + 1, len(order) - 1)]} - {section}:
                pair_c = np.array([np.maximum(ran.hot_c[other], cool_c), cool_c])
                watts += Gaps.between([heated[other], heated[section]]).flow_w(pair_c)[0][0]
            heat_j_k = heated[section].body.mass_kg * heated[section].body.metal.specific_heat(20.0)
            added_k[section] = np.maximum(added_k[section], watts * seconds / heat_j_k)
    return added_k
