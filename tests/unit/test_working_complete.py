"""Every figure that stands on a sheet stands in the working, the same to the digits printed.

The figures are read off the sheets as a reader would, number and unit; in the working one of the same kind must round
to it. That a figure stands behind the right symbol is tested line by line in ``test_sheet_working``.
"""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from griddesign.job.nest import with_nest
from griddesign.job.reading import read_job
from griddesign.job.starters import starter_text
from griddesign.judge.records import Result
from griddesign.judge.start_result import started
from griddesign.judge.work import result_of
from griddesign.papers import blocks as b
from griddesign.papers import whole_set
from griddesign.papers.picking import sheet_key
from griddesign.papers.sheets.working import working_parts

TRACED = {"job", "notch", "tap", "stacking", "plate", "order", "inspection", "start", "heat", "crew"}
UNITS = {
    "µΩ": ("ohm", 1e-6), "mΩ": ("ohm", 1e-3), "Ω": ("ohm", 1.0), "A": ("A", 1.0), "V": ("V", 1.0), "J": ("J", 1.0),
    "kJ": ("J", 1e3), "MJ": ("J", 1e6), "N": ("N", 1.0), "kN": ("N", 1e3), "lbf": ("lbf", 1.0), "°C": ("°C", 1.0),
    "°F": ("°F", 1.0), "K": ("K", 1.0), "kg": ("kg", 1.0), "t": ("kg", 1e3), "lb": ("lb", 1.0), "s": ("s", 1.0),
    "min": ("s", 60.0), "h": ("s", 3600.0), "km/h": ("km/h", 1.0), "mph": ("mph", 1.0), "mm": ("m", 1e-3),
    "m": ("m", 1.0), "in": ("in", 1.0), "ft": ("in", 12.0), "m/s²": ("m/s²", 1.0), "mph/s": ("mph/s", 1.0),
    "W": ("W", 1.0), "kW": ("W", 1e3), "%": ("%", 1.0),
}  # fmt: skip
_UNIT = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
_FIGURE = re.compile(
    rf"(?<![\w.])([-+]?\d+(?:\.\d+)?)(?: to ([-+]?\d+(?:\.\d+)?))? ?({_UNIT})(?![\w/·²]| circuit| series)"
)

Found = tuple[str, float, float, str]
"""Kind, value in the kind's first unit, half of the last digit printed, as printed."""


def figures(text: str) -> Iterator[Found]:
    """Every number with a unit; ``70 to 100 mm`` is two."""
    plain = text.replace("\u00a0", " ").replace("≈ ", "").replace("−", "-")
    for match in _FIGURE.finditer(plain):
        kind, factor = UNITS[match[3]]
        for number in filter(None, (match[1], match[2])):
            digits = len(number.partition(".")[2])
            yield kind, float(number) * factor, 0.5 * 10.0**-digits * factor, f"{number} {match[3]}"


def of_block(block: b.Block) -> Iterator[tuple[str, str]]:
    """The texts of a block, key figures marked."""
    if isinstance(block, b.KeyFigures):
        for one in block.figures:
            yield from (("key", one.value), ("text", one.remark))
    elif isinstance(block, b.Table):
        for row in block.rows:
            yield from (("text", cell if isinstance(cell, str) else getattr(cell, "text", "")) for cell in row)
    elif isinstance(block, b.Beside):
        for inner in (*block.left, *block.right):
            yield from of_block(inner)
    elif isinstance(block, b.Points):
        yield from (("text", item) for item in block.items)
    elif isinstance(block, b.Box):
        yield from (("text", line) for line in block.lines)
    elif isinstance(block, b.Paragraph):
        yield "text", block.text


def sheets_of_set(result: Result) -> tuple[b.Sheet, ...]:
    """The sheets as the set is made of them, taken where they are handed over to become pages."""
    taken: list[b.Sheet] = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(whole_set, "pdfs_of", lambda _result, sheets, *_: taken.extend(sheets) or {})
        whole_set.files_of(result, only="working")
    return tuple(taken)


def untraced(result: Result) -> tuple[list[str], int]:
    """Figures of the sheets that the working lacks, and how many were looked for."""
    known: dict[str, list[float]] = {}
    for part in working_parts(result, started(result)):
        texts = [*part.said]
        texts += [
            text for line in part.lines for text in (line.formula, line.numbers, line.result, line.ends, line.source)
        ]
        for text in texts:
            for kind, value, _, _ in figures(text):
                known.setdefault(kind, []).append(value)
    missing, count = [], 0
    for sheet in sheets_of_set(result):
        if sheet_key(sheet) not in TRACED and not sheet.name.startswith(("Order", "Nest")):
            continue
        for block in sheet.blocks:
            for mark, text in of_block(block):
                for kind, value, half, printed in figures(text):
                    count += 1
                    if not any(abs(value - other) <= 1.02 * half + 1e-12 for other in known.get(kind, [])):
                        missing.append(f"{sheet.name}, {mark}: {printed} in {text!r}")
    return missing, count


def test_every_figure_of_the_demo_stands_in_the_working(demo: Result) -> None:
    missing, count = untraced(demo)
    assert missing == []
    assert count > 700


@pytest.mark.parametrize("purpose", ["plate", "retap", "claim", "car"])
def test_every_figure_of_the_starters_stands_in_the_working(purpose: str, tmp_path: Path) -> None:
    path = tmp_path / f"{purpose}.toml"
    path.write_text(starter_text(purpose), encoding="utf-8")
    missing, count = untraced(result_of(read_job(path)))
    assert missing == []
    assert count > 20


LASER = """
schema = 1
title = "Plates cut"
[[plate]]
name = "Q"
metal = "ss304"
made_by = "laser"
spares = 4
[plate.shape]
family = "zigzag"
height = "240 mm"
passes = 11
strip_width = "9 mm"
pass_gap = "8 mm"
thickness = "3 mm"
fillet = "1.5 mm"
eyes = "opposite edges"
"""


@pytest.mark.parametrize("made_by", ["laser", "cast"])
def test_every_figure_of_an_order_and_its_nest(made_by: str, tmp_path: Path) -> None:
    """What the cutter cuts or the foundry pours, and how it lies on its stock."""
    path = tmp_path / "laser.toml"
    metal = "grey_iron_class30" if made_by == "cast" else "ss304"
    path.write_text(LASER.replace("laser", made_by).replace("ss304", metal), encoding="utf-8")
    result = result_of(with_nest(read_job(path), "2000 mm x 1000 mm, web 6 mm, margin 10 mm"))
    names = [sheet.name for sheet in sheets_of_set(result)]
    assert "Order Q" in names and "Nest Q" in names
    missing, count = untraced(result)
    assert missing == [] and count > 55


def test_in_inches_too(demo: Result, tmp_path: Path) -> None:
    path = tmp_path / "letter.toml"
    path.write_text(f'{demo.job.path.read_text(encoding="utf-8")}\n[papers]\nsheet = "Letter"\n', encoding="utf-8")
    missing, _ = untraced(result_of(read_job(path)))
    assert missing == []


def test_a_figure_that_is_nowhere_would_be_found(demo: Result) -> None:
    (known,) = figures("12.345 mΩ")
    assert known[:2] == ("ohm", pytest.approx(0.012345))
    assert [one[3] for one in figures("≈ 1.2 to 3.4 kJ, 2.50 Ω and 7 plates")] == ["1.2 kJ", "3.4 kJ", "2.50 Ω"]
