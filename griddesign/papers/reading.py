"""The order of reading of a set of papers, for who has them read aloud: the structure tree of ISO 32000-1, 14.7.

Groups of marks say what they are (a ``Role``); here they become elements of a tree, each knowing the runs of marks on
the pages that are its content. What has no role is an artifact: frames, rules, a band that comes again, the ruler.
"""

from collections.abc import Iterator

from griddesign.papers.marks import ARTIFACT, MM_PER_PT, Role
from griddesign.papers.pdf_file import text_string

_HOLDS_MARKS = frozenset({"P", "H1", "H2", "TH", "TD", "Lbl", "LBody", "Figure"})
"""Kinds that marks are content of; in others, as a table's row, what has no role of its own is an artifact."""


class Tree:
    """The elements of one sheet, in the order they were met. ``numbers`` are those of the file's objects."""

    def __init__(self, role: Role, parent: int, numbers: Iterator[int]) -> None:
        self.numbers = numbers
        self.elements: list[Element] = []
        self.top = Element(role, parent, self)


class Element:
    """One element of the tree: its object ``number`` in the file, that of the element it stands in, and what is in it:
    elements, and ``runs`` of marks by page and number; of a figure the ``box_pt`` on its page."""

    __slots__ = ("box_pt", "holds_marks", "inside", "number", "parent", "role", "runs", "tree")

    def __init__(self, role: Role, parent: int, tree: Tree) -> None:
        self.role, self.parent, self.tree = role, parent, tree
        self.number = next(tree.numbers)
        self.holds_marks = role.kind in _HOLDS_MARKS
        self.inside: dict[Role, Element] = {}
        self.runs: list[tuple[int, int]] = []
        self.box_pt = ""
        tree.elements.append(self)

    def part(self, role: Role) -> "Element | None":
        """The element of that role in this one, made when first asked for; an artifact has none."""
        if role is ARTIFACT:
            return None
        found = self.inside.get(role)
        if found is None:
            found = self.inside[role] = Element(role, self.number, self.tree)
        return found

    def body(self) -> str:
        """The element as an object."""
        alt = f"/Alt{text_string(self.role.alt)}" if self.role.alt else ""
        more = "/A<</O/Table/Scope/Column>>" if self.role.kind == "TH" else ""
        if self.box_pt:
            more = f"/A<</O/Layout/BBox[{self.box_pt}]>>"
        return f"<</S/{self.role.kind}/P {self.parent} 0 R{self._content()}{alt}{more}>>"

    def _content(self) -> str:
        if len(self.runs) == 1 and not self.inside:
            page, run = self.runs[0]
            return f"/Pg {page} 0 R/K {run}"
        kids = [f"<</Type/MCR/Pg {page} 0 R/MCID {run}>>" for page, run in self.runs]
        return f"/K[{' '.join([*kids, *(f'{element.number} 0 R' for element in self.inside.values())])}]"


class Runs:
    """The runs of marks of one page (object ``page``) in their order, each with the element it is content of. Marks
    count from ``corner_mm``, from the left and lower edges of the paper."""

    def __init__(self, page: int, corner_mm: tuple[float, float] = (0.0, 0.0)) -> None:
        self.page, self.corner_mm = page, corner_mm
        self.elements: list[Element] = []

    def begin(self, element: Element) -> str:
        """The operator that opens the next run."""
        number = len(self.elements)
        self.elements.append(element)
        element.runs.append((self.page, number))
        return f"/{element.role.kind} <</MCID {number}>> BDC"

    def box_pt(self, at_mm: tuple[float, float], size_mm: tuple[float, float]) -> str:
        """Left, low, right and high edge, on the page, of what lies right of and below ``at_mm``."""
        left, high = self.corner_mm[0] + at_mm[0], self.corner_mm[1] - at_mm[1]
        edges = left, high - size_mm[1], left + size_mm[0], high
        return " ".join(f"{edge_mm / MM_PER_PT:.2f}" for edge_mm in edges)

    def body(self) -> str:
        """The elements by the numbers of their runs, as the parent tree wants them."""
        return f"[{' '.join([f'{element.number} 0 R' for element in self.elements])}]"
