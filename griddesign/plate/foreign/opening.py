"""The bytes of a DXF file as tags (group code, value), or a message that says what the file is instead.

Read here and not by the drawing library: that one fills in missing figures, repairs what it cannot know (``100,5``
becomes 100.0), returns an empty drawing for a file cut short, and takes longer to load than a plate takes to solve.
A tag knows its line, so that a complaint can name it. Group codes and their kinds of value: the open DXF reference of
R12 to R2018, "Group Code Value Types"; binary files: the same, "Binary DXF Files".
"""

import codecs
import re
import struct
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from griddesign.errors import InputError
from griddesign.given_file import instead_of, is_device

LARGEST_FILE_BYTES = 10 * 1024**2
Value = str | int | float

_BINARY_MARK = b"AutoCAD Binary DXF\r\n\x1a\x00"  # the file format's own first 22 bytes
_OTHER_FORMATS = (
    (re.compile(rb"AC1[0-9.]{3,}"), "a DWG drawing"),
    (re.compile(rb"%PDF"), "a PDF"),
    (re.compile(rb"PK\x03\x04"), "a zip archive"),
    (re.compile(rb"\x89PNG|\xff\xd8\xff|GIF8|BM|II\*\x00|MM\x00\*"), "a picture"),
    (re.compile(rb"ISO-10303"), "a STEP model"),
    (re.compile(rb"\s*<"), "an XML, SVG or HTML file"),
    (re.compile(rb"\xff\xfe|\xfe\xff"), "text in UTF-16"),
)
_SAVE_AS = "Save the drawing as ASCII or binary DXF, any release from R12 on."
# Binary files: how many bytes a value takes, by group code (low, high, struct letter); all others are texts.
_BINARY_KINDS = (
    (10, 59, "d"), (60, 79, "h"), (90, 99, "i"), (110, 149, "d"), (160, 169, "q"), (170, 179, "h"), (210, 239, "d"),
    (270, 289, "h"), (290, 299, "b"), (370, 389, "h"), (400, 409, "h"), (420, 429, "i"), (440, 449, "i"),
    (450, 459, "i"), (460, 469, "d"), (1010, 1059, "d"), (1060, 1070, "h"), (1071, 1071, "i"),
)  # fmt: skip
_CODE = re.compile(r"[ \t]*[+-]?[0-9]{1,9}[ \t]*")
_OF_CODES = frozenset("0123456789+- \t")
_CHUNKS = frozenset({1004, *range(310, 320)})


class Tag(NamedTuple):
    """One group code and its value. ``line`` is that of the value in an ASCII file, 0 in a binary one."""

    code: int
    value: Value
    line: int


def place(line: int) -> str:
    """``line 12: `` to begin a complaint with, or nothing where the file has no lines."""
    return f"line {line}: " if line else ""


def bytes_of(path: Path) -> bytes:
    """The file's content. Raises InputError where it cannot be read, is empty or larger than 10 MB."""
    try:
        size = path.stat().st_size
        if size > LARGEST_FILE_BYTES:
            raise InputError(
                f"{path.name} has {size / 1024**2:.1f} MB; a plate's outline of more than"
                f" {LARGEST_FILE_BYTES / 1024**2:.0f} MB is not read",
                hint="Export the plate alone, without its sheet, hatches and pictures.",
            )
        if is_device(path):
            raise InputError(f"{path.name} is a device, not a file", hint="Name a DXF file.")
        content = path.read_bytes()
    except FileNotFoundError as error:
        where = "Check its name and folder."
        raise InputError(f"{path}: there is no such file", hint=instead_of(path, ".dxf", where)) from error
    except OSError as error:
        why = error.strerror or error
        raise InputError(f"{path.name} cannot be read: {why}", hint="Name a DXF file that you may read.") from error
    if not content.strip():
        raise InputError(f"{path.name} is empty", hint="Export it again.")
    return content


def is_binary(content: bytes) -> bool:
    """Whether these are the bytes of a binary DXF file."""
    return content.startswith(_BINARY_MARK)


def tags_of(content: bytes) -> list[Tag]:
    """Every tag up to and with ``EOF``. Values of ASCII files stay texts, those of binary files have their kind.

    Raises InputError where this is no DXF file or it ends before its ``EOF``.
    """
    tags = _binary_tags(content) if is_binary(content) else _ascii_tags(content)
    for index, tag in enumerate(tags):
        if tag.code == 0 and tag.value == "EOF":
            return tags[:index]
    raise _cut_short(f"it ends after {len(tags)} tags without the mark EOF")


def _cut_short(how: str) -> InputError:
    return InputError(
        f"the DXF file is cut short: {how}", hint="Copy or export it again; part of the plate is missing."
    )


def _no_dxf(what: str) -> InputError:
    return InputError(f"this is not a DXF file: {what}", hint=_SAVE_AS)


def _ascii_tags(content: bytes) -> list[Tag]:
    content = content.removeprefix(codecs.BOM_UTF8)
    for form, name in _OTHER_FORMATS:
        if form.match(content):
            raise _no_dxf(f"it is {name}")
    if b"\0" in content:
        raise _no_dxf("it holds bytes that no text has")
    text = content.decode(_encoding(content), errors="replace").rstrip("\x1a\r\n \t")
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    codes = _group_codes(lines[0::2])
    tags = [
        Tag(code, value.strip(), 2 * k + 2) for k, (code, value) in enumerate(zip(codes, lines[1::2], strict=False))
    ]
    if not any(tag.code == 0 and tag.value == "SECTION" for tag in tags[:1000]):
        raise _no_dxf(f"its first line is {_shortened(lines[0])!r} and no section begins")
    return [tag for tag in tags if tag.code != 999]  # comments


def _group_codes(lines: list[str]) -> list[int]:
    if set("".join(lines)) <= _OF_CODES:
        with suppress(ValueError):
            return [int(line) for line in lines]
    index, bad = next((k, line) for k, line in enumerate(lines) if not _CODE.fullmatch(line))
    if not index:
        raise _no_dxf(f"its first line is {_shortened(bad)!r}")
    raise InputError(
        f"line {2 * index + 1}: {_shortened(bad)!r} stands where a group code should; the DXF file is damaged",
        hint="Export it again.",
    )


def _shortened(text: str) -> str:
    return text if len(text) <= 30 else f"{text[:30]}..."


def _encoding(content: bytes) -> str:
    """Encoding of names: UTF-8 from R2007 on, before that the code page the header names."""
    release = re.search(rb"\$ACADVER\s+1\s+AC(\d{4})", content[:4000])
    if release and int(release[1]) >= 1021:
        return "utf-8"
    page = re.search(rb"\$DWGCODEPAGE\s+3\s+(?:ANSI_|DOS)(\w+)", content[:100_000], re.IGNORECASE)
    name = f"cp{page[1].decode()}" if page else "cp1252"
    try:
        return codecs.lookup(name).name
    except LookupError:
        return "latin-1"


def _binary_tags(content: bytes) -> list[Tag]:
    try:
        return [Tag(code, value, 0) for code, value in _binary_values(content)]
    except (struct.error, IndexError, ValueError) as error:
        raise _cut_short("its last value is incomplete") from error


def _binary_values(content: bytes) -> Iterator[tuple[int, Value]]:
    """Tags of a binary file. Group codes take one byte before R13 (255 begins a longer one), two bytes since."""
    index = len(_BINARY_MARK)
    wide = content[index + 1 : index + 2] == b"\0"
    kinds = {code: letter for low, high, letter in _BINARY_KINDS for code in range(low, high + 1)}
    while index < len(content):
        code, index = _binary_code(content, index, wide)
        if letter := kinds.get(code):
            value: Value = struct.unpack_from(f"<{letter}", content, index)[0]
            index += struct.calcsize(f"<{letter}")
        elif code in _CHUNKS:
            value, index = "", index + 1 + content[index]
        else:
            end = content.index(b"\0", index)
            value, index = content[index:end].decode("utf-8", errors="replace"), end + 1
        yield code, value
        if code == 0 and value == "EOF":
            return


def _binary_code(content: bytes, index: int, wide: bool) -> tuple[int, int]:
    if wide:
        return struct.unpack_from("<H", content, index)[0], index + 2
    if content[index] == 255:
        return struct.unpack_from("<H", content, index + 1)[0], index + 3
    return content[index], index + 1
