"""A stranger's DXF read into our outline: never a wrong number, each awkward file its own message or a right answer."""

from griddesign.plate.foreign.reading import DEFAULT_TOLERANCE_M, read_dxf
from griddesign.plate.foreign.records import ForeignPlate, FoundHole, Healed, Ignored, Piece
from griddesign.plate.foreign.telling import sentences

__all__ = ["DEFAULT_TOLERANCE_M", "ForeignPlate", "FoundHole", "Healed", "Ignored", "Piece", "read_dxf", "sentences"]
