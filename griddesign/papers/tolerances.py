"""Tolerances of form for FIT dimensions where the drawing names a class instead of a number.

Cut plates: ISO 2768-1:1989, table 1, linear dimensions, classes m and c. Castings: ISO 8062-3:2007, table 2, grade
DCTG 12, whose figures are the whole width of the tolerance, half on each side; that hand-moulded grey iron is held to
grades 11 to 14 is from memory.
"""

from griddesign.plate.process import MadeBy

_Row = tuple[float, float]
_MEDIUM: tuple[_Row, ...] = (
    (6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8), (2000.0, 1.2), (4000.0, 2.0),
)  # fmt: skip
_COARSE: tuple[_Row, ...] = (
    (3.0, 0.2), (6.0, 0.3), (30.0, 0.5), (120.0, 0.8), (400.0, 1.2), (1000.0, 2.0), (2000.0, 3.0), (4000.0, 4.0),
)  # fmt: skip
_DCTG_12_WHOLE: tuple[_Row, ...] = (
    (10.0, 4.2), (16.0, 4.4), (25.0, 4.6), (40.0, 5.0), (63.0, 5.6), (100.0, 6.0), (160.0, 7.0), (250.0, 8.0),
    (400.0, 9.0), (630.0, 10.0),
)  # fmt: skip
_DCTG_12 = tuple((up_to, whole / 2.0) for up_to, whole in _DCTG_12_WHOLE)

_CLASSES: dict[MadeBy, tuple[str, tuple[_Row, ...]]] = {
    "cast": ("ISO 8062-3 DCTG 12", _DCTG_12),
    "laser": ("ISO 2768-1 m", _MEDIUM),
    "waterjet": ("ISO 2768-1 m", _MEDIUM),
    "stamped": ("ISO 2768-1 m", _MEDIUM),
    "plasma": ("ISO 2768-1 c", _COARSE),
}


def class_name(made_by: MadeBy) -> str:
    """The class as the drawing names it."""
    return _CLASSES[made_by][0]


def half_width_m(length_m: float, made_by: MadeBy) -> float | None:
    """Plus and minus, metres, of a dimension of ``length_m``; None beyond the class's table."""
    length_mm = round(1000.0 * length_m, 6)
    rows = _CLASSES[made_by][1]
    return next((half / 1000.0 for up_to, half in rows if length_mm <= up_to), None)


FLATNESS_CLASS = "ISO 2768-2 L"
_FLAT_L: tuple[_Row, ...] = (
    (10.0, 0.1), (30.0, 0.2), (100.0, 0.4), (300.0, 0.8), (1000.0, 1.2), (3000.0, 1.6),
)  # fmt: skip


def flatness_m(longest_m: float) -> float | None:
    """How far a face may be from flat, metres, by its longer side: ISO 2768-2:1989, table 1, class L; None beyond."""
    longest_mm = round(1000.0 * longest_m, 6)
    return next((flat / 1000.0 for up_to, flat in _FLAT_L if longest_mm <= up_to), None)
