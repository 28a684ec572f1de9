"""Words on paper: cleaning, measuring, wrapping. Nothing here knows markup, so ``<b>`` and ``&`` stay what they are."""

import unicodedata
from collections.abc import Iterator
from functools import lru_cache

from griddesign.papers import typefaces
from griddesign.papers.marks import MM_PER_PT

MISSING = "□"
LEADING = 1.28
"""Distance of base lines per size of type."""

_INVISIBLE = frozenset({"Cc", "Cf", "Cs", "Co"})


@lru_cache(maxsize=8192)
def clean(text: str) -> str:
    """The text as it can be printed: composed accents, no control characters, a box for what the font lacks.

    Line breaks stay. A character without a glyph (emoji, lone surrogates) becomes the empty box, never nothing, so
    the reader sees that something stood there.
    """
    if text.isascii() and text.isprintable():
        return text
    composed = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " "))
    return "".join(_printable(char) for char in composed)


def _printable(char: str) -> str:
    if char == "\n":
        return char
    category = unicodedata.category(char)
    if category in _INVISIBLE:
        return "" if category in {"Cc", "Cf"} else MISSING
    return char if ord(char) in typefaces.advances(False) else MISSING


@lru_cache(maxsize=16384)
def width_mm(text: str, size_pt: float = 11.0, bold: bool = False) -> float:
    """Width of one line of text as printed, mm. ``size_pt`` in points."""
    widths = typefaces.advances(bold)
    spare = widths[ord(MISSING)]
    return sum(widths.get(ord(char), spare) for char in text) * size_pt * MM_PER_PT


def line_height_mm(size_pt: float) -> float:
    """Distance of base lines, mm, for type of ``size_pt`` points."""
    return size_pt * LEADING * MM_PER_PT


def baseline_mm(size_pt: float) -> float:
    """From the top of a line to its base line, mm: the leading is shared evenly above and below the glyphs."""
    spare = LEADING - typefaces.ASCENT - typefaces.DESCENT
    return (typefaces.ASCENT + spare / 2.0) * size_pt * MM_PER_PT


@lru_cache(maxsize=8192)
def wrap(text: str, room_mm: float, size_pt: float = 11.0, bold: bool = False) -> tuple[str, ...]:
    """Lines no wider than ``room_mm``; at least one line. A word too long for the room is broken, never clipped.

    A nanometre is given, so that a word in a column made for it is not broken by the last digit of a sum.
    """
    room_mm += 1e-6
    lines = [
        line for paragraph in clean(text).split("\n") for line in _wrap_paragraph(paragraph, room_mm, size_pt, bold)
    ]
    return tuple(lines) or ("",)


def _wrap_paragraph(paragraph: str, room_mm: float, size_pt: float, bold: bool) -> Iterator[str]:
    current = ""
    for word in paragraph.split(" "):
        longer = f"{current} {word}" if current else word
        if width_mm(longer, size_pt, bold) <= room_mm:
            current = longer
            continue
        if current:
            yield current
        *whole, current = _break_word(word, room_mm, size_pt, bold)
        yield from whole
    yield current


def _break_word(word: str, room_mm: float, size_pt: float, bold: bool) -> list[str]:
    pieces = [""]
    for char in word:
        if pieces[-1] and width_mm(pieces[-1] + char, size_pt, bold) > room_mm:
            pieces.append("")
        pieces[-1] += char
    return pieces


def longest_word_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of the widest word of a text, mm: the narrowest column it fits without breaking a word."""
    words = clean(text).replace("\n", " ").split(" ")  # a no-break space holds a number to its unit
    return max(width_mm(word, size_pt, bold) for word in words)


def natural_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a text set without wrapping, mm."""
    return max(width_mm(line, size_pt, bold) for line in clean(text).split("\n"))
