"""A metal's resistance and specific heat at round temperatures, for people to read."""

from dataclasses import dataclass

from griddesign.metals.record import COLD_C, Metal


@dataclass(frozen=True, slots=True)
class Sample:
    """R(T)/R(20) at one temperature, with both ends of alpha20, and the specific heat; ``given``: inside the table."""

    t_c: float
    ratio: float
    ratio_low: float
    ratio_high: float
    specific_heat_j_per_kg_k: float
    given: bool


def samples(metal: Metal) -> tuple[Sample, ...]:
    """At 20, 100, 200 ... degC, up to the top of the metal's table or to its limit, whichever is hotter."""
    low, high = metal.at_ends(alpha20="low"), metal.at_ends(alpha20="high")
    top_c = max(metal.top_c, metal.limit_c.value)
    temperatures_c = (COLD_C, *(float(hundreds) for hundreds in range(100, int(top_c) + 1, 100)))
    return tuple(_sample(metal, low, high, t_c) for t_c in temperatures_c)


def _sample(metal: Metal, low: Metal, high: Metal, t_c: float) -> Sample:
    ends = sorted((low.ratio(t_c), high.ratio(t_c)))
    return Sample(t_c, metal.ratio(t_c), ends[0], ends[1], metal.specific_heat(t_c), t_c <= metal.top_c)
