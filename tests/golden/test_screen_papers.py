"""``all.html``: the words of the PDF in its order, the pictures of the records, and nothing that leaves the file."""

import base64
import hashlib
import io
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import dropwhile
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from griddesign.judge.records import Result
from griddesign.papers import text
from griddesign.papers.blocks import Beside, Block, Drawing, Sheet, Table
from griddesign.papers.html.page import html_bytes
from griddesign.papers.html.svg import svg_of
from griddesign.papers.marks import Path, Picture, Words, flat
from griddesign.papers.picking import numbered
from griddesign.papers.plate_set import drawings_of, sheets_of
from griddesign.papers.sheets.common import stamp
from griddesign.papers.sheets.job import job_sheet
from griddesign.papers.sheets.notch import notch_sheet
from griddesign.papers.whole_set import files_of

Element = ElementTree.Element
_RULER = "020406080100mm01234inPrintat100%."


@pytest.fixture(scope="module")
def files(demo: Result) -> dict[str, bytes]:
    return files_of(demo)


@pytest.fixture(scope="module")
def root(files: dict[str, bytes]) -> Element:
    return ElementTree.fromstring(files["all.html"].decode())


@pytest.fixture(scope="module")
def sheets(demo: Result) -> tuple[Sheet, ...]:
    plates = [sheet for plate in demo.plates for sheet in sheets_of(demo, plate, drawings_of(demo, plate))]
    return (job_sheet(demo), notch_sheet(demo), *plates)


def squeezed(words: str) -> str:
    """Without the blanks and the list marks, which the two kinds of file set each in their own way."""
    return re.sub(r"[\s•]", "", words)


def sheet_pages(content: bytes) -> dict[str, list[list[str]]]:
    """The lines of every page of the PDF by the number of its sheet, the ruler at its foot left out."""
    found: dict[str, list[list[str]]] = {}
    for page in PdfReader(io.BytesIO(content)).pages:
        lines = page.extract_text().split("\n")
        number = next(match[1] for line in lines if (match := re.match(r"sheet (\d+) of \d+$", line.strip())))
        foot = next(at for at in range(len(lines)) if squeezed("".join(lines[at:])).startswith(_RULER))
        found.setdefault(number, []).append([squeezed(line) for line in lines[:foot] if squeezed(line)])
    return found


def missing(lines: list[str], words: str, at: int) -> tuple[list[str], int]:
    """The lines that do not stand in ``words`` in their order, from ``at`` on; and where the last that does ends."""
    lost = []
    for line in lines:
        if re.fullmatch(r"\d+\.", line):
            continue
        for form in (line, re.sub(r"^\d+\.", "", line)):  # a browser numbers lists by itself
            if (found := words.find(form, at)) >= 0:
                at = found + len(form)
                break
        else:
            lost.append(line)
    return lost, at


def carried_on(lines: list[str], band: str, heads: set[str]) -> list[str]:
    """A page that is not its sheet's first, without what paper sets again: the band, the head of a table."""
    rest = list(dropwhile(lambda line: line in band or re.fullmatch(r"page\d+of\d+", line) is not None, lines))
    for end in range(len(rest), 0, -1):
        if "".join(rest[:end]) in heads:
            return rest[end:]
    return rest


def test_every_sheet_of_the_pdf_is_there_word_for_word_and_in_order(files: dict[str, bytes], root: Element) -> None:
    sections = {section.get("id"): section for section in root.iter("section")}
    pages = sheet_pages(files["all.pdf"])
    del pages["1"]  # the contents, which count pages; a screen has links in its place
    assert [f"sheet-{number}" for number in pages] == list(sections)
    for number, parts in pages.items():
        section = sections[f"sheet-{number}"]
        words, at = squeezed("".join(section.itertext())), 0
        band = squeezed("".join(section.find("header").itertext()))
        heads = {squeezed("".join(head.itertext())) for head in section.iter("thead")}
        for part, lines in enumerate(parts):
            lost, at = missing(carried_on(lines, band, heads) if part else lines, words, at)
            assert [line for line in lost if not re.fullmatch(r"page1of\d+", line)] == [], (number, part)


def test_the_contents_lead_to_every_sheet(files: dict[str, bytes], root: Element) -> None:
    links = [link.get("href") for link in root.iter("a")]
    there = {element.get("id") for element in root.iter() if element.get("id")}
    assert all(link and link[0] == "#" and link[1:] in there for link in links)
    named = [section.find(".//h2").text for section in root.iter("section")]
    outline = [str(entry["/Title"]) for entry in PdfReader(io.BytesIO(files["all.pdf"])).outline]
    assert [line.split("  ", 1)[1] for line in outline] == ["Contents", *named]


def test_nothing_leaves_the_file_and_nothing_in_it_runs(files: dict[str, bytes], root: Element) -> None:
    """The policy is that of W3C, Content Security Policy Level 3: a style is let in by the digest of its text."""
    (policy,) = [meta.get("content") for meta in root.iter("meta") if meta.get("http-equiv")]
    (style,) = [element.text for element in root.iter("style")]
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    assert policy.split("; ")[:2] == ["default-src 'none'", f"style-src 'sha256-{digest}'"]
    tags = {element.tag for element in root.iter()}
    assert not tags & {"script", "img", "link", "iframe", "object", "embed", "base", "form", "use", "image"}
    names = {name for element in root.iter() for name in element.attrib}
    assert not {name for name in names if name.startswith("on") or name in {"src", "style", "action"}}
    assert not re.search(r"url\(|@import|https?:|//", style)


def test_a_grey_copy_loses_nothing(root: Element) -> None:
    (style,) = [element.text for element in root.iter("style")]
    colours = set(re.findall(r"(?<=[:, (])#[0-9a-f]{3,6}\b", style))
    colours |= {element.get(name) for element in root.iter() for name in ("fill", "stroke") if element.get(name)}
    for colour in colours - {"none"}:
        digits = colour[1:4] if len(colour) <= 5 else colour[1:7]
        step = len(digits) // 3
        assert len({digits[at : at + step] for at in range(0, len(digits), step)}) == 1, colour


def test_the_same_set_gives_the_same_bytes(demo: Result, sheets: tuple[Sheet, ...]) -> None:
    mark = stamp(demo)
    assert html_bytes(sheets, mark) == html_bytes(sheets, mark)


def test_sheets_picked_keep_their_numbers(demo: Result, sheets: tuple[Sheet, ...]) -> None:
    root = ElementTree.fromstring(html_bytes(sheets, stamp(demo), frozenset({"notch"})).decode())
    count, ((number, _),) = numbered(sheets, frozenset({"notch"}))
    assert [section.get("id") for section in root.iter("section")] == [f"sheet-{number}"]
    assert f"sheet {number} of {count}" in "".join(root.itertext())


def test_a_hostile_job_is_printed_as_it_was_written(demo: Result) -> None:
    title, owner = "<script>alert(1)</script> \"&\" 'x'", "</title><img src=x onerror=alert(1)> Ω & שלום"
    paper = replace(demo.job.paper, owner=owner)
    hostile = replace(demo, job=replace(demo.job, title=title, paper=paper))
    content = files_of(hostile, only="job,plate")["all.html"].decode()
    root = ElementTree.fromstring(content)
    assert not {element.tag for element in root.iter()} & {"script", "img"}
    assert [element.text for element in root.iter("h1")] == [title]
    assert [element.text for element in root.iter("title")] == [f"{title}, revision draft"]
    assert sum(element.text == owner for element in root.iter("p")) == 1 + len(list(root.iter("section")))
    assert any("<script>" in (element.text or "") for element in root.iter("text")), "in the drawing too"


# --- pictures --------------------------------------------------------------------------------------------------------


def pictures(blocks: tuple[Block, ...]) -> Iterator[Picture]:
    for block in blocks:
        if isinstance(block, Drawing):
            yield block.picture
        elif isinstance(block, Table):
            yield from (cell for row in block.rows for cell in row if isinstance(cell, Picture))
        elif isinstance(block, Beside):
            yield from pictures((*block.left, *block.right))


def drawn_steps(svg: Element) -> list[tuple[str, list[float]]]:
    """Every step of every path of an SVG, in order."""
    return [
        (kind, [float(number) for number in numbers.split()])
        for path in svg.iter("path")
        for kind, numbers in re.findall(r"([MLCZ])([^MLCZ]*)", path.get("d", ""))
    ]


def test_pictures_are_the_records(demo: Result, sheets: tuple[Sheet, ...]) -> None:
    """Every step, every word and every size of the SVG against the marks that the PDF is drawn from."""
    every = [picture for sheet in sheets for picture in pictures(sheet.blocks)]
    assert len(every) > 8
    for picture in every:
        svg = ElementTree.fromstring(svg_of(picture))
        assert [float(number) for number in svg.get("viewBox").split()] == pytest.approx(
            (0, 0, picture.width_mm, picture.height_mm), abs=0.006
        )
        marks = list(flat(picture.marks))
        paths = [(x, y, mark) for x, y, mark in marks if isinstance(mark, Path)]
        steps = [
            (kind.upper(), [number + (x, y)[at % 2] for at, number in enumerate(numbers)])
            for x, y, path in paths
            for kind, numbers in path.steps
        ]
        for (kind, numbers), (wanted, at) in zip(drawn_steps(svg), steps, strict=True):
            assert kind == wanted
            assert numbers == pytest.approx(at, abs=0.006)
        words = [(x, y, mark) for x, y, mark in marks if isinstance(mark, Words) and mark.text.strip()]
        for element, (x, y, mark) in zip(svg.iter("text"), words, strict=True):
            assert element.text == text.clean(mark.text)
            assert (float(element.get("x")), float(element.get("y"))) == pytest.approx(
                (x + mark.x_mm, y + mark.y_mm), abs=0.006
            )
            assert float(element.get("textLength")) == pytest.approx(
                text.width_mm(element.text, mark.size_pt, mark.bold), abs=0.006
            )


def test_pens_are_those_of_the_marks() -> None:
    line = Path((("m", (0.0, 0.0)), ("l", (9.0, 0.0))))
    dashed = Path((("m", (0.0, 2.0)), ("l", (9.0, 2.0))), 0.7, (1.2, 1.0), None, 0.55)
    square = (("m", (0.0, 0.0)), ("l", (4.0, 0.0)), ("l", (4.0, 4.0)), ("z", ()))
    full = Path(square, 0.0, fill=0.0)
    svg = ElementTree.fromstring(svg_of(Picture(10.0, 10.0, (line, line, dashed, full, full))))
    found = [{name: value for name, value in path.attrib.items() if name != "d"} for path in svg]
    assert (svg.get("stroke-width"), svg.get("stroke"), svg.get("fill")) == ("0.25", "#000", "none")
    assert found == [
        {},  # both lines as one path
        {"stroke-width": "0.7", "stroke": "#8c8c8c", "stroke-dasharray": "1.2 1"},
        {"fill": "#000", "stroke": "none"},  # by the even-odd rule two squares in one path would be none
        {"fill": "#000", "stroke": "none"},
    ]
