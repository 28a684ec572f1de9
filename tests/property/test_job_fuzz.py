"""The door of the job file under fire: whatever a starter becomes, it is read or refused, and nothing else happens."""

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from griddesign.errors import Complaint, GriddesignError
from griddesign.job.reading import read_job
from griddesign.job.starters import PURPOSES, starter_text

VALUES = (
    "nan", "-inf", "1e400", "0", "-1", "4", "true", "[]", "{}", '""', '" "', "1979-05-27", "07:32:00", "[[]]", "[1]",
    '["A"]', '"nan"', '"inf ohm"', '"-1 t"', '"0 mm"', '"x"', '{ value = "1 t" }', "{ value = 1 }", "{ value = [] }",
    '{ source = "x" }', '"1e308 t"', '"1e-308 mm"', '"about 5 mm"', '"5 mm to 3 mm"', '"1/0 in"', '"١٢ mm"',
    '"\\u0000"', '"😀"', "99999999999999999999999", '"99999999999999999999999 mm"', '"-300 degC"', '"0 %"',
    "{ series = 2, parallel = 1 }", "{ series = 1000000, parallel = 1000000 }", "{ a.b = 1 }", '"../../x"', '"CON"',
    '[["A", "B"], ["C"]]', '["A", ["B", ["C", "D"]]]', '"one edge"', '"round"', '"1 ohm at nan degC"', "[{}]",
    '{ value = "1 ohm", source = 5 }', '["1 ohm at 20 degC", "2 ohm at 20 degC"]', "0x7f", '"\\U0001F600"', "'''\n'''",
)  # fmt: skip
LINES = (
    "[metal.grey_iron_class30]", 'resistivity = "0 uohm cm"', "[metal]", "metal = 3", "[[section]]", "[[plate]]",
    "[[notch]]", "[papers]", 'sheet = "Letter"', "[duty]", 'limit = "400 degC"', "x.y = 1", 'valley_current = "1 A"',
    'two_temperatures = ["1 ohm at 20 degC", "2 ohm at 200 degC"]', "[line", "]", '"', "schema = 2", "\ufeff",
)  # fmt: skip


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """A starter with one to three lines changed, doubled, dropped, swapped, cut or put in."""
    lines = starter_text(draw(st.sampled_from(PURPOSES))).split("\n")
    for _ in range(draw(st.integers(1, 3))):
        at = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(("value", "value", "value", "double", "drop", "swap", "letter", "put in", "cut"))):
            case "value" if "=" in lines[at]:
                lines[at] = f"{lines[at].split('=')[0]}= {draw(st.sampled_from(VALUES))}"
            case "double":
                lines.insert(at, lines[at])
            case "drop" if len(lines) > 1:
                del lines[at]
            case "swap":
                other = draw(st.integers(0, len(lines) - 1))
                lines[at], lines[other] = lines[other], lines[at]
            case "letter":
                place = draw(st.integers(0, len(lines[at])))
                lines[at] = lines[at][:place] + draw(st.characters(codec="utf-8")) + lines[at][place + 1 :]
            case "put in":
                lines.insert(at, draw(st.sampled_from(LINES)))
            case "cut":
                lines = [*lines[:at], lines[at][: len(lines[at]) // 2]]
    return "\n".join(lines)


def outcome(raw: bytes) -> tuple[Complaint, ...]:
    """Complaints of a file with this content; none where it is a job. Any other error gets out."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_bytes(raw)
        try:
            read_job(path)
        except GriddesignError as error:
            return error.complaints()
    return ()


@seed(20_240_611)
@settings(max_examples=300, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])
@given(mangled())
def test_a_mangled_starter_is_read_or_refused(text: str) -> None:
    for complaint in outcome(text.encode("utf-8")):
        assert complaint.message and complaint.hint and complaint.file, complaint
        assert "\n" not in complaint.text(), "one complaint, one line"


@seed(20_240_611)
@settings(max_examples=100, deadline=None, database=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_refused_in_plain_words(raw: bytes) -> None:
    complaints = outcome(raw)
    assert complaints and all(complaint.message and complaint.hint for complaint in complaints)
