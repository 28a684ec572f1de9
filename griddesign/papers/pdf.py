"""Pages as PDF: selectable text in an embedded font, bookmarks, title, order of reading; same pages, same bytes.

A ``Press`` draws every page of a set once; whatever files its sheets go into hold the very same streams.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import count, groupby
from typing import NamedTuple

from griddesign.papers import frame, text
from griddesign.papers.blocks import Sheet, Stamp
from griddesign.papers.frame import LIVE_HIGH_MM, LIVE_WIDE_MM, Page
from griddesign.papers.ink import PT_PER_MM, Ink
from griddesign.papers.letters import Letters
from griddesign.papers.marks import Group, Role
from griddesign.papers.pdf_file import Part, file_bytes, part_of, stream, text_string
from griddesign.papers.reading import Element, Runs, Tree
from griddesign.papers.told import metadata, title_of

_PAGES, _DOCUMENT, _RESOURCES = 1, 2, 3
"""Objects that every file has, under the same numbers."""
_MADE = "D:20000101000000+00'00'"  # no clock: the day is the same in every file


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
    return Press(pages, stamp).file(pages)


class Press:
    """Every page of a set drawn once, and the files made of them."""

    def __init__(self, pages: Sequence[Page], stamp: Stamp) -> None:
        self._stamp = stamp
        self._numbers = count(_RESOURCES + 1)
        self._letters = Letters()
        self._forms: dict[str, tuple[int, bytes]] = {}
        by_sheet = groupby(pages, key=lambda page: page.sheet_number)
        self._sheets = {number: self._printed(tuple(own)) for number, own in by_sheet}
        self._shared = self._what_all_share()
        self._first_own = next(self._numbers)

    def file(self, pages: Sequence[Page]) -> bytes:
        """The sheets that ``pages`` are of as one file."""
        sheets = [self._sheets[number] for number in dict.fromkeys(page.sheet_number for page in pages)]
        numbers = count(self._first_own)
        own, root, info = _own_part(sheets, numbers, self._stamp)
        return file_bytes((own, self._shared, *(sheet.part for sheet in sheets)), root, info)

    def _printed(self, pages: tuple[Page, ...]) -> "_Printed":
        """One sheet: its pages drawn, its part of the tree."""
        tree = Tree(Role("Sect"), _DOCUMENT, self._numbers)
        printed, streams, objects = [], [], []
        for page in pages:
            place = _Place(*(next(self._numbers) for _ in range(3)))
            runs = Runs(place.page, self._corner_mm(page))
            streams.append((place.content, stream(self._content(page, tree.top, runs))))
            objects += [(place.page, _page_object(page, self._stamp, place)), (place.runs, runs.body())]
            printed.append(place)
        objects += [(element.number, element.body()) for element in tree.elements]
        part = part_of(streams, objects, next(self._numbers))
        title = f"{pages[0].sheet_number}  {text.clean(pages[0].name)}"
        return _Printed(title, tuple(printed), tree.top.number, part)

    def _corner_mm(self, page: Page) -> tuple[float, float]:
        """Where the live area begins, from the left and lower edges of the paper."""
        left_mm, top_mm = frame.corner_mm(page, self._stamp.paper)
        return left_mm, frame.paper_mm(page, self._stamp.paper)[1] - top_mm

    def _content(self, page: Page, sheet: Element, runs: Runs) -> bytes:
        left_mm, up_mm = runs.corner_mm
        ink = Ink(self._letters, self._form_of, runs)
        ink.operators.append(f"1 0 0 1 {left_mm * PT_PER_MM:.4f} {up_mm * PT_PER_MM:.4f} cm 0 J 1 j")
        ink.draw(frame.across_marks(page.across, page.live_mm))
        ink.part = sheet
        ink.draw(page.marks)
        return ink.content()

    def _form_of(self, group: Group) -> str:
        """The form that holds shared marks, drawn when first asked for."""
        if group.shared not in self._forms:
            ink = Ink(self._letters, self._form_of)
            ink.draw(group.marks)
            side_pt = round(max(LIVE_WIDE_MM, LIVE_HIGH_MM) * PT_PER_MM)
            box = f"/Type/XObject/Subtype/Form/BBox[{-side_pt} {-side_pt} {side_pt} 0]/Resources {_RESOURCES} 0 R"
            self._forms[group.shared] = next(self._numbers), stream(ink.content(), box)
        return f"/{group.shared}"

    def _what_all_share(self) -> Part:
        """Fonts and forms, and the one list of them that all pages look them up in."""
        streams, objects, fonts = list(self._forms.values()), [], []
        for name, font in self._letters.fonts():
            program, meaning, descriptor, number = (next(self._numbers) for _ in range(4))
            streams += [(program, font.program()), (meaning, font.meaning())]
            objects += [(descriptor, font.descriptor(program)), (number, font.font(descriptor, meaning))]
            fonts.append(f"{name} {number} 0 R")
        forms = "".join(f"/{name} {number} 0 R" for name, (number, _) in self._forms.items())
        objects.append((_RESOURCES, f"<</Font<<{''.join(fonts)}>>/XObject<<{forms}>>>>"))
        return part_of(streams, objects, next(self._numbers))


class _Place(NamedTuple):
    """The objects of a page: itself, its content, the elements of its runs."""

    page: int
    content: int
    runs: int


@dataclass(frozen=True, slots=True)
class _Printed:
    """A sheet as printed: its title, its pages, its element, all its objects."""

    title: str
    pages: tuple[_Place, ...]
    element: int
    part: Part


def _page_object(page: Page, stamp: Stamp, place: _Place) -> str:
    """A page; its key in the parent tree is its own number, which no other page has."""
    box = " ".join(f"{side_mm * PT_PER_MM:.4f}" for side_mm in frame.paper_mm(page, stamp.paper))
    return (
        f"<</Type/Page/Parent {_PAGES} 0 R/MediaBox[0 0 {box}]/Resources {_RESOURCES} 0 R/Contents {place.content} 0 R"
        f"/StructParents {place.page}/Tabs/S>>"
    )


# --- what each file has of its own -----------------------------------------------------------------------------------


def _own_part(sheets: Sequence[_Printed], numbers: Iterator[int], stamp: Stamp) -> tuple[Part, int, int]:
    """Catalogue, list of pages, bookmarks and the top of the tree, with the numbers of catalogue and description."""
    root, info, tree, parents, outlines, pack_number, told = (next(numbers) for _ in range(7))
    pages = [place.page for sheet in sheets for place in sheet.pages]
    objects = [
        (root, _catalogue(tree, outlines, told)),
        (info, _description(stamp)),
        (_PAGES, f"<</Type/Pages/Count {len(pages)}/Kids[{_references(pages)}]>>"),
        (tree, f"<</Type/StructTreeRoot/K {_DOCUMENT} 0 R/ParentTree {parents} 0 R>>"),
        (_DOCUMENT, f"<</S/Document/P {tree} 0 R/K[{_references(sheet.element for sheet in sheets)}]>>"),
        (parents, _parent_tree(sheets)),
        *_bookmarks(sheets, outlines, numbers),
    ]
    return part_of([(told, metadata(stamp))], objects, pack_number), root, info


def _references(numbers: Iterable[int]) -> str:
    return " ".join(f"{number} 0 R" for number in numbers)


def _catalogue(tree: int, outlines: int, told: int) -> str:
    return (
        f"<</Type/Catalog/Pages {_PAGES} 0 R/Lang(en)/MarkInfo<</Marked true>>/StructTreeRoot {tree} 0 R"
        f"/Outlines {outlines} 0 R/Metadata {told} 0 R/ViewerPreferences<</DisplayDocTitle true/PrintScaling/None>>>>"
    )


def _description(stamp: Stamp) -> str:
    title = text_string(text.clean(title_of(stamp)))
    subject, author = text_string(text.clean(f"fingerprint {stamp.fingerprint}")), text_string(text.clean(stamp.owner))
    made = f"/CreationDate({_MADE})/ModDate({_MADE})"
    return f"<</Title{title}/Subject{subject}/Author{author}/Creator(griddesign)/Producer(griddesign){made}>>"


def _parent_tree(sheets: Sequence[_Printed]) -> str:
    """Page by page the elements of its runs, ISO 32000-1, 14.7.4.4."""
    rows = " ".join(f"{page.page} {page.runs} 0 R" for sheet in sheets for page in sheet.pages)
    return f"<</Nums[{rows}]>>"


def _bookmarks(sheets: Sequence[_Printed], outlines: int, numbers: Iterator[int]) -> Iterator[tuple[int, str]]:
    """One to each sheet, in a row."""
    own = [next(numbers) for _ in sheets]
    ends = f"/First {own[0]} 0 R/Last {own[-1]} 0 R" if own else ""
    yield outlines, f"<</Type/Outlines/Count {len(own)}{ends}>>"
    for before, number, after, sheet in zip((0, *own), own, (*own[1:], 0), sheets, strict=False):
        beside = (f"/Prev {before} 0 R" if before else "") + (f"/Next {after} 0 R" if after else "")
        target = f"[{sheet.pages[0].page} 0 R/XYZ null null null]"
        yield number, f"<</Title{text_string(sheet.title)}/Parent {outlines} 0 R{beside}/Dest{target}>>"
