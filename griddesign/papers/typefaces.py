"""The one family of type on every paper: DejaVu Sans, shipped with its licence, so papers look alike everywhere."""

from functools import cache
from pathlib import Path
from typing import Any

REGULAR = "DejaVuSans"
BOLD = "DejaVuSans-Bold"
FAMILY = "DejaVu Sans"

CAP_HEIGHT = 1493 / 2048
ASCENT = 1901 / 2048
DESCENT = 483 / 2048
"""Heights per size of type, from the font's own tables: capital H, hhea ascent, hhea descent below the base line."""


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


@cache
def advances(bold: bool) -> dict[int, float]:
    """Advance of every character the font has, per size of type 1: code point to width."""
    from reportlab.pdfbase import pdfmetrics

    register_with_reportlab()
    face: Any = getattr(pdfmetrics.getFont(font_name(bold)), "face")  # noqa: B009  # only TrueType fonts have one
    return {code: width / 1000.0 for code, width in face.charWidths.items()}
