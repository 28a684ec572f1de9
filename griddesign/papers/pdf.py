"""Pages as a PDF: selectable text in an embedded font, bookmarks, title, and the same bytes for the same pages."""

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from griddesign.papers import frame, text, typefaces
from griddesign.papers.blocks import Sheet, Stamp
from griddesign.papers.frame import Page
from griddesign.papers.ink import PT_PER_MM, Ink
from griddesign.papers.letters import Letters

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas


def lay_out(sheets: Sequence[Sheet], stamp: Stamp) -> tuple[Page, ...]:
    """Every page of a set, in order. Pages of one hand picked out of it keep their numbers in the whole set.

    Raises OutputError where something is higher than a page.
    """
    return tuple(
        page
        for number, sheet in enumerate(sheets, start=1)
        for page in frame.pages_of(sheet, number, len(sheets), stamp)
    )


def pdf_bytes(pages: Sequence[Page], stamp: Stamp) -> bytes:
    """The pages as one PDF file. Same pages, same bytes: no clock, no machine, no random identity goes in."""
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # streams stay binary: a quarter smaller, and sooner written
    typefaces.register_with_reportlab()
    wide_mm, high_mm = frame.PAPER_MM[stamp.paper]
    size = (wide_mm * PT_PER_MM, high_mm * PT_PER_MM)
    sink = BytesIO()
    canvas = Canvas(sink, pagesize=size, invariant=1, pageCompression=1, lang="en")
    _describe(canvas, stamp)
    letters = Letters(canvas)
    for page in pages:
        _draw_page(letters, page, stamp)
    canvas.save()
    return sink.getvalue()


def _describe(canvas: "Canvas", stamp: Stamp) -> None:
    canvas.setTitle(text.clean(f"{stamp.job_title}, revision {stamp.revision}"))
    canvas.setSubject(text.clean(f"fingerprint {stamp.fingerprint}"))
    canvas.setAuthor(text.clean(stamp.owner))
    canvas.setCreator("griddesign")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setViewerPreference("PrintScaling", "None")


def _draw_page(letters: Letters, page: Page, stamp: Stamp) -> None:
    canvas = letters.canvas
    wide_mm, high_mm = frame.paper_mm(page, stamp.paper)
    left_mm, top_mm = frame.corner_mm(page, stamp.paper)
    canvas.setPageSize((wide_mm * PT_PER_MM, high_mm * PT_PER_MM))
    if page.part == 1:
        key = f"sheet-{page.sheet_number}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(f"{page.sheet_number}  {text.clean(page.name)}", key, level=0)
    canvas.translate(left_mm * PT_PER_MM, (high_mm - top_mm) * PT_PER_MM)
    canvas.setLineCap(0)
    canvas.setLineJoin(1)
    ink = Ink(letters)
    ink.draw(frame.across_marks(page.across, page.live_mm))
    ink.draw(page.marks)
    ink.finish()
    canvas.showPage()
