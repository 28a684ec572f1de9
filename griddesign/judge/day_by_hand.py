"""The settled day in closed form, beside the one that was run: one time constant, pulses of heat that add up."""

import numpy as np

from griddesign.heat.air import FloatArray
from griddesign.heat.closed import pulses_rise_k
from griddesign.heat.lumps import AS_GIVEN, top_c
from griddesign.heat.neighbours import alone_c
from griddesign.judge.ran import Ran


def by_hand_c(ran: Ran) -> FloatArray:
    """Peak of the settled round of every section with the figures as given, degC (sections, cases); nan in all other
    cases and for a single start, inf where no mean balances inside the metal's table.

    Mean: heat of the round over its length equals the loss at the mean temperature. Swing: there
    ``tau = C (T - Ta)/loss``, and every start is an even pulse of its own joules. The joules are those of the run.
    """
    hand_c = np.full(ran.hot_c.shape, np.nan)
    given = [place for place, case in enumerate(ran.cases) if case.end == AS_GIVEN]
    if not ran.round_s or not given:
        return hand_c
    heated = ran.ready.heated
    ambients = np.array([ran.cases[place].ambient_c for place in given])
    mean_w = ran.mean_w[:, given]
    mean_c, tables, lump = alone_c(heated, mean_w, [(AS_GIVEN, float(ambient_c)) for ambient_c in ambients])
    _, heat_j_k, loss_w = tables.read(lump, mean_c)
    for section in range(len(heated)):
        for number, case in enumerate(given):
            rise_k = float(mean_c[section, number] - ambients[number])
            if mean_c[section, number] >= top_c(heated[section]) - 1e-6:
                hand_c[section, case] = np.inf
            elif loss_w[section, number] <= 0.0:
                hand_c[section, case] = ambients[number]
            else:
                k_w = rise_k / float(loss_w[section, number])
                tau_s = float(heat_j_k[section, number]) * k_w
                hand_c[section, case] = ambients[number] + _peak_k(ran, section, case, k_w, tau_s)
    return hand_c


def _peak_k(ran: Ran, section: int, case: int, k_w: float, tau_s: float) -> float:
    """Highest rise at the end of any pulse, K; ``k_w`` kelvin of steady rise per watt of a plate."""
    section_of = ran.ready.heated[section]
    live = [pulse for pulse in ran.pulses if pulse.on_s[section, case] > 0.0]
    begin_s = np.array([pulse.begin_s[case] for pulse in live])
    on_s = np.array([pulse.on_s[section, case] for pulse in live])
    joules = np.array([pulse.joules[section, case] for pulse in live]) / (section_of.series * section_of.in_parallel)
    rises_k = pulses_rise_k(begin_s + on_s, begin_s, on_s, k_w * joules / on_s, ran.round_s, tau_s)
    return float(rises_k.max(initial=0.0))
