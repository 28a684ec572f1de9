"""Words in the codes a PDF's embedded fonts have for them: each worked out once for a file, however often it stands."""

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeAlias

from griddesign.papers import typefaces

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

Shown: TypeAlias = tuple[tuple[str, str], ...]
_FIRST_PLAIN, _FIRST_AFTER = 32, 127
_ESCAPES = str.maketrans(
    {code: f"\\{code:03o}" for code in (*range(_FIRST_PLAIN), *range(_FIRST_AFTER, 256))}
    | {ord(char): f"\\{char}" for char in "()\\"}
)
"""How a string of a PDF writes what is no plain character, ISO 32000-1, 7.3.4.2."""


@dataclass(frozen=True)
class Letters:
    """The two fonts as ``canvas`` embeds them, a subset of at most 256 letters at a time."""

    canvas: "Canvas"
    known: dict[tuple[str, bool], Shown] = field(default_factory=dict)

    def shown(self, text: str, bold: bool) -> Shown:
        """The operands that show a text, as pairs of the subset's name and the string in its codes."""
        found = self.known.get((text, bold))
        if found is None:
            found = self.known[text, bold] = tuple(self._split(text, bold))
        return found

    def _split(self, text: str, bold: bool) -> list[tuple[str, str]]:
        font = self._fonts[bold]
        canvas: Any = self.canvas  # the fonts keep their subsets by its document, which its stubs leave out
        document = canvas._doc
        return [
            (font.getSubsetInternalName(subset, document), f"({codes.decode('latin-1').translate(_ESCAPES)})")
            for subset, codes in font.splitString(text, document)
        ]

    @cached_property
    def _fonts(self) -> tuple[Any, Any]:
        from reportlab.pdfbase import pdfmetrics

        typefaces.register_with_reportlab()
        return pdfmetrics.getFont(typefaces.REGULAR), pdfmetrics.getFont(typefaces.BOLD)
