"""Marks as inline SVG: the pictures of the papers, drawn by a browser from the same record.

One user unit is one millimetre. Letters come in whatever sans serif the device has; every text is held to the width it
has on paper, so that nothing runs into its neighbour.
"""

from collections.abc import Iterator
from functools import cache
from html import escape
from itertools import groupby

from griddesign.papers import text
from griddesign.papers.marks import MM_PER_PT, THIN_MM, Mark, Path, Picture, Words, flat

Placed = tuple[float, float, Words | Path]
Look = tuple[float, tuple[float, ...], float | None, float]
"""Of a path: width of its line, dashes, filling, grey."""
_AT = "%.5g %.5g"
_STEPS = {"m": f"M{_AT}", "l": f"L{_AT}", "c": f"C{_AT} {_AT} {_AT}", "z": "Z"}
_ANCHOR = {"left": "", "centre": ' text-anchor="middle"', "right": ' text-anchor="end"'}
_HOLLOW_MM = 0.3
_WIDE_MM, _BROAD_MM = 125.0, 185.0  # a narrower picture is still read where it is fitted to a phone


def svg_of(picture: Picture, said: str = "") -> str:
    """The picture as an ``svg`` element of its own size. ``said`` tells who cannot see it what it shows, where the
    picture does not."""
    broad = "broad" if picture.width_mm > _BROAD_MM else "wide" if picture.width_mm > _WIDE_MM else "slim"
    told = picture.shows or said
    label = f' role="group" aria-label="{escape(text.clean(told))}"' if told else ""
    wide, high = _mm(picture.width_mm), _mm(picture.height_mm)
    return (
        f'<svg class="{broad}" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}"{label} fill="none" '
        f'fill-rule="evenodd" stroke="#000" stroke-width="{THIN_MM}" stroke-linejoin="round">'
        f"{''.join(_elements(picture.marks))}</svg>"
    )


def _elements(marks: tuple[Mark, ...]) -> Iterator[str]:
    """The marks in their order, neighbouring lines of one look as one path."""
    for look, alike in groupby(flat(marks), key=_look):
        if look is None:
            yield from (_words(mark, x_mm, y_mm) for x_mm, y_mm, mark in alike if isinstance(mark, Words))
        elif look[2] is None:
            yield f'<path d="{"".join(map(_steps, alike))}"{_departures(look)}/>'
        else:  # one on another, two fillings together would leave a hole
            yield from (f'<path d="{_steps(one)}"{_departures(look)}/>' for one in alike)


def _look(placed: Placed) -> Look | None:
    """How a path looks; None for words."""
    mark = placed[2]
    return (mark.width_mm, mark.dash_mm, mark.fill, mark.grey) if isinstance(mark, Path) else None


def _steps(placed: Placed) -> str:
    x_mm, y_mm, path = placed
    steps = path.steps if isinstance(path, Path) else ()
    numbers = [number for _, own in steps for number in own]
    numbers[::2] = [x_mm + x for x in numbers[::2]]
    numbers[1::2] = [y_mm + y for y in numbers[1::2]]
    return "".join([_STEPS[kind] for kind, _ in steps]) % tuple(numbers)


@cache
def _departures(look: Look) -> str:
    """What differs from the picture's own thin black line without a filling."""
    width_mm, dash_mm, filling, tone = look
    fill = "" if filling is None else f' fill="{_grey(filling)}"'
    if not width_mm:
        return f'{fill} stroke="none"'
    width = f' stroke-width="{_mm(width_mm)}"' if width_mm != THIN_MM else ""
    grey = f' stroke="{_grey(tone)}"' if tone else ""
    dash = f' stroke-dasharray="{" ".join(map(_mm, dash_mm))}"' if dash_mm else ""
    return f"{fill}{width}{grey}{dash}"


def _words(words: Words, x_mm: float, y_mm: float) -> str:
    printed = text.clean(words.text).replace("\n", " ")
    if not printed.strip():
        return ""
    x, y = _mm(x_mm + words.x_mm), _mm(y_mm + words.y_mm)
    wide = _mm(text.width_mm(printed, words.size_pt, words.bold))
    turn = f' transform="rotate({_mm(-words.angle_deg)} {x} {y})"' if words.angle_deg else ""
    weight = ' font-weight="bold"' if words.bold else ""
    return (
        f'<text x="{x}" y="{y}" font-size="{_mm(words.size_pt * MM_PER_PT)}" textLength="{wide}" '
        f'lengthAdjust="spacingAndGlyphs"{_ANCHOR[words.align]}{weight}{_paint(words)}{turn}>{escape(printed)}</text>'
    )


def _paint(words: Words) -> str:
    grey = _grey(words.grey)
    return f' stroke="{grey}" stroke-width="{_HOLLOW_MM}"' if words.hollow else f' fill="{grey}" stroke="none"'


def _mm(length_mm: float) -> str:
    return f"{round(length_mm, 2):g}"


def _grey(grey: float) -> str:
    """``0.0`` black, ``1.0`` white."""
    return "#000" if not grey else f"#{round(255 * grey):02x}" + f"{round(255 * grey):02x}" * 2
