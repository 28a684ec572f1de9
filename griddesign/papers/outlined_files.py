"""What leaves the shop about a plate read from an outline: the field sheet, the outline exactly as solved, and the
path of the cut where a kerf was named."""

from pathlib import PurePath

from griddesign.papers.blocks import Stamp
from griddesign.papers.cut_dxf import cut_dxf, solved_dxf
from griddesign.papers.outlined_json import OutlineReport
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.sheets.field import outline_sheet
from griddesign.papers.writing import file_name
from griddesign.plate.kerf import kerf_mark, kerf_outline
from griddesign.telling import stage

REVISION = "as supplied"


@stage("papers")
def outline_files(report: OutlineReport) -> dict[str, bytes]:
    """File name -> content. Same drawing and options, same bytes."""
    stamp = Stamp(report.name, REVISION, report.fingerprint)
    pages = lay_out((outline_sheet(report, stamp),), stamp)
    of_order = "" if report.order is None else "_ordered"
    regions = {region.layer: region.loops for region in report.read.regions}
    stem = PurePath(report.name).stem
    files = {
        file_name(stem, suffix=f"{of_order}_field.pdf"): pdf_bytes(pages, stamp),
        file_name(stem, suffix=f"{of_order}_solved.dxf"): solved_dxf(report.solved.outline, regions, report.units),
    }
    if report.kerf is not None:
        path = kerf_outline(report.solved.outline, report.kerf.value)
        name = file_name(stem, suffix=f"{of_order}_{kerf_mark(report.kerf.value)}_cut.dxf")
        files[name] = cut_dxf(path, report.units)
    return files
