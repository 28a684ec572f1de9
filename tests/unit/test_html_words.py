"""Whatever a user writes stays words in the HTML: no text becomes a tag, an attribute, a rule or a link."""

import re
from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from griddesign.papers import blocks as b
from griddesign.papers import text
from griddesign.papers.html.content import SHARES, all_html, html_of
from griddesign.papers.html.page import html_bytes
from griddesign.papers.layout import _LAYERS
from griddesign.papers.marks import Picture, Words, line

HARD = (
    "<script>alert(1)</script>",
    "</style><script>alert(1)</script>",
    '" onload="alert(1)',
    "' onclick='alert(1)",
    "&lt;b&gt; & &amp; <b>bold</b>",
    "]]><!-- -->",
    "javascript:alert(1)",
    "<svg><a href='https://example.org'>x</a></svg>",
    "שלום مرحبا Ελληνικά \u202eoverride",
    "emoji \U0001f9ff and a lone surrogate \ud800",
    "two\nlines, a\ttab, \x00 and \x0b",
)


def document(words: str) -> bytes:
    """Every block there is, the words in every place that takes any."""
    picture = Picture(50.0, 10.0, (Words(1.0, 5.0, words), line(0.0, 0.0, 50.0, 10.0)))
    table = b.Table((b.Column(words), b.Column(words, "right", blank=True)), ((words, b.Cell(words)), (picture, words)))
    content: tuple[b.Block, ...] = (
        b.Heading(words),
        b.Paragraph(words, True, 14.0),
        b.Points((words, words), numbered=True),
        b.KeyFigures((b.KeyFigure(words, words, words),)),
        table,
        b.Box(words, (words,), heavy=True),
        b.Cautions((words,)),
        b.SignOff((words,)),
        b.Drawing(picture, words),
        b.Beside((b.Paragraph(words),), (table,), 1.0 / 3.0),
        b.Gap(5.0),
        b.NewPage(),
    )
    assert {type(block) for block in content} == set(_LAYERS)
    sheet = b.Sheet(words, words, "bench", content, across=(words,))
    return html_bytes((sheet, sheet), b.Stamp(words, words, words, "A4", (words,), words))


def shape(root: ElementTree.Element) -> list[tuple[str, tuple[str, ...]]]:
    """Tags and names of attributes, in order; a table of many words has its titles at the cells too."""
    return [(element.tag, tuple(name for name in element.attrib if name != "data-h")) for element in root.iter()]


PLAIN = ElementTree.fromstring(document("harmless").decode())


def check(words: str) -> None:
    root = ElementTree.fromstring(document(words).decode())
    assert shape(root) == shape(PLAIN)
    for element, plain in zip(root.iter(), PLAIN.iter(), strict=True):
        said = text.clean(words)
        if element.tag == "text":  # one line of a drawing
            said = said.replace("\n", " ")
        if element.tag != "style":
            assert (element.text or "") == (plain.text or "").replace("harmless", said)
    assert [element.text for element in root.iter("style")] == [element.text for element in PLAIN.iter("style")]


@pytest.mark.parametrize("words", HARD)
def test_hard_words_stay_words(words: str) -> None:
    check(words)


@given(st.text(alphabet=st.characters(), min_size=1, max_size=30).filter(lambda words: text.clean(words).strip()))
@example("<")
@example("\x85&")
def test_any_words_stay_words(words: str) -> None:
    check(words)


def test_no_character_reaches_the_file_bare() -> None:
    """Without a parser's help: between the tags we write there is no other ``<``, and no quote in an attribute."""
    content = document("<b a=\"1\" c='2'>").decode()
    assert "<b " not in content
    assert content.count("&lt;b a=&quot;1&quot; c=&#x27;2&#x27;&gt;") > 20


def test_hidden_turns_of_the_reading_direction_are_taken_out() -> None:
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", document("a\u202eb\u2067c").decode())


def test_a_table_with_many_words_is_read_row_by_row_on_a_phone() -> None:
    columns = (b.Column("Point"), b.Column("Why"), b.Column("Ohms", "right"))
    short = html_of(b.Table(columns, (("a" * 20, "b" * 20, "1" * 30),)))
    long = html_of(b.Table(columns, (("a" * 20, "b" * 21, "1"),)))
    assert "stack" not in short and "data-h" not in short
    assert 'class="ruled stack"' in long and '<td data-h="Why">' in long


def test_cells_say_how_they_are_set() -> None:
    columns = (b.Column("x", "right"), b.Column("y", "centre"), b.Column("z", blank=True))
    table = html_of(b.Table(columns, ((b.Cell("1"), "2", ""),), 9.0, ruled=False))
    assert '<td class="r b">1</td><td class="c">2</td><td class="n"></td>' in table
    assert '<table class="t9 fill">' in table


@pytest.mark.parametrize("share", [0.0, 0.02, 1.0 / 3.0, 0.5, 0.9, 1.0])
def test_every_share_of_the_width_has_a_rule(share: float) -> None:
    found = re.findall(r'class="s(\d+)"', html_of(b.Beside((b.Gap(1.0),), (b.Gap(1.0),), share)))
    assert [int(one) in SHARES for one in found] == [True, True]
    assert sum(map(int, found)) == 100


def test_blocks_follow_each_other() -> None:
    assert all_html((b.Heading("one"), b.Paragraph("two"))) == "<h3>one</h3>\n<p>two</p>"
