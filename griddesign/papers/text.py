"""Words on paper: cleaning, measuring, wrapping. Nothing here knows markup, so ``<b>`` and ``&`` stay what they are."""

import unicodedata
from collections.abc import Iterator
from functools import lru_cache

from griddesign.papers import typefaces
from griddesign.papers.marks import MM_PER_PT

MISSING = typefaces.MISSING
LEADING = 1.28
"""Distance of base lines per size of type."""

_INVISIBLE = frozenset({"Cc", "Cf", "Cs", "Co"})


def clean(text: str) -> str:
    """The text as it can be printed: composed accents, no control characters, a box for what the font lacks.

    Line breaks stay. A character without a glyph (emoji, lone surrogates) becomes the empty box, never nothing, so
    the reader sees that something stood there.
    """
    return text if text.isascii() and text.isprintable() else _composed(text)


@lru_cache(maxsize=8192)
def _composed(text: str) -> str:
    composed = unicodedata.normalize("NFC", text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " "))
    return composed.translate(_PRINTED)


class _Printed(dict[int, str]):
    """What is printed for each code point; ``str.translate`` asks for those met first."""

    def __missing__(self, code: int) -> str:
        self[code] = found = _printable(chr(code))
        return found


_PRINTED = _Printed()


def _printable(char: str) -> str:
    if char == "\n":
        return char
    category = unicodedata.category(char)
    if category in _INVISIBLE:
        return "" if category in {"Cc", "Cf"} else MISSING
    return char if typefaces.draws(char) else MISSING


@lru_cache(maxsize=16384)
def ems(text: str, bold: bool = False) -> float:
    """Width of one line of text as printed, in sizes of its type."""
    return sum(map(typefaces.advances(bold).__getitem__, text))


def width_mm(text: str, size_pt: float = 11.0, bold: bool = False) -> float:
    """Width of one line of text as printed, mm. ``size_pt`` in points."""
    return ems(text, bold) * size_pt * MM_PER_PT


def line_height_mm(size_pt: float) -> float:
    """Distance of base lines, mm, for type of ``size_pt`` points."""
    return size_pt * LEADING * MM_PER_PT


def baseline_mm(size_pt: float) -> float:
    """From the top of a line to its base line, mm: the leading is shared evenly above and below the glyphs."""
    spare = LEADING - typefaces.ASCENT - typefaces.DESCENT
    return (typefaces.ASCENT + spare / 2.0) * size_pt * MM_PER_PT


def wrap(text: str, room_mm: float, size_pt: float = 11.0, bold: bool = False) -> tuple[str, ...]:
    """Lines no wider than ``room_mm``; at least one line. A word too long for the room is broken, never clipped.

    A nanometre is given, so that a word in a column made for it is not broken by the last digit of a sum.
    """
    room_mm += 1e-6
    printed = clean(text)
    if "\n" not in printed and printed[:1] != " " and ems(printed, bold) * size_pt * MM_PER_PT <= room_mm:
        return (printed,)
    return _lines(printed, room_mm, size_pt, bold)


@lru_cache(maxsize=8192)
def _lines(printed: str, room_mm: float, size_pt: float, bold: bool) -> tuple[str, ...]:
    lines = [line for paragraph in printed.split("\n") for line in _wrap_paragraph(paragraph, room_mm, size_pt, bold)]
    return tuple(lines) or ("",)


def _wrap_paragraph(paragraph: str, room_mm: float, size_pt: float, bold: bool) -> Iterator[str]:
    """Lines filled word by word; a line is as wide as its words and the spaces between them."""
    current, used_mm, space_mm = "", 0.0, width_mm(" ", size_pt, bold)
    for word in paragraph.split(" "):
        longer_mm = width_mm(word, size_pt, bold) + (used_mm + space_mm if current else 0.0)
        if longer_mm <= room_mm:
            current, used_mm = f"{current} {word}" if current else word, longer_mm
            continue
        if current:
            yield current
        *whole, current = _break_word(word, room_mm, size_pt, bold)
        yield from whole
        used_mm = width_mm(current, size_pt, bold)
    yield current


def _break_word(word: str, room_mm: float, size_pt: float, bold: bool) -> list[str]:
    pieces = [""]
    for char in word:
        if pieces[-1] and width_mm(pieces[-1] + char, size_pt, bold) > room_mm:
            pieces.append("")
        pieces[-1] += char
    return pieces


def longest_word_ems(text: str, bold: bool = False) -> float:
    """Width of the widest word of a text, in sizes of its type: a narrower column would break a word."""
    printed = clean(text)
    if " " not in printed and "\n" not in printed:  # a no-break space holds a number to its unit
        return ems(printed, bold)
    return max([ems(word, bold) for word in printed.replace("\n", " ").split(" ")])


def natural_ems(text: str, bold: bool = False) -> float:
    """Width of a text set without wrapping, in sizes of its type."""
    printed = clean(text)
    return max([ems(line, bold) for line in printed.split("\n")]) if "\n" in printed else ems(printed, bold)


def natural_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Width of a text set without wrapping, mm."""
    return natural_ems(text, bold) * size_pt * MM_PER_PT
