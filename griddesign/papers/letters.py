"""Words in the codes a PDF's embedded fonts have for them: each worked out once for a set, however often it stands.

A font of a PDF knows at most 256 letters by one byte each, so a face becomes one or more of them (subsets). The first
keeps the codes of ASCII, which leaves plain words readable in the file.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any, TypeAlias

from griddesign.papers import text, typefaces
from griddesign.papers.pdf_file import escaped, stream

Shown: TypeAlias = tuple[tuple[tuple[str, str], ...], float]
"""The operands that show a line, as pairs of a subset's name and the string in its codes; its width in ems."""
_ASCII = range(32, 127)
_LAST = 255
_NO_BREAK = "\u00a0"
_AT_ONCE = 100  # entries that a table of codes may have in one block


class _Codes(dict[int, str]):
    """What a string writes for each code point; ``str.translate`` asks for those met first, and they get a code."""

    def __init__(self) -> None:
        super().__init__({code: escaped(chr(code)) for code in _ASCII})
        self[ord(_NO_BREAK)] = " "
        self.subsets: list[list[int]] = [[*([0] * _ASCII.start), *_ASCII]]
        self.later: dict[str, int] = {}

    def __missing__(self, code: int) -> str:
        if len(self.subsets[-1]) > _LAST:
            self.subsets.append([0])
        if len(self.subsets[-1]) == _ASCII.start:
            self.subsets[-1].append(_ASCII.start)  # a space has one code in all of them
        self[code] = f"\\{len(self.subsets[-1]):03o}"
        self.subsets[-1].append(code)
        if len(self.subsets) > 1:
            self.later[chr(code)] = len(self.subsets) - 1
        return self[code]


@dataclass(frozen=True)
class Letters:
    """The two faces as a set of papers uses them."""

    faces: tuple[_Codes, _Codes] = field(default_factory=lambda: (_Codes(), _Codes()))
    known: dict[tuple[str, bool], Shown] = field(default_factory=dict)

    def shown(self, words: str, bold: bool) -> Shown:
        """What shows the words, as one line and as they can be printed."""
        found = self.known.get((words, bold))
        if found is None:
            printed = text.clean(words).replace("\n", " ")
            found = self.known[words, bold] = tuple(self._in_codes(printed, bold)), text.ems(printed, bold)
        return found

    def _in_codes(self, printed: str, bold: bool) -> Iterator[tuple[str, str]]:
        face = self.faces[bold]
        codes = escaped(printed) if printed.isascii() else printed.translate(face)
        if not face.later or face.later.keys().isdisjoint(printed):
            yield _name(bold, 0), f"({codes})"
            return
        for subset, run in groupby(printed, key=lambda char: face.later.get(char, 0)):
            yield _name(bold, subset), f"({''.join(run).translate(face)})"

    def fonts(self) -> Iterator[tuple[str, "Embedded"]]:
        """Every subset by its name, as the objects a file embeds it by."""
        for bold, face in enumerate(self.faces):
            for number, subset in enumerate(face.subsets):
                yield _name(bool(bold), number), Embedded(typefaces.face(bool(bold)), number, tuple(subset))


def _name(bold: bool, subset: int) -> str:
    return f"/{'B' if bold else 'R'}{subset}"


@dataclass(frozen=True, slots=True)
class Embedded:
    """One subset of a face: code points in the order of their codes, 0 where a code shows nothing."""

    face: Any
    number: int
    subset: tuple[int, ...]

    @property
    def _drawn(self) -> list[int]:
        """What is drawn for each code: the empty box for what this face lacks and the other has."""
        box = ord(typefaces.MISSING)
        return [point if not point or point in self.face.charToGlyph else box for point in self.subset]

    @property
    def _name(self) -> str:
        tag = "".join(chr(ord("A") + self.number // 26**place % 26) for place in range(6))
        return f"/{tag}+{self.face.name.decode('ascii')}"

    def program(self) -> bytes:
        """The letters' outlines as a stream."""
        content: bytes = self.face.makeSubset(self._drawn)
        return stream(content, f"/Length1 {len(content)}")

    def meaning(self) -> bytes:
        """Which character each code stands for, so that text can be taken out of the file: a stream."""
        pairs = [(code, point) for code, point in enumerate(self.subset) if point]
        blocks = [pairs[start : start + _AT_ONCE] for start in range(0, len(pairs), _AT_ONCE)]
        rows = "\n".join(
            f"{len(block)} beginbfchar\n"
            + "\n".join(f"<{code:02x}> <{chr(point).encode('utf-16-be').hex()}>" for code, point in block)
            + "\nendbfchar"
            for block in blocks
        )
        return stream(_MEANING.format(name=self._name, rows=rows).encode("ascii"))

    def descriptor(self, program: int) -> str:
        """The font's descriptor, the outlines being object ``program``."""
        face = self.face
        box = " ".join(f"{side:.0f}" for side in face.bbox)
        return (
            f"<</Type/FontDescriptor/FontName{self._name}/Flags {face.flags}/FontBBox[{box}]/ItalicAngle 0"
            f"/Ascent {face.ascent:.0f}/Descent {face.descent:.0f}/CapHeight {face.capHeight:.0f}/StemV {face.stemV}"
            f"/FontFile2 {program} 0 R>>"
        )

    def font(self, descriptor: int, meaning: int) -> str:
        """The font itself, by the numbers of its other objects."""
        glyphs, ems = self.face.charToGlyph, 1000.0 / self.face.unitsPerEm
        widths = " ".join(f"{self.face.hmetrics[glyphs.get(point, 0)][0] * ems:.6g}" for point in self._drawn)
        return (
            f"<</Type/Font/Subtype/TrueType/BaseFont{self._name}/FirstChar 0/LastChar {len(self.subset) - 1}"
            f"/Widths[{widths}]/FontDescriptor {descriptor} 0 R/ToUnicode {meaning} 0 R>>"
        )


_MEANING = """/CIDInit /ProcSet findresource begin
12 dict begin
begincmap
/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def
/CMapName {name} def
/CMapType 2 def
1 begincodespacerange
<00> <ff>
endcodespacerange
{rows}
endcmap
CMapName currentdict /CMap defineresource pop
end
end
"""
