"""Numbered objects as a PDF file, ISO 32000-1, 7.5: streams one after another, all else packed into object streams.

An object keeps its number in whatever file it goes into, so what is drawn once goes into several files as it is;
numbers a file has no object for are free.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from hashlib import sha256
from struct import pack
from zlib import compress

_HEAD = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"  # four high bytes: nobody takes it for text
_ROW = ">BIH"  # kind, place, number within: the columns of a cross-reference stream
_EFFORT = 4  # of the deflating: half the time of the usual 6, and files a twentieth larger
_FREE = pack(_ROW, 0, 0, 65535)
_PLACED, _PACKED = 1, 2


@dataclass(frozen=True, slots=True)
class Part:
    """Objects that go into files together: whole streams by their numbers, and those packed into one of them, as the
    rows that a cross-reference has of them from object ``first`` on."""

    streams: tuple[tuple[int, bytes], ...]
    first: int
    rows: bytes


def part_of(streams: Iterable[tuple[int, bytes]], objects: Sequence[tuple[int, str]], pack_number: int) -> Part:
    """Streams as they are and other objects packed into the stream of ``pack_number``."""
    places = {number: pack(_ROW, _PACKED, pack_number, index) for index, (number, _) in enumerate(objects)}
    numbers = range(min(places), max(places) + 1)
    rows = b"".join([places.get(number, _FREE) for number in numbers])
    return Part((*streams, (pack_number, _packed(objects))), numbers[0], rows)


def stream(content: bytes | bytearray, entries: str = "") -> bytes:
    """The body of a stream, deflated."""
    small = compress(content, _EFFORT)
    return b"<</Filter/FlateDecode/Length %d%b>>stream\n%b\nendstream" % (len(small), entries.encode("ascii"), small)


def _packed(objects: Sequence[tuple[int, str]]) -> bytes:
    """Objects in one stream, ISO 32000-1, 7.5.7: pairs of number and place, then the objects."""
    places, at = [], 0
    for number, body in objects:
        places.append(f"{number} {at}")
        at += len(body) + 1
    head = " ".join(places) + "\n"
    content = f"{head}{' '.join(body for _, body in objects)}".encode("latin-1")
    return stream(content, f"/Type/ObjStm/N {len(objects)}/First {len(head)}")


def file_bytes(parts: Sequence[Part], root: int, info: int) -> bytes:
    """The parts as one file; where the numbers of one lie between those of another, it comes later. ``root``, ``info``:
    the objects a reader begins at. Same parts, same bytes: the file's identity is made of what is in it."""
    own = 1 + max(*(number for part in parts for number, _ in part.streams), *(_last(part) for part in parts))
    rows, pieces, at = bytearray(_FREE * (own + 1)), [_HEAD], len(_HEAD)
    for part in parts:
        _put(rows, part.first, part.rows)
    for number, body in (one for part in parts for one in part.streams):
        _put(rows, number, pack(_ROW, _PLACED, at, 0))
        pieces.append(b"%d 0 obj\n%b\nendobj\n" % (number, body))
        at += len(pieces[-1])
    _put(rows, own, pack(_ROW, _PLACED, at, 0))
    identity = sha256(b"".join(pieces)).hexdigest()[:32]
    entries = f"/Type/XRef/Size {own + 1}/W[1 4 2]/Root {root} 0 R/Info {info} 0 R/ID[<{identity}><{identity}>]"
    return b"%b%d 0 obj\n%b\nendobj\nstartxref\n%d\n%%%%EOF\n" % (b"".join(pieces), own, stream(rows, entries), at)


def _last(part: Part) -> int:
    return part.first + len(part.rows) // len(_FREE) - 1


def _put(rows: bytearray, number: int, own: bytes) -> None:
    rows[number * len(_FREE) : number * len(_FREE) + len(own)] = own


def text_string(words: str) -> str:
    """Words a reader shows in its own window (titles, bookmarks), ISO 32000-1, 7.9.2.2."""
    if words.isascii() and words.isprintable():
        return f"({escaped(words)})"
    return f"<feff{words.encode('utf-16-be', 'replace').hex()}>"


def escaped(words: str) -> str:
    """Words between the brackets of a string, ISO 32000-1, 7.3.4.2."""
    if "(" in words or ")" in words or "\\" in words:
        return words.replace("\\", "\\\\").replace("(", "\\(").replace(")", "\\)")
    return words
