"""The working of the stacked boxes: gaps, lengths over eyes and between frames, make-up, tolerance, growth, masses."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from griddesign.grid.stack.lengths import Growth
from griddesign.grid.stack.records import Gap, StackPart
from griddesign.judge.records import Result
from griddesign.judge.stacking import BoxReport, StackReport
from griddesign.papers.sheets.common import length, mass
from griddesign.papers.sheets.shown import ABOUT, Shown
from griddesign.papers.sheets.trace import Line, Part

_UNKNOWN = "not known: to be measured"
_ORDER = ("over the eyes", "±", "between end frames", "make-up", "plates alone", "whole box", "growth")


def stack_parts(result: Result) -> tuple[Part, ...]:
    """Gaps and boxes; nothing where there is no grid."""
    report = result.stack
    if report is None:
        return ()
    boxes = tuple(_alike((box.stack.box, tuple(_box(result, report, box))) for box in report.boxes))
    return (Part("Stack, gap by gap", tuple(_gaps(result, report))), Part("Stack, box by box, cold", boxes))


def _alike(boxes: Iterable[tuple[int, tuple[Line, ...]]]) -> Iterator[Line]:
    """The lines of all boxes, those that several have alike once, with the boxes named."""
    numbers: dict[Line, list[str]] = {}
    for number, lines in boxes:
        for line in lines:
            numbers.setdefault(line, []).append(str(number))
    several = len({number for own in numbers.values() for number in own}) > 1
    for line, own in sorted(numbers.items(), key=lambda one: _ORDER.index(one[0].symbol)):
        of = f", box{'es' * (len(own) > 1)} {', '.join(own)}" if several else ""
        yield replace(line, symbol=f"{line.symbol}{of}")


def _gaps(result: Result, report: StackReport) -> Iterator[Line]:
    """Every make-up of a gap once."""
    diameter_m = report.given.hardware.rod_diameter_m
    if diameter_m is not None:
        yield Line("tie rod", "diameter", "", length(result, diameter_m), "the job")
    every = (gap for box in report.boxes for rod in box.stack.rods for gap in rod.gaps)
    yield from dict.fromkeys(_gap(result, gap) for gap in every)


def _gap(result: Result, gap: Gap) -> Line:
    parts = " + ".join(_part(result, part) for part in gap.parts)
    whole = _UNKNOWN if gap.length_m is None else length(result, gap.length_m)
    return Line("joined" if gap.joined else "kept apart", parts, "", whole, "parts of the job")


def _part(result: Result, part: StackPart) -> str:
    return part.what if part.length_m is None else f"{part.what} {length(result, part.length_m)}"


def _box(result: Result, report: StackReport, box: BoxReport) -> Iterator[Line]:
    stack = box.stack
    yield Line("over the eyes", "eyes + gaps of a rod", "", length(result, stack.over_eyes_m), "parts")
    if box.spread_m is not None:
        worst, likely = (length(result, half_m) for half_m in box.spread_m)
        yield Line("±", "every eye off the same way", "", worst, "root of the sum of squares", f"likely ±{likely}")
    frames = _UNKNOWN if box.between_frames_m is None else length(result, box.between_frames_m)
    yield Line("between end frames", "end gap + over the eyes + end gap", "", frames)
    if abs(box.make_up_m) > 1e-6:
        given = "frames as given" if report.given.frames_apart_m is not None else "longest box"
        yield Line("make-up", f"{given} less this", "", length(result, box.make_up_m))
    yield Line("plates alone", "plates · mass of one", "", mass(result, box.plates_kg))
    whole = _UNKNOWN if box.whole_kg is None else mass(result, box.whole_kg)
    yield Line("whole box", "plates + hardware of the job", "", whole)
    if box.growth is not None:
        yield _growth(result, box, box.growth)


def _growth(result: Result, box: BoxReport, growth: Growth) -> Line:
    hot = Shown(result.job.paper.units).temperature(box.hot_c or 0.0)
    over, loose = growth.over_cold_rod_m, growth.over_hot_rod_m
    more = [
        words.format(length(result, abs(value)))
        for value, words in ((over, "{} over a cold rod"), (loose, "{} against a rod as hot"))
        if value is not None
    ]
    formula = f"expansion · thickness · rise, hottest plate {hot}"
    return Line("growth", formula, "", f"{ABOUT}eyes {length(result, growth.eyes_m)}", "metals", "\n".join(more))
