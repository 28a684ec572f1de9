"""What a measurement on the user's own metal yields."""

import math

from griddesign.errors import QuantityError
from griddesign.metals.record import COLD_C


def alpha_from_two(r1_ohm: float, t1_c: float, r2_ohm: float, t2_c: float) -> float:
    """Temperature coefficient alpha20 (1/K, referred to 20 degC) of one piece measured at two temperatures (degC).

    From R = R20 (1 + alpha20 (T - 20)) at both: ``alpha20 = (R2 - R1) / (R1 (T2 - 20) - R2 (T1 - 20))``. The two may be
    given in either order. Raises QuantityError where the temperatures are alike, a resistance is not above zero, or the
    line through the two points leaves nothing at 20 degC.
    """
    numbers = (r1_ohm, t1_c, r2_ohm, t2_c)
    if not all(map(math.isfinite, numbers)) or min(r1_ohm, r2_ohm) <= 0.0:
        raise QuantityError(f"{r1_ohm:g} ohm and {r2_ohm:g} ohm give no coefficient: both must be above zero.")
    if t1_c == t2_c:
        raise QuantityError(
            f"Both measurements are at {t1_c:g} degC.", hint="Measure the same plate cold, then hot (some 150 K apart)."
        )
    at_cold = (r1_ohm * (t2_c - COLD_C) - r2_ohm * (t1_c - COLD_C)) / (t2_c - t1_c)
    if at_cold <= 0.0:
        raise QuantityError(
            f"{r1_ohm:g} ohm at {t1_c:g} degC and {r2_ohm:g} ohm at {t2_c:g} degC leave {at_cold:g} ohm at 20 degC.",
            hint="Check which resistance belongs to which temperature.",
        )
    return (r2_ohm - r1_ohm) / (t2_c - t1_c) / at_cold


def resistivity_from(measured_ohm: float, squares: float, thickness_m: float, ratio: float = 1.0) -> float:
    """Resistivity at 20 degC (ohm m) of a plate measured at ``measured_ohm``: ``rho = R t / (N ratio)``.

    ``squares`` is the plate's number of squares N (length over width, bends and eyes counted), ``thickness_m`` t its
    thickness, ``ratio`` R(T)/R(20) at the temperature of the measurement. Raises QuantityError where one is not above
    zero.
    """
    numbers = {"resistance": measured_ohm, "squares": squares, "thickness": thickness_m, "ratio": ratio}
    for name, number in numbers.items():
        if not math.isfinite(number) or number <= 0.0:
            raise QuantityError(f"The {name} is {number:g}; it must be above zero.")
    return measured_ohm * thickness_m / (squares * ratio)
