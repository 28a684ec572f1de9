"""What leaves the shop about a plate read from an outline: the field sheet, and the outline exactly as solved."""

from pathlib import PurePath

from griddesign.papers.blocks import Stamp
from griddesign.papers.cut_dxf import cut_dxf
from griddesign.papers.outlined_json import OutlineReport
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.sheets.field import outline_sheet
from griddesign.papers.writing import file_name

REVISION = "as supplied"


def outline_files(report: OutlineReport) -> dict[str, bytes]:
    """File name -> content. Same drawing and options, same bytes."""
    stamp = Stamp(report.name, REVISION, report.fingerprint)
    pages = lay_out((outline_sheet(report, stamp),), stamp)
    stem = PurePath(report.name).stem
    return {
        file_name(stem, suffix="_field.pdf"): pdf_bytes(pages, stamp),
        file_name(stem, suffix="_solved.dxf"): cut_dxf(report.solved.outline, report.units),
    }
