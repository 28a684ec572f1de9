"""Strips stacked down pages: what is glued stays together, a table's header comes again, no page is overfilled."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from griddesign.errors import OutputError
from griddesign.papers.marks import ARTIFACT, Group, Role
from griddesign.papers.strips import Laid, Strip

_SHORT_SHARE = 0.35  # of a page's height: a last page with less on it is worth closing up for
_CLOSER = (0.7, 0.45)  # shares of the gaps between blocks that still part them


@dataclass(frozen=True, slots=True)
class _Piece:
    """A strip with what the page-filler has to know about its block."""

    strip: Strip
    gap_mm: float = 0.0
    header: Strip | None = None
    new_page: bool = False
    role: Role = ARTIFACT


class _Filler:
    """Pages being filled from the top; heights in mm."""

    def __init__(self, room_mm: float) -> None:
        self.room_mm = room_mm
        self.pages: list[list[Group]] = [[]]
        self.used_mm = 0.0

    def turn(self) -> None:
        if self.pages[-1]:
            self.pages.append([])
        self.used_mm = 0.0

    def put(self, strip: Strip, role: Role) -> None:
        if strip.height_mm > self.room_mm:
            raise OutputError(
                f"a piece {strip.height_mm:.0f} mm high does not fit a page with {self.room_mm:.0f} mm free"
            )
        if strip.marks:
            self.pages[-1].append(Group(0.0, self.used_mm, strip.marks, role=role))
        self.used_mm += strip.height_mm


def fill(laid: Iterable[Laid], room_mm: float) -> tuple[tuple[Group, ...], ...]:
    """Pages of ``room_mm`` height from blocks in order; at least one page. Where little would be left for the last
    page, the blocks close up, if that saves it. Raises OutputError where a strip is higher than a page."""
    pieces = tuple(_pieces(laid))
    filler = _filled(pieces, room_mm)
    if len(filler.pages) > 1 and filler.used_mm < _SHORT_SHARE * room_mm:
        filler = next((one for one in _closed_up(pieces, room_mm) if len(one.pages) < len(filler.pages)), filler)
    return tuple(tuple(page) for page in filler.pages)


def _closed_up(pieces: Sequence[_Piece], room_mm: float) -> Iterator[_Filler]:
    for share in _CLOSER:
        yield _filled([replace(piece, gap_mm=share * piece.gap_mm) for piece in pieces], room_mm)


def _filled(pieces: Iterable[_Piece], room_mm: float) -> _Filler:
    filler = _Filler(room_mm)
    for together in _glued_together(pieces):
        _place(filler, together)
    return filler


def _pieces(laid: Iterable[Laid]) -> Iterator[_Piece]:
    """Strips in order; a block without strips (a gap, a new page) lends its gap and turn to the next strip."""
    gap_mm, new_page = 0.0, False
    for place, block in enumerate(laid):
        gap_mm, new_page = (max(gap_mm, block.gap_mm), new_page or block.new_page)
        role = Role(block.kind, place)
        for number, strip in enumerate(block.strips):
            yield _Piece(strip, gap_mm, block.header if number else None, new_page, role)
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
    filler.put(piece.strip, piece.role)


def _repeat_header(filler: _Filler, piece: _Piece) -> None:
    """A table's header again, unless its row is so high that it needs the whole page."""
    if piece.header is not None and piece.header.height_mm + piece.strip.height_mm <= filler.room_mm:
        filler.put(piece.header, ARTIFACT)
