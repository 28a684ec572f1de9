"""The one family of type on every paper: DejaVu Sans, shipped with its licence, so papers look alike everywhere."""

from functools import cache
from pathlib import Path
from typing import Any

REGULAR = "DejaVuSans"
BOLD = "DejaVuSans-Bold"
FAMILY = "DejaVu Sans"
MISSING = "□"
"""Printed for a character the fonts lack; both have it."""

CAP_HEIGHT = 1493 / 2048
ASCENT = 1901 / 2048
DESCENT = 483 / 2048
X_HEIGHT = 1120 / 2048
TAIL = 426 / 2048
"""Heights per size of type, from the font's own tables: capital H, hhea ascent, hhea descent below the base line,
small x, tail of the p below the base line."""


def font_file(name: str) -> Path:
    """Where the shipped TrueType file of ``name`` (REGULAR or BOLD) lies."""
    return Path(__file__).parent / "fonts" / f"{name}.ttf"


def font_name(bold: bool) -> str:
    """Name of the font as both libraries know it."""
    return BOLD if bold else REGULAR


@cache
def register_with_reportlab() -> None:
    """Make both fonts known to reportlab, once."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, str(font_file(name))))


class Advances(dict[str, float]):
    """Advance of every character of a font, per size of type 1. What the font lacks is as wide as the empty box that is
    printed for it, and is not in the table."""

    def __missing__(self, char: str) -> float:
        return self[MISSING]


@cache
def advances(bold: bool) -> Advances:
    """The advances of the regular or the bold font."""
    from reportlab.pdfbase import pdfmetrics

    register_with_reportlab()
    font: Any = pdfmetrics.getFont(font_name(bold))  # of TrueType, as registered: only those have a face
    return Advances({chr(code): width / 1000.0 for code, width in font.face.charWidths.items()})
