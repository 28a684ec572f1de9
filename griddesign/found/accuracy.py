"""How far a reading may be off, and its ohms at 20 degC."""

from griddesign.job.plates_csv import OhmReading
from griddesign.metals import Metal

BY_METHOD = {"four-wire": (0.005, 20e-6), "volt-drop": (0.02, 20e-6), "two-wire": (0.02, 0.1)}
"""Share and ohms that a reading may be off either way, 95 per cent, where nobody states it (ours, no source): a
four-wire meter; voltmeter and ammeter of class 1 read together; a hand meter with its leads and clips in it."""
METHOD_NOT_TOLD = 0.02
"""Share for ohms without a word on the method (ours, no source)."""
TWO_WIRE_BELOW_OHM = 1.0
"""Below this the leads of a two-wire reading weigh as much as plates."""


def half_width(reading: OhmReading) -> tuple[float, bool]:
    """How far the reading may be off either way, ohm as read, and whether that is our assumption."""
    if reading.accuracy_share is not None:
        return reading.accuracy_share * reading.ohm, False
    if reading.accuracy_ohm is not None:
        return reading.accuracy_ohm, False
    share, fixed_ohm = BY_METHOD[reading.method]
    if not reading.method_given:
        share = max(share, METHOD_NOT_TOLD)
    return share * reading.ohm + fixed_ohm, True


def at_20(reading: OhmReading, metal: Metal) -> tuple[float, float, bool]:
    """Ohms at 20 degC ``R20 = R / r(T)``, half-width with the metal's own doubt of its coefficient, whether assumed."""
    wide, assumed = half_width(reading)
    ratio = float(metal.ratio(reading.t_c))
    ends = [float(metal.at_ends(alpha20=end).ratio(reading.t_c)) for end in ("low", "high")]
    doubt = max(abs(reading.ohm / end - reading.ohm / ratio) for end in ends)
    return reading.ohm / ratio, wide / ratio + doubt, assumed
