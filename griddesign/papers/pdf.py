"""Pages as a PDF: selectable text in an embedded font, bookmarks, title, and the same bytes for the same pages."""

from collections.abc import Callable, Sequence
from io import BytesIO
from typing import TYPE_CHECKING

from griddesign.papers import frame, text, typefaces
from griddesign.papers.blocks import Sheet, Stamp
from griddesign.papers.frame import Page
from griddesign.papers.marks import MM_PER_PT, Group, Mark, Path, Words

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

_PT_PER_MM = 1.0 / MM_PER_PT
_HOLLOW_MM = 0.3


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
    size = (wide_mm * _PT_PER_MM, high_mm * _PT_PER_MM)
    sink = BytesIO()
    canvas = Canvas(sink, pagesize=size, invariant=1, pageCompression=1, lang="en")
    _describe(canvas, stamp)
    for page in pages:
        _draw_page(canvas, page, (high_mm - frame.LIVE_HIGH_MM) / 2.0, size[1])
    canvas.save()
    return sink.getvalue()


def _describe(canvas: "Canvas", stamp: Stamp) -> None:
    canvas.setTitle(text.clean(f"{stamp.job_title}, revision {stamp.revision}"))
    canvas.setSubject(text.clean(f"fingerprint {stamp.fingerprint}"))
    canvas.setAuthor(text.clean(stamp.owner))
    canvas.setCreator("griddesign")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    canvas.setViewerPreference("PrintScaling", "None")


def _draw_page(canvas: "Canvas", page: Page, top_mm: float, page_high_pt: float) -> None:
    if page.part == 1:
        key = f"sheet-{page.sheet_number}"
        canvas.bookmarkPage(key)
        canvas.addOutlineEntry(f"{page.sheet_number}  {text.clean(page.name)}", key, level=0)
    canvas.translate(frame.LEFT_MM * _PT_PER_MM, page_high_pt - top_mm * _PT_PER_MM)
    canvas.setLineCap(0)
    canvas.setLineJoin(1)
    draw(canvas, frame.across_marks(page.across))
    draw(canvas, page.marks)
    canvas.showPage()


def draw(canvas: "Canvas", marks: Sequence[Mark]) -> None:
    """Draw marks on a canvas whose origin is their top left corner (the canvas counts up, marks count down)."""
    for mark in marks:
        _draw_at(canvas, mark, 0.0, 0.0)


def _draw_at(canvas: "Canvas", mark: Mark, x_mm: float, y_mm: float) -> None:
    if isinstance(mark, Group) and mark.shared:
        _draw_shared(canvas, mark, x_mm, y_mm)
    elif isinstance(mark, Group):
        for inner in mark.marks:
            _draw_at(canvas, inner, x_mm + mark.x_mm, y_mm + mark.y_mm)
    elif isinstance(mark, Words):
        _draw_words(canvas, mark, x_mm, y_mm)
    else:
        _draw_path(canvas, mark, x_mm, y_mm)


def _draw_shared(canvas: "Canvas", group: Group, x_mm: float, y_mm: float) -> None:
    """Marks the file holds once, as a form drawn where they are wanted."""
    if not canvas.hasForm(group.shared):
        wide_pt, high_pt = (round(side_mm * _PT_PER_MM) for side_mm in (frame.LIVE_WIDE_MM, frame.LIVE_HIGH_MM))
        canvas.beginForm(group.shared, -wide_pt, -high_pt, 2 * wide_pt, high_pt)  # its origin is the top left corner
        draw(canvas, group.marks)
        canvas.endForm()
    canvas.saveState()
    canvas.translate((x_mm + group.x_mm) * _PT_PER_MM, -(y_mm + group.y_mm) * _PT_PER_MM)
    canvas.doForm(group.shared)
    canvas.restoreState()


def _draw_path(canvas: "Canvas", path: Path, x_mm: float, y_mm: float) -> None:
    trace = canvas.beginPath()
    draw_step: dict[str, Callable[..., None]] = {
        "m": trace.moveTo,
        "l": trace.lineTo,
        "c": trace.curveTo,
        "z": trace.close,
    }
    for kind, numbers in path.steps:
        draw_step[kind](*_to_points(numbers, x_mm, y_mm))
    if path.width_mm:
        canvas.setLineWidth(path.width_mm * _PT_PER_MM)
        canvas.setStrokeGray(path.grey)
        canvas.setDash([length * _PT_PER_MM for length in path.dash_mm])
    if path.fill is not None:
        canvas.setFillGray(path.fill)
    canvas.drawPath(trace, stroke=int(path.width_mm > 0.0), fill=int(path.fill is not None))


def _to_points(numbers: tuple[float, ...], x_mm: float, y_mm: float) -> list[float]:
    return [
        (x_mm + number) * _PT_PER_MM if index % 2 == 0 else -(y_mm + number) * _PT_PER_MM
        for index, number in enumerate(numbers)
    ]


def _draw_words(canvas: "Canvas", words: Words, x_mm: float, y_mm: float) -> None:
    printed = text.clean(words.text).replace("\n", " ")
    shift = {"left": 0.0, "centre": 0.5, "right": 1.0}[words.align]
    back_pt = shift * text.width_mm(printed, words.size_pt, words.bold) * _PT_PER_MM
    canvas.setFont(typefaces.font_name(words.bold), words.size_pt)
    canvas.setFillGray(words.grey)
    x_pt, y_pt = (x_mm + words.x_mm) * _PT_PER_MM, -(y_mm + words.y_mm) * _PT_PER_MM
    if not words.angle_deg and not words.hollow:
        canvas.drawString(x_pt - back_pt, y_pt, printed)
        return
    canvas.saveState()
    canvas.translate(x_pt, y_pt)
    canvas.rotate(words.angle_deg)
    if words.hollow:
        canvas.setLineWidth(_HOLLOW_MM * _PT_PER_MM)
        canvas.setDash([])
        canvas.setStrokeGray(words.grey)
        canvas.drawString(-back_pt, 0.0, printed, mode=1)  # outlines of letters only
    else:
        canvas.drawString(-back_pt, 0.0, printed)
    canvas.restoreState()
