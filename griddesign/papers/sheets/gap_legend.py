"""What stands between two eyes: every make-up of a gap once, under a short name, and the spacers by their lengths."""

from collections.abc import Iterator

from griddesign.grid.stack.records import Gap, StackPart
from griddesign.judge.stacking import StackReport
from griddesign.papers.blocks import Block, Cell, Column, Heading, Paragraph, Table, TableCell
from griddesign.papers.issued import Issued
from griddesign.papers.sheets.common import length
from griddesign.papers.stack_drawing import SHORT, gap_picture

MEASURE = "measure"
LEGEND = (
    "JOIN joins the two eyes, MICA keeps them apart, END insulates the stack from the end frame; +C: a lead is clamped "
    "here. W metal washer, S spacer, M mica, C terminal clamp, E end insulation. Grey is metal and conducts, crossed "
    "does not. “Measure”: nobody has given that thickness. The order within a gap is common practice, no source."
)
_Row = tuple[TableCell, ...]


def or_measure(result: Issued, length_m: float | None) -> str:
    """A length, or the word that it is to be measured."""
    return MEASURE if length_m is None else length(result, length_m)


class GapLegend:
    """Every make-up of a gap once, under a short name, and every spacer length under a number."""

    def __init__(self, report: StackReport) -> None:
        self._boxes = [box.stack for box in report.boxes]
        self._spacers: dict[tuple[float | None, str], str] = {}
        self._names: dict[tuple[tuple[str, str], ...], str] = {}
        self._shown: dict[str, Gap] = {}
        for gap in (gap for stack in self._boxes for rod in stack.rods for gap in rod.gaps):
            key = self._key(gap)
            if key not in self._names:
                self._names[key] = name = self._name(gap)
                self._shown[name] = gap

    def _key(self, gap: Gap) -> tuple[tuple[str, str], ...]:
        return tuple((part.what, self.letter(part, gap)) for part in gap.parts)

    def letter(self, part: StackPart, gap: Gap) -> str:
        """``S1``, ``S2`` … for spacers by their lengths, or by gap and company where those are not known."""
        if part.what != "spacer":
            return SHORT[part.what]
        if part.length_m is not None:
            return self._spacers.setdefault((round(part.length_m, 6), ""), f"S{len(self._spacers) + 1}")
        company = "-".join(SHORT[one.what] for one in _beside_spacer(gap))
        key = (None if gap.length_m is None else round(gap.length_m, 6), company)
        return self._spacers.setdefault(key, f"S{len(self._spacers) + 1}")

    def _name(self, gap: Gap) -> str:
        stem = _stem(gap)
        taken = sum(name.split(".")[0] == stem for name in self._shown)
        return f"{stem}.{taken + 1}" if taken else stem

    def name_of(self, gap: Gap) -> str:
        """The short name of a gap's make-up."""
        return self._names[self._key(gap)]

    def blocks(self, result: Issued) -> Iterator[Block]:
        """Name, drawing and length of every make-up, two to a line, and what the names and letters mean."""
        yield Heading("What stands between two eyes")
        rows: list[_Row] = [
            (Cell(name), self._picture(gap), or_measure(result, gap.length_m)) for name, gap in self._shown.items()
        ]
        half, empty = (len(rows) + 1) // 2, ("", "", "")
        columns = (Column("Name"), Column("Parts, dot end left"), Column("Between eyes", "right"))
        pairs = tuple((*rows[at], "", *(rows[at + half] if at + half < len(rows) else empty)) for at in range(half))
        yield Table((*columns, Column("", least_mm=4.0), *columns), pairs, 9.5)
        yield Paragraph(LEGEND, size_pt=9.0)

    def _picture(self, gap: Gap) -> TableCell:
        eye = StackPart("eye", None)
        at_dot, at_far = gap.parts[0].what == "end insulation", gap.parts[-1].what == "end insulation"
        parts = (*(() if at_dot else (eye,)), *gap.parts, *(() if at_far else (eye,)))
        return gap_picture(parts, lambda part: self.letter(part, gap))

    def counts(self) -> list[tuple[str, str, float | None, list[int]]]:
        """Letter, part, length, and how many in each box."""
        found: dict[tuple[str, str], tuple[float | None, list[int]]] = {}
        for number, stack in enumerate(self._boxes):
            for gap in (gap for rod in stack.rods for gap in rod.gaps):
                for part in gap.parts:
                    key = (self.letter(part, gap), part.what)
                    found.setdefault(key, (part.length_m, [0] * len(self._boxes)))[1][number] += 1
        return [(letter, what, length_m, each) for (letter, what), (length_m, each) in sorted(found.items())]


def _beside_spacer(gap: Gap) -> list[StackPart]:
    """The parts beside the spacer, in an order that does not hang on theirs: the same company, the same length."""
    return sorted((part for part in gap.parts if part.what != "spacer"), key=lambda part: part.what)


def _stem(gap: Gap) -> str:
    clamps = sum(part.what == "terminal clamp" for part in gap.parts)
    if any(part.what == "end insulation" for part in gap.parts):
        return f"{'DOT' if gap.before == 0 else 'FAR'} END{'+C' * clamps}"
    return f"{'JOIN' if gap.joined else 'MICA'}{'+C' * clamps}"
