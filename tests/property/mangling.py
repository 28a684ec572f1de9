"""Valid files changed into strange ones: bytes, lines, keys, cells, group codes, words, figures; up to eight times."""

import re
from collections.abc import Callable, Sequence
from random import Random

HOSTILE = (
    "", " ", "0", "-0", "-1", "1", "2", "nan", "-inf", "inf", "1e308", "1e400", "-1e308", "1e-308", "5e-324", "0.0",
    "9" * 30, "9" * 5000, "1/0", "0/0", "²", "½", "١٢", "𝟙", "1,5", "1,000", "1_000", "0x7f", "1e9999999", "∞", "true",
    "\0", "\ufeff", "\ud800", "\u202e550 V\u202c", "\u2028", "\x85", "\x7f", "\x1b[31m", "\r", "\n", "\t", "\\", '"',
    "'", '"""', "[", "]", "{", "}", "[" * 3000, "{a=" * 3000, "(" * 3000, "#", "=", ";", ",", "..", "../../x", "/etc/x",
    "C:\\x", "C:x", "\\\\host\\x", "~/x", "CON", "LPT¹", "nul.txt", "a:b", "a?b", "x.", "x ", "A" * 300, "Ä" * 3000,
    "<script>alert(1)</script>", "&amp;", "]]>", "<!--", "%%EOF", "(", ")", "\\)", "endstream", "=1+1", "@x", "😀",
    "0\nEOF", "  0\nENDSEC", "\\U+0041", "\\P", "%%c", "1 mm", "-300 degC", "0 ohm", "1e30 t", "about 5 mm",
    "1 mm to 2 mm", "2 mm to 1 mm", "1 ohm at nan degC", "1 in 0", "3' 6\"", "open", "A/B", "5|6", "5|4", "1-3", "x",
)  # fmt: skip
HOSTILE_TOML = (
    "nan", "1e400", "0", "-1", "4", "9" * 5000, "0x7f", "true", "[]", "{}", '""', "1979-05-27", "07:32:00", "[[]]",
    "{ value = 1 }", '{ value = "1 t", source = "x" }', "{ value = [] }", "{ a.b = 1 }", "[{}]", '["A", ["B", ["C"]]]',
    '["1 ohm at 20 degC", "2 ohm at 200 degC"]', "{ series = 1000000, parallel = 1000000 }", '["A"]', '[["A"]]',
    "0x" + "f" * 5000, "1e" + "9" * 50, "[" * 200 + "]" * 200, "{ x = " * 200 + "1" + " }" * 200,
    "[" * 5000 + "]" * 5000, '"' + "A" * 30000 + '"',
    '"\\u202e"', '"\\u0085"', '"\\u2028"', '"\\u007f"', '"\\U0010FFFF"', '"\\u0000"', "'''\n'''", '{ "a\\nb" = 1 }',
)  # fmt: skip

Change = Callable[[Random, bytes, Sequence[bytes]], bytes]
"""Dice, the file, and others of its kind to take pieces from, to the changed file."""


def hostile(dice: Random) -> bytes:
    return dice.choice(HOSTILE).encode("utf-8", "surrogatepass")


def bytes_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """One change that knows nothing of what the bytes mean."""
    at, end = sorted(dice.randrange(len(raw) + 1) for _ in range(2))
    end, other = min(end, at + 200), dice.choice(others)
    cut, doubled, put_in, in_place, one_byte, spliced, many = range(7)
    return {
        cut: lambda: raw[:at] if dice.random() < 0.5 else raw[:at] + raw[end:],
        doubled: lambda: raw[:end] + raw[at:],
        put_in: lambda: raw[:at] + hostile(dice) + raw[at:],
        in_place: lambda: raw[:at] + hostile(dice) + raw[end:],
        one_byte: lambda: raw[:at] + bytes([dice.randrange(256)]) + raw[at + 1 :],
        spliced: lambda: raw[:at] + other[dice.randrange(len(other) + 1) :],
        many: lambda: raw[:end] + raw[at:end] * dice.choice((1, 2, 50)) + raw[end:],
    }[dice.randrange(7)]()


def lines_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """One change of whole lines: left out, doubled, exchanged, moved in from another file, written anew."""
    lines = raw.split(b"\n")
    at, other = dice.randrange(len(lines)), dice.randrange(len(lines))
    match dice.randrange(6):
        case 0:
            del lines[at]
        case 1:
            lines.insert(other, lines[at])
        case 2:
            lines[at], lines[other] = lines[other], lines[at]
        case 3:
            lines.insert(at, dice.choice(dice.choice(others).split(b"\n")))
        case 4:
            lines[at] = hostile(dice)
        case _:
            del lines[min(at, other) : min(max(at, other), min(at, other) + 30)]
    return b"\n".join(lines)


def toml_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A value, a key or a header written anew."""
    lines = raw.split(b"\n")
    at = next((at for at in dice.sample(range(len(lines)), len(lines)) if b"=" in lines[at] or b"[" in lines[at]), 0)
    key, equals, _ = lines[at].partition(b"=")
    match dice.randrange(5):
        case 0 | 1 if equals:
            lines[at] = key + b"= " + dice.choice(HOSTILE_TOML).encode()
        case 2 if equals:
            inner = dice.choice(HOSTILE).replace("\\", "\\\\").replace('"', '\\"')
            lines[at] = key + b'= "' + inner.encode("utf-8", "replace") + b'"'
        case 3 if equals:
            wanted = [line for line in lines if b"=" in line] or lines
            lines[at] = dice.choice((key, dice.choice(wanted).partition(b"=")[0])) + b"=" + dice.choice(wanted)[9:]
        case _:
            place = dice.randrange(len(lines[at]) + 1)
            lines[at] = lines[at][:place] + hostile(dice) + lines[at][place:]
    return b"\n".join(lines)


def texts_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A text that goes on paper written anew, so that the file mostly stays one that is read."""
    words = rb'(?:title|owner|drawn_by|approved_by|source|name|offered_by) = "([^"\n]*)"'
    start, end = dice.choice([found.span(1) for found in re.finditer(words, raw)] or [(0, 0)])
    shown = [words for words in HOSTILE if words.isprintable() and "\\" not in words and '"' not in words]
    kept = raw[start:end] if dice.random() < 0.3 else b""
    return raw[:start] + kept + dice.choice(shown)[:200].encode() + raw[end:]


def figures_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """One number written anew, its unit kept: a little, by powers of ten, or to one end of what there is."""
    places = [found.span() for found in re.finditer(rb"(?<![\w.])[0-9]+(?:\.[0-9]+)?(?=[ ,%\"\]\n])", raw)]
    start, end = dice.choice(places or [(0, 0)])
    figure = float(raw[start:end] or 1) * dice.choice(
        (0.5, 0.9, 0.99, 1.01, 1.1, 2, 10, 1e-3, 1e3, 1e-6, 1e6, 0, 1e-15)
    )
    words = f"{figure:g}" if b"." in raw[start:end] or dice.random() < 0.5 else f"{figure:.0f}"
    return raw[:start] + words.encode() + raw[end:]


def csv_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A cell, a header, a column or the separator written anew."""
    lines = raw.split(b"\n")
    if dice.random() < 0.1:
        return raw.replace(b",", dice.choice((b";", b"\t", b",,", b"|")))
    at = 0 if dice.random() < 0.3 else dice.randrange(len(lines))
    cells = lines[at].split(b",")
    place = dice.randrange(len(cells))
    whole = [cell for line in dice.choice(others).split(b"\n")[:3] for cell in line.split(b",")]
    cells[place] = hostile(dice) if dice.random() < 0.6 else dice.choice(whole)
    if dice.random() < 0.2:
        cells.insert(place, b'"a\nb"')
    lines[at] = b",".join(cells)
    return b"\n".join(lines)


def dxf_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A group code or a value written anew, or a run of pairs left out, doubled or moved in from another file."""
    lines, wild = raw.split(b"\n"), dice.choice(others).split(b"\n")
    pair, other = (2 * dice.randrange(max(1, len(lines) // 2)) for _ in range(2))
    many = 2 * dice.choice((1, 1, 2, 8, 40))
    match dice.randrange(7):
        case 0:
            lines[pair] = str(
                dice.choice((0, 2, 8, 10, 20, 30, 40, 41, 42, 62, 67, 70, 71, 210, 220, 230, -5))
            ).encode()
        case 1 | 2:
            lines[min(pair + 1, len(lines) - 1)] = hostile(dice)
        case 3:
            del lines[pair : pair + many]
        case 4:
            lines[other:other] = lines[pair : pair + many] * dice.choice((1, 1, 3))
        case 5:
            start = 2 * dice.randrange(max(1, len(wild) // 2))
            lines[pair:pair] = wild[start : start + many]
        case _:
            figure = dice.choice((0.0, -0.0, 1e-12, 1.0, -1.0, 1e6, 1e14, 1e16, dice.uniform(-100, 100)))
            lines[min(pair + 1, len(lines) - 1)] = repr(figure).encode()
    return b"\n".join(lines)


def json_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A value of a JSON text written anew."""
    words = ("null", "1", "-1", "1e999", "NaN", "[]", "{}", '""', "true", '"../../x"', "[" * 100_000, '"\\ud800"')
    places = [found.span(1) for found in re.finditer(rb": ?([^,{}\n]+)", raw)] or [(0, len(raw))]
    start, end = dice.choice(places)
    return raw[:start] + dice.choice(words).encode() + raw[end:]


def changes(*own: Change, blind: bool = True) -> Change:
    """One to eight changes; those of its kind oftener than ``blind`` ones, if those are to be among them."""
    every = (*own * 3, lines_changed, bytes_changed) if blind else own

    def mangle(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
        for _ in range(dice.choice((1, 1, 1, 2, 2, 3, 5, 8))):
            raw = dice.choice(every)(dice, raw, others)[:200_000]
        return raw

    return mangle


def words_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A line of words separated by NUL, words left out, doubled, moved in, written anew."""
    words = raw.split(b"\0")
    for _ in range(dice.choice((0, 1, 1, 2, 3))):
        at = dice.randrange(len(words) + 1)
        other = dice.choice(dice.choice(others).split(b"\0"))
        match dice.randrange(4):
            case 0:
                words[at : at + 1] = []
            case 1:
                words.insert(at, other)
            case 2:
                words[at : at + 1] = [other]
            case _:
                words[at : at + 1] = [hostile(dice).replace(b"\0", b"")]
    return b"\0".join(words)


def chart_changed(dice: Random, raw: bytes, others: Sequence[bytes]) -> bytes:
    """A contact, a lead, a fixed wire or a whole notch of a controller's chart put elsewhere."""
    lines = raw.split(b"\n")
    joined = [at for at, line in enumerate(lines) if line.startswith(b"joined = ")]
    leads = [at for at, line in enumerate(lines) if re.match(rb'[A-Z][0-9]? = "', line)]
    if len(joined) < 2 or len(leads) < 2:
        return raw
    at, other = dice.sample(joined, 2)
    terminals = [lines[lead].split(b" ")[0] for lead in leads]
    match dice.randrange(7):
        case 0:
            groups = re.findall(rb"\[[^][]+\]", lines[at])
            lines[at] = b"joined = [" + b", ".join(dice.sample(groups, max(0, len(groups) - 1))) + b"]"
        case 1:
            more = b'[["%s", "%s"], ' % (dice.choice(terminals), dice.choice(terminals))
            lines[at] = lines[at].replace(b"[[", more, 1)
        case 2:
            lines[at] = lines[at].replace(b"], [", b", ", 1)
        case 3:
            words = [found.span(1) for found in re.finditer(rb'"([^"]+)"', lines[at])]
            start, end = dice.choice(words or [(0, 0)])
            lines[at] = lines[at][:start] + dice.choice(terminals) + lines[at][end:]
        case 4:
            lines[at] = lines[other]
        case 5:
            one, another = dice.sample(leads, 2)
            goes = b" =" + lines[another].partition(b" =")[2]
            lines[one] = lines[one].partition(b" =")[0] + (goes if dice.random() < 0.6 else dice.choice(LEADS))
        case _:
            one, another = dice.sample(leads, 2)
            lines[one], lines[another] = (
                lines[one].partition(b" =")[0] + b" =" + lines[another].partition(b" =")[2],
                lines[another].partition(b" =")[0] + b" =" + lines[one].partition(b" =")[2],
            )
    return b"\n".join(lines)


LEADS = tuple(
    f' = "{where}"'.encode()
    for where in (
        "line", "ground", "start of A", "A/B", "B/C", "end of C", "start of D", "end of E", "motor 1 in",
        "motor 1 armature 1", "motor 1 armature 2", "motor 1 field 1", "motor 1 field 2", "motor 2 in",
        "motor 2 field 1", "motor 2 armature 2", "resistor S 1", "resistor S 2", "resistor W 2", "motor 3 in",
    )
)  # fmt: skip
