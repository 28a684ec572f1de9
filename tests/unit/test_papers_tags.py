"""The order of reading of the PDFs: the structure tree walked against the pages, ISO 32000-1:2008, 14.6 to 14.8."""

import io
import re
from collections import Counter
from collections.abc import Iterator
from functools import cached_property
from xml.etree import ElementTree

import pytest
from fontTools.ttLib import TTFont
from pypdf import PageObject, PdfReader

from griddesign.grid.records import Branches, Run
from griddesign.judge.records import Result
from griddesign.papers import blocks as b
from griddesign.papers.circuit_drawing import circuit_picture
from griddesign.papers.marks import MM_PER_PT, Picture, line
from griddesign.papers.pdf import Press, lay_out
from griddesign.papers.table import columns
from griddesign.papers.whole_set import files_of, name_of
from griddesign.traction.records import Grouping, Notch

STAMP = b.Stamp("Works car 3 <b>& Ω", "draft", "3f9a1c07", "A4", ("EXAMPLE",), "Invented works")
LONG = "Every word of this paragraph is read in its order, the last of a line and the first of the next apart. " * 3
BESIDE = Branches((Run(("C",)), Run(("D",))))
CIRCUIT = circuit_picture(Notch("4", Grouping(2, 1), Run(("B", BESIDE))), ("A", "B", "C", "D"))
LINES = Picture(30.0, 10.0, (line(0.0, 5.0, 30.0, 5.0),))
BLOCKS = (
    b.Cautions(("600 V kills.",)),
    b.Heading("Notches"),
    b.Paragraph(LONG),
    b.Points(("first", "second"), numbered=True),
    b.KeyFigures((b.KeyFigure("Whole grid", "3.2 Ω", "at 20 °C"),)),
    b.Table(columns("Notch", "Why"), tuple((f"n{n}", f"because {n}") for n in range(90))),
    b.Table(columns("Notch", "Circuit"), (("4", CIRCUIT),)),
    b.Beside((b.Paragraph("on the left"),), (b.Box("Box", ("in the box",)),)),
    b.Drawing(LINES, "What the drawing shows."),
    b.SignOff(("Checked by",)),
)
SHEETS = (
    b.Sheet("Job sheet", "Read this first.", "engineer", BLOCKS),
    b.Sheet("Crew card", "Never hold a notch longer.", "crew", (b.Paragraph("20 s"),)),
)
WITHIN = {
    "/Document": {"/Sect"},
    "/Sect": {"/Div", "/H2", "/P", "/L", "/Table"},
    "/Div": {"/Div", "/H1", "/H2", "/P", "/L", "/Table", "/Figure"},
    "/Table": {"/TR"},
    "/TR": {"/TH", "/TD"},
    "/TD": {"/Figure"},
    "/L": {"/LI"},
    "/LI": {"/Lbl", "/LBody"},
}


class Read:
    """A file's tree as a reader for the blind meets it: kinds, texts, what is artifact."""

    def __init__(self, content: bytes) -> None:
        self.reader = PdfReader(io.BytesIO(content))
        self.root = self.reader.trailer["/Root"]
        self.tree = self.root["/StructTreeRoot"]

    @cached_property
    def shown(self) -> dict[int, dict[int, str]]:
        """By pages the texts of their runs."""
        return {page.indirect_reference.idnum: dict(shown(page)) for page in self.reader.pages}

    def elements(self, parent: dict | None = None) -> Iterator[dict]:
        """Every element in the order of reading."""
        parent = parent or self.tree["/K"].get_object()
        yield parent
        for kid in self.elements_in(parent):
            yield from self.elements(kid)

    def elements_in(self, parent: dict) -> list[dict]:
        kids = [kid.get_object() for kid in self.kids(parent) if not isinstance(kid, int)]
        return [kid for kid in kids if "/S" in kid]

    def runs(self, element: dict) -> list[tuple[int, int]]:
        found = []
        for kid in self.kids(element):
            if isinstance(kid, int):
                found.append((element.raw_get("/Pg").idnum, int(kid)))
            elif "/MCID" in kid.get_object():
                found.append((kid.get_object().raw_get("/Pg").idnum, kid.get_object()["/MCID"]))
        return found

    @staticmethod
    def kids(element: dict) -> list:
        kids = element.get("/K", [])
        return kids if isinstance(kids, list) else [kids]

    def text(self, element: dict) -> str:
        own = "".join(self.shown[page][run] for page, run in self.runs(element))
        return own + "".join(self.text(kid) for kid in self.elements_in(element))

    def texts(self, kind: str) -> list[str]:
        return [self.text(element) for element in self.elements() if element["/S"] == kind]


def shown(page: PageObject) -> Iterator[tuple[int, str]]:
    """Number and text of each run of a page; every mark is in a run or an artifact, none in two."""
    words: dict[int, str] = {}
    inside: list[int | None] = []
    for operands, operator in page.get_contents().operations:
        if operator == b"BDC":
            inside.append(int(operands[1]["/MCID"]))
            assert inside[-1] not in words, "a run's number comes once"
            words[inside[-1]] = ""
        elif operator == b"BMC":
            assert operands[0] == "/Artifact"
            inside.append(None)
        elif operator == b"EMC":
            inside.pop()
        elif operator in {b"Tj", b"S", b"f*", b"B*", b"Do"}:
            assert len(inside) == 1, f"{operator!r} is in no run"
            if operator == b"Tj" and inside[0] is not None:
                words[inside[0]] += operands[0] if isinstance(operands[0], str) else operands[0].decode("latin-1")
    assert not inside
    yield from words.items()


@pytest.fixture(scope="module")
def press() -> tuple[Press, tuple]:
    pages = lay_out(SHEETS, STAMP)
    return Press(pages, STAMP), pages


@pytest.fixture(scope="module")
def read(press: tuple[Press, tuple]) -> Read:
    return Read(press[0].file(press[1]))


def test_the_file_says_that_it_is_tagged_and_in_what_language(read: Read) -> None:
    assert read.root["/MarkInfo"]["/Marked"] is True or read.root["/MarkInfo"]["/Marked"].value
    assert read.root["/Lang"] == "en"
    assert all(page["/Tabs"] == "/S" for page in read.reader.pages)


def test_elements_stand_only_where_they_may(read: Read) -> None:
    """ISO 32000-1, 14.8.4: rows in tables, cells in rows, labels and bodies in items, items in lists."""
    for element in read.elements():
        inside = {kid["/S"] for kid in read.elements_in(element)}
        assert inside <= WITHIN.get(element["/S"], set()), element["/S"]
        for kid in read.elements_in(element):
            assert kid["/P"].get_object() == element


def test_every_run_of_every_page_is_content_of_one_element_and_the_parent_tree_finds_it(read: Read) -> None:
    owners = {run: element for element in read.elements() for run in read.runs(element)}
    met = Counter(run for element in read.elements() for run in read.runs(element))
    assert set(met.values()) == {1}
    assert set(met) == {(page, run) for page, words in read.shown.items() for run in words}
    rows = read.tree["/ParentTree"]["/Nums"]
    found = dict(zip(rows[::2], rows[1::2], strict=True))
    assert list(found) == sorted(found)
    for page in read.reader.pages:
        parents = found[page["/StructParents"]].get_object()
        number = page.indirect_reference.idnum
        assert [parent.get_object() for parent in parents] == [owners[number, run] for run in range(len(parents))]


def test_text_is_read_once_and_in_its_order(read: Read) -> None:
    assert read.texts("/H1") == ["Job sheet", "Crew card"]
    assert read.texts("/H2") == ["Notches"]
    assert LONG.strip() in [" ".join(text.split()) for text in read.texts("/P")]
    assert read.texts("/Lbl")[-2:] == ["1.", "2."]
    assert read.texts("/LBody")[-2:] == ["first", "second"]
    cells = read.texts("/TD")
    assert [text for text in cells if text.startswith("because")] == [f"because {n}" for n in range(90)]
    order = [read.text(element) for element in read.elements() if element["/S"] in {"/H1", "/H2", "/P"}]
    assert order.index("Job sheet") < order.index("Notches") < order.index("on the left") < order.index("in the box")


def test_bands_and_headers_that_come_again_are_read_once(read: Read) -> None:
    parts = len(read.reader.pages) - 1
    assert parts >= 3
    whole = [read.text(sheet) for sheet in read.elements() if sheet["/S"] == "/Sect"]
    assert whole[0].count("fingerprint 3f9a1c07") == 1
    assert whole[0].count("Notch") == 3  # the heading and two tables
    assert not any("Print at 100" in text for text in whole)


def test_a_row_belongs_to_one_table_on_whatever_pages_it_stands(read: Read) -> None:
    tables = [element for element in read.elements() if element["/S"] == "/Table"]
    assert [len(read.elements_in(table)) for table in tables] == [91, 2, 2]
    heads, *rows = [read.elements_in(row) for row in read.elements_in(tables[0])]
    assert len({page for row in rows for cell in row for page, _ in read.runs(cell)}) >= 2
    assert [cell["/A"]["/Scope"] for cell in heads] == ["/Column", "/Column"]


def test_figures_tell_what_they_show(read: Read) -> None:
    told = [element["/Alt"] for element in read.elements() if element["/S"] == "/Figure"]
    assert told[1] == "What the drawing shows."
    assert told[0] == (
        "Circuit of notch 4: line, grid B then (C beside D), 2 motors in series, ground. Out of circuit: A."
    )


def test_the_sheets_of_one_hand_bring_their_part_of_the_tree(press: tuple[Press, tuple]) -> None:
    made, pages = press
    crew = Read(made.file([page for page in pages if page.hand == "crew"]))
    assert crew.texts("/H1") == ["Crew card"]
    assert "20 s" in crew.texts("/P")
    assert len(crew.reader.outline) == len(crew.reader.pages) == 1


def test_more_letters_than_a_font_of_one_byte_has() -> None:
    """Greek, Cyrillic, accents: two subsets of a face; the text comes back whole. Mathematical letters are
    in the regular face alone: bold shows the empty box, and still says which letter it stands for."""
    codes = (*range(0x391, 0x3A2), *range(0x3A3, 0x3C9), *range(0x410, 0x482), *range(0xC0, 0x17F), 0x1D5D1)
    letters = "".join(map(chr, codes))
    content = (b.Paragraph(letters, size_pt=9.0), b.Paragraph(letters, bold=True, size_pt=9.0))
    pages = lay_out((b.Sheet("Name", "Do.", "bench", content),), STAMP)
    reader = PdfReader(io.BytesIO(Press(pages, STAMP).file(pages)))
    fonts = {name: font.get_object() for name, font in reader.pages[0]["/Resources"]["/Font"].items()}
    assert sorted(fonts) == ["/B0", "/B1", "/R0", "/R1"]
    assert all(font["/LastChar"] == len(font["/Widths"]) - 1 <= 255 for font in fonts.values())
    text = reader.pages[0].extract_text().replace("\n", "").replace(" ", "")
    assert text.count(letters) == 2


# --- PDF/UA-1, ISO 14289-1:2014: what a machine can check of it, clause by clause as enumerated in the public
# --- validation profile of veraPDF (2020); annotations, forms, media, layers, encryption are not in our files

CLAIM = "{http://www.aiim.org/pdfua/ns/id/}part"
DC = "{http://purl.org/dc/elements/1.1/}"


def packet_of(read: Read) -> ElementTree.Element:
    told = read.root["/Metadata"]
    assert (told["/Type"], told["/Subtype"]) == ("/Metadata", "/XML")
    return ElementTree.fromstring(told.get_data().decode("utf-8"))


def test_the_packet_claims_pdf_ua_and_names_the_file(read: Read) -> None:
    """5; 7.1, tests 8 to 10; 7.2, test 33."""
    packet = packet_of(read)
    assert [element.text for element in packet.iter(CLAIM)] == ["1"]
    title = "Works car 3 <b>& Ω, revision draft"
    assert "".join(next(packet.iter(f"{DC}title")).itertext()) == title == read.reader.metadata.title
    assert "".join(next(packet.iter(f"{DC}language")).itertext()) == "en"
    assert "".join(next(packet.iter(f"{DC}creator")).itertext()) == "Invented works"
    assert read.root["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert "/Suspects" not in read.root["/MarkInfo"] and "/RoleMap" not in read.tree
    assert not any("/Annots" in page for page in read.reader.pages)


def broken(read: Read) -> Iterator[str]:
    """What the tree breaks of 7.2, 7.3, 7.4, 7.5."""
    level = 0
    for element in read.elements():
        kind, inside = element["/S"], read.elements_in(element)
        if kind == "/Figure" and (not element.get("/Alt") or len(element["/A"]["/BBox"]) != 4):
            yield "a figure without words or box"
        if kind == "/Table" and len({len(read.elements_in(row)) for row in inside}) != 1:
            yield f"rows of unlike length in a table of {len(inside)}"
        if kind == "/TH" and element["/A"].get("/Scope") not in {"/Column", "/Row"}:
            yield "a header without scope"
        if kind == "/LI" and [one["/S"] for one in inside] != ["/Lbl", "/LBody"]:
            yield f"item of {[one['/S'] for one in inside]}"
        if kind in {"/H1", "/H2"}:
            deep = int(kind[2:])
            if deep > level + 1 or not read.runs(element):
                yield f"{kind} after level {level}, or empty"
            level = deep
        elif kind == "/Sect":
            level = 0


def test_the_tree_breaks_no_rule_of_pdf_ua(read: Read) -> None:
    assert list(broken(read)) == []
    boxes = [[float(edge) for edge in one["/A"]["/BBox"]] for one in read.elements() if one["/S"] == "/Figure"]
    sizes = [(right - left, high - low) for left, low, right, high in boxes]
    assert sizes[1] == pytest.approx((30.0 / MM_PER_PT, 10.0 / MM_PER_PT), abs=0.02)
    assert all(20.0 / MM_PER_PT < left < right < 200.01 / MM_PER_PT for left, _, right, _ in boxes)


def test_the_tree_of_the_benchs_papers_breaks_no_rule_of_pdf_ua(demo: Result) -> None:
    """Circuits in cells, boxes beside lists, tables over pages: of all hands it has most kinds of blocks."""
    bench = Read(files_of(demo)[f"bench/{name_of(demo, 'bench')}.pdf"])
    assert list(broken(bench)) == []
    assert Counter(element["/S"] for element in bench.elements())["/Figure"] > 10
    assert "".join(next(packet_of(bench).iter(f"{DC}title")).itertext()) == f"{demo.job.title}, revision draft"


def codes_shown(reader: PdfReader) -> dict[str, set[int]]:
    """Every code that a text of the pages shows, by its font."""
    found: dict[str, set[int]] = {}
    for page in reader.pages:
        font = ""
        for operands, operator in page.get_contents().operations:
            font = operands[0] if operator == b"Tf" else font
            if operator == b"Tj":
                found.setdefault(font, set()).update(operands[0].original_bytes)
    return found


def test_fonts_keep_the_rules_of_pdf_ua(read: Read) -> None:
    """7.21.4 embedded, 7.21.5 widths, 7.21.6 one table of codes and no encoding, 7.21.7 a meaning for each code,
    7.21.8 no .notdef; the embedded programs read by fontTools."""
    fonts = read.reader.pages[0]["/Resources"]["/Font"]
    for name, codes in codes_shown(read.reader).items():
        font = fonts[name].get_object()
        told = font["/FontDescriptor"].get_object()
        program = TTFont(io.BytesIO(told["/FontFile2"].get_data()))
        assert told["/Flags"] & 4 and "/Encoding" not in font and len(program["cmap"].tables) == 1
        glyphs, ems = program["cmap"].tables[0].cmap, 1000.0 / program["head"].unitsPerEm
        for code in codes:
            assert glyphs[code] != ".notdef"
            assert float(font["/Widths"][code]) == pytest.approx(program["hmtx"][glyphs[code]][0] * ems, abs=1.0)
        rows = re.findall(r"<(\w\w)> <(\w{4,8})>", font["/ToUnicode"].get_data().decode())
        meaning = {int(code, 16): bytes.fromhex(words).decode("utf-16-be") for code, words in rows}
        assert codes <= meaning.keys() and not {"\0", "\ufeff", "\ufffe"} & set(meaning.values())
