"""Tags sorted into a drawing: what the header says, layers, blocks and entities, each with its own tags."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import isfinite

from griddesign.errors import GeometryError, InputError
from griddesign.plate.foreign.opening import Tag, place

MOST_ENTITIES = 200_000
Triple = tuple[float, float, float]

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eEdD][+-]?\d+)?", re.ASCII)
_ESCAPED = re.compile(r"\\U\+([0-9A-Fa-f]{4})")
_LARGEST = 1e15  # beyond, squares of coordinates leave nothing of a plate
_FIRST_FREE_CODE = 1000  # from here on: what other programs left with an entity
_RELEASES = {
    "AC1006": "R10", "AC1009": "R12", "AC1012": "R13", "AC1014": "R14", "AC1015": "R2000", "AC1018": "R2004",
    "AC1021": "R2007", "AC1024": "R2010", "AC1027": "R2013", "AC1032": "R2018",
}  # fmt: skip


@dataclass(slots=True)
class Entity:
    """One entity as the file has it. ``parts`` are the vertices of a polyline."""

    kind: str
    line: int
    tags: list[Tag] = field(default_factory=list)
    parts: list["Entity"] = field(default_factory=list)

    @property
    def layer(self) -> str:
        """Name of its layer, "0" where none is given."""
        return self.text(8, "0")

    def text(self, code: int, default: str = "") -> str:
        """First text of a group code."""
        return next((_unescaped(str(tag.value)) for tag in self.tags if tag.code == code), default)

    def number(self, code: int, default: float | None = None) -> float:
        """First number of a group code. Raises GeometryError where it is missing without default or not finite."""
        for tag in self.tags:
            if tag.code == code:
                return number_of(tag, self.kind)
        if default is None:
            raise GeometryError(
                f"{place(self.line)}{self.kind} without its group {code}", hint="The file is damaged: export it again."
            )
        return default

    def whole(self, code: int, default: int) -> int:
        """First whole number of a group code."""
        return int(self.number(code, default))

    def numbers(self, *codes: int) -> list[tuple[int, float]]:
        """(group code, number) of every tag with one of the codes, in the order of the file."""
        return [(tag.code, number_of(tag, self.kind)) for tag in self.tags if tag.code in codes]

    def point(self, code: int) -> Triple:
        """Point whose x has this group code; a missing z is 0."""
        return (self.number(code), self.number(code + 10), self.number(code + 20, 0.0))

    def points(self, code: int) -> list[Triple]:
        """Every point of a group code, as often as it comes."""
        grouped: list[list[float]] = []
        for found, value in self.numbers(code, code + 10, code + 20):
            if found == code:
                grouped.append([value, 0.0, 0.0])
            elif not grouped:
                raise GeometryError(f"{place(self.line)}{self.kind} begins a point without its x")
            else:
                grouped[-1][(found - code) // 10] = value
        return [(x, y, z) for x, y, z in grouped]


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer: whether it shows, and its line type."""

    name: str
    hidden: bool
    line_type: str


@dataclass(frozen=True, slots=True)
class Block:
    """A block: entities about a base point. ``external`` ones live in another file."""

    name: str
    base: Triple
    external: bool
    entities: tuple[Entity, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """What of a file matters for an outline. Names of layers and blocks are keys in capitals: DXF ignores case."""

    release: str
    unit_code: int | None
    layers: dict[str, Layer]
    blocks: dict[str, Block]
    entities: tuple[Entity, ...]
    clipped: bool


def number_of(tag: Tag, owner: str) -> float:
    """The finite number of a tag. Raises GeometryError for ``100,5``, ``nan``, ``1e300``."""
    text = str(tag.value)
    if isinstance(tag.value, str) and not _NUMBER.fullmatch(text):
        points = "DXF knows the decimal point only: export again with points."
        raise GeometryError(
            f"{place(tag.line)}{text!r} of {owner} is not a number",
            hint=points if "," in text else "Export the drawing again.",
        )
    value = float(text.replace("d", "e").replace("D", "e")) if isinstance(tag.value, str) else float(tag.value)
    if not isfinite(value):
        raise GeometryError(f"{place(tag.line)}{owner} has a coordinate that is not finite ({text})")
    if abs(value) > _LARGEST:
        raise GeometryError(f"{place(tag.line)}{owner} has a figure of {value:.3g}, larger than any drawing")
    return value


def drawing_of(tags: Sequence[Tag]) -> Drawing:
    """The drawing in a file's tags. Raises InputError where it holds no entities, too many, or an unended section."""
    sections = _sections(tags)
    header = _header(sections.get("HEADER", ()))
    if "ENTITIES" not in sections:
        raise InputError("the DXF file has no section ENTITIES: it draws nothing", hint="Export the outline again.")
    entities = tuple(_entities(sections["ENTITIES"]))
    unit = header.get("$INSUNITS")
    clipped = any(tag.code == 0 and tag.value == "SPATIAL_FILTER" for tag in sections.get("OBJECTS", ()))
    return Drawing(
        release=_release(header.get("$ACADVER")),
        unit_code=None if unit is None else int(number_of(unit, "$INSUNITS")),
        layers=_layers(sections.get("TABLES", ())),
        blocks=_blocks(sections.get("BLOCKS", ())),
        entities=entities,
        clipped=clipped,
    )


def _release(tag: Tag | None) -> str:
    return "not stated" if tag is None else _RELEASES.get(str(tag.value), str(tag.value))


def _unescaped(text: str) -> str:
    return _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text)


def _sections(tags: Sequence[Tag]) -> dict[str, Sequence[Tag]]:
    found: dict[str, Sequence[Tag]] = {}
    begun: int | None = None
    for index, (code, value, line) in enumerate(tags):
        if code or value not in {"SECTION", "ENDSEC"}:
            continue
        if (value == "SECTION") == (begun is not None):
            raise InputError(
                f"{place(line)}{value} out of place: a section of the DXF file is not ended or not begun",
                hint="The file is damaged: export it again.",
            )
        if begun is not None:
            found[str(tags[begun + 1].value)] = tags[begun + 2 : index]
        begun = index if value == "SECTION" else None
    if begun is not None:
        raise InputError(
            f"{place(tags[begun].line)}the DXF file's section begun here is not ended: it is cut short",
            hint="Copy or export it again; part of the plate is missing.",
        )
    return found


def _header(tags: Sequence[Tag]) -> dict[str, Tag]:
    """First value of each variable."""
    named = {str(tag.value): k for k, tag in enumerate(tags[:-1]) if tag.code == 9}
    return {name: tags[k + 1] for name, k in named.items()}


def _entities(tags: Sequence[Tag]) -> Iterator[Entity]:
    """Entities with their own tags; vertices and attributes go to the polyline or insert before them."""
    found = [index for index, tag in enumerate(tags) if tag.code == 0]
    if len(found) > MOST_ENTITIES:
        raise InputError(
            f"the drawing has {len(found)} entities; more than {MOST_ENTITIES} are not read",
            hint="Export the plate alone.",
        )
    owner: Entity | None = None
    for here, then in pairwise([*found, len(tags)]):
        own = [tag for tag in tags[here + 1 : then] if 0 < tag.code < _FIRST_FREE_CODE]
        entity = Entity(str(tags[here].value), tags[here].line, own)
        if entity.kind in {"VERTEX", "ATTRIB"} and owner is not None:
            owner.parts.append(entity)
        elif entity.kind != "SEQEND":
            owner = entity if entity.kind in {"POLYLINE", "INSERT"} else None
            yield entity


def _layers(tags: Sequence[Tag]) -> dict[str, Layer]:
    layers = {}
    for entry in _entities(tags):
        if entry.kind == "LAYER":
            name = entry.text(2)
            hidden = entry.whole(62, 7) < 0 or bool(entry.whole(70, 0) & 1)
            layers[name.upper()] = Layer(name, hidden, entry.text(6))
    return layers


def _blocks(tags: Sequence[Tag]) -> dict[str, Block]:
    blocks: dict[str, Block] = {}
    head: Entity | None = None
    inside: list[Entity] = []
    for entity in _entities(tags):
        if entity.kind == "BLOCK":
            head, inside = entity, []
        elif entity.kind == "ENDBLK" and head is not None:
            name = head.text(2)
            base = (head.number(10, 0.0), head.number(20, 0.0), head.number(30, 0.0))
            blocks[name.upper()] = Block(name, base, bool(head.whole(70, 0) & 0b1100), tuple(inside))
            head = None
        else:
            inside.append(entity)
    return blocks
