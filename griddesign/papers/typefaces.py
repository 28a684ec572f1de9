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
def face(bold: bool) -> Any:
    """The regular or the bold font, read: it knows its glyphs and makes the subsets that papers embed."""
    from reportlab.pdfbase.ttfonts import TTFontFile

    return TTFontFile(str(font_file(font_name(bold))))


class Advances(dict[str, float]):
    """Advance of every character of a font, per size of type 1, read when first asked for. What the font lacks is as
    wide as the empty box that is printed for it."""

    def __init__(self, font: Any) -> None:
        super().__init__()
        self._font = font

    def __missing__(self, char: str) -> float:
        glyph = self._font.charToGlyph.get(ord(char))
        self[char] = self[MISSING] if glyph is None else self._font.hmetrics[glyph][0] / self._font.unitsPerEm
        return self[char]


@cache
def advances(bold: bool) -> Advances:
    """The advances of the regular or the bold font."""
    return Advances(face(bold))


def draws(char: str) -> bool:
    """Whether the regular font has a glyph for a character."""
    return ord(char) in face(False).charToGlyph
