"""The files of a nest: the cutting file of each kind of sheet, and its drawing."""

from griddesign.judge.nesting import to_nest
from griddesign.judge.records import PlateReport
from griddesign.nest.records import Nested, Place
from griddesign.papers.cut_dxf import sheet_dxf
from griddesign.papers.dxf_library import LengthUnit
from griddesign.papers.nest_drawing import NestDrawing, laid
from griddesign.plate.kerf import kerf_mark
from griddesign.plate.outline import Outline


def nest_files(plate: PlateReport, drawings: tuple[NestDrawing, ...], unit: LengthUnit) -> dict[str, bytes]:
    """Ending of the name -> content: ``nest-48each-1off_cut.dxf``, beside it one offset for the kerf, and the drawing.
    A casting's holds its pattern."""
    if plate.nest is None:
        return {}
    ending = "pattern" if plate.wish.made_by == "cast" else "cut"
    files: dict[str, bytes] = {}
    for (places, times), drawing in zip(_sheets(plate.nest), drawings, strict=True):
        name = f"nest-{len(places)}each-{times}off"
        files[f"{name}_{ending}.dxf"] = sheet_dxf(laid(to_nest(plate), places), unit)
        for mark, outline in _offset(plate):
            files[f"{name}_{mark}_{ending}.dxf"] = sheet_dxf(laid(outline, places), unit)
        files[f"{name}_drawing.dxf"] = drawing.dxf()
    return files


def _sheets(nest: Nested) -> list[tuple[tuple[Place, ...], int]]:
    full = [(nest.pattern.places, nest.full)] if nest.full else []
    return [*full, (nest.last, 1)] if nest.last else full


def _offset(plate: PlateReport) -> list[tuple[str, Outline]]:
    made = plate.made
    if made is None or made.cut_path is None or made.kerf is None:
        return []
    return [(kerf_mark(made.kerf.value), made.cut_path)]
