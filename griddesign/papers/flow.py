"""Strips stacked down pages: what is glued stays together, a table's header comes again, no page is overfilled."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from griddesign.errors import OutputError
from griddesign.papers.marks import Group
from griddesign.papers.strips import Laid, Strip


@dataclass(frozen=True, slots=True)
class _Piece:
    """A strip with what the page-filler has to know about its block."""

    strip: Strip
    gap_mm: float = 0.0
    header: Strip | None = None
    new_page: bool = False


@dataclass
class _Filler:
    """Pages being filled from the top; heights in mm."""

    room_mm: float
    pages: list[list[Group]] = field(default_factory=lambda: [[]])
    used_mm: float = 0.0

    def turn(self) -> None:
        if self.pages[-1]:
            self.pages.append([])
        self.used_mm = 0.0

    def put(self, strip: Strip) -> None:
        if strip.height_mm > self.room_mm:
            raise OutputError(
                f"a piece {strip.height_mm:.0f} mm high does not fit a page with {self.room_mm:.0f} mm free"
            )
        if strip.marks:
            self.pages[-1].append(Group(0.0, self.used_mm, strip.marks))
        self.used_mm += strip.height_mm


def fill(laid: Iterable[Laid], room_mm: float) -> tuple[tuple[Group, ...], ...]:
    """Pages of ``room_mm`` height from blocks in order; at least one page. Raises OutputError where a strip is higher
    than a page."""
    filler = _Filler(room_mm)
    for together in _glued_together(_pieces(laid)):
        _place(filler, together)
    return tuple(tuple(page) for page in filler.pages)


def _pieces(laid: Iterable[Laid]) -> Iterator[_Piece]:
    """Strips in order; a block without strips (a gap, a new page) lends its gap and turn to the next strip."""
    gap_mm, new_page = 0.0, False
    for block in laid:
        gap_mm, new_page = (max(gap_mm, block.gap_mm), new_page or block.new_page)
        for number, strip in enumerate(block.strips):
            yield _Piece(strip, gap_mm, block.header if number else None, new_page)
            gap_mm, new_page = 0.0, False


def _glued_together(pieces: Iterable[_Piece]) -> Iterator[list[_Piece]]:
    together: list[_Piece] = []
    for piece in pieces:
        together.append(piece)
        if not piece.strip.glued:
            yield together
            together = []
    if together:
        yield together


def _place(filler: _Filler, together: list[_Piece]) -> None:
    first = together[0]
    height = sum(piece.strip.height_mm + piece.gap_mm for piece in together)
    if first.new_page or (filler.used_mm and filler.used_mm + height > filler.room_mm):
        filler.turn()
        _repeat_header(filler, first)
    for piece in together:
        _place_one(filler, piece)


def _place_one(filler: _Filler, piece: _Piece) -> None:
    """Put one strip down; glue gives way where what is glued is longer than a page."""
    if filler.used_mm:
        filler.used_mm += piece.gap_mm
    if filler.used_mm and filler.used_mm + piece.strip.height_mm > filler.room_mm + 1e-9:
        filler.turn()
        _repeat_header(filler, piece)
    filler.put(piece.strip)


def _repeat_header(filler: _Filler, piece: _Piece) -> None:
    """A table's header again, unless its row is so high that it needs the whole page."""
    if piece.header is not None and piece.header.height_mm + piece.strip.height_mm <= filler.room_mm:
        filler.put(piece.header)
