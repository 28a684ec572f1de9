"""What ``griddesign new`` writes beside a starter: the measuring sheet as a PDF, and the blank table of plates."""

import tomllib
from collections.abc import Mapping
from typing import Any, Literal

from griddesign.job.plates_csv import blank_csv
from griddesign.papers.blocks import Stamp
from griddesign.papers.pdf import lay_out, pdf_bytes
from griddesign.papers.sheets.measuring import PLATES, measuring_sheets

NO_JOB_YET = "none yet"
MOST_ROWS, MOST_BOXES = 500, 100


def blank_names(stem: str) -> tuple[str, str]:
    """Names of the two files beside a job file called ``stem``: sheet and table."""
    return f"{stem}-measure.pdf", f"{stem}-plates-blank.csv"


def blanks_of(stem: str, purpose: str, text: str, paper: str = "A4") -> dict[str, bytes]:
    """Name beside the job file -> content, for a job file called ``stem`` with this text. Same words, same bytes."""
    data = tomllib.loads(text)
    sheet: Literal["A4", "Letter"] = "Letter" if paper == "Letter" else "A4"
    stamp = Stamp(str(data.get("title", "")), "draft", NO_JOB_YET, sheet)
    degree = "°F" if sheet == "Letter" else "°C"
    pdf = pdf_bytes(lay_out(measuring_sheets(purpose, degree), stamp), stamp)
    table = blank_csv(_plates_in_boxes(data), "P", degree.replace("°", "deg")).encode("utf-8-sig")
    return dict(zip(blank_names(stem), (pdf, table), strict=True))


def _plates_in_boxes(data: Mapping[str, Any]) -> tuple[int, ...]:
    """As many rows as the job's boxes hold plates; without boxes those of one page of the sheet."""
    boxes = data.get("boxes", {"boxes": 1, "plates_per_box": PLATES})
    return (min(int(boxes["plates_per_box"]), MOST_ROWS),) * min(int(boxes["boxes"]), MOST_BOXES)
