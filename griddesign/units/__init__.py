"""The only door between text with units and SI floats: ``"7 3/8 in"`` in, 0.187325 out, and the way back for paper.

``read`` and ``read_at`` read, ``show`` and its kin write, KINDS lists what may be measured in which spellings. Own
strict grammar and closed lists first, pint for the factors, exact fractions throughout.
"""

from griddesign.units.reading import ABOUT_SHARE, ABOUT_TEMPERATURE_K, Reading, read, read_at
from griddesign.units.showing import show, show_change, show_cold, show_fraction, show_range, show_reading, show_tiny
from griddesign.units.spellings import KINDS

__all__ = [
    "ABOUT_SHARE",
    "ABOUT_TEMPERATURE_K",
    "KINDS",
    "Reading",
    "read",
    "read_at",
    "show",
    "show_change",
    "show_cold",
    "show_fraction",
    "show_range",
    "show_reading",
    "show_tiny",
]
