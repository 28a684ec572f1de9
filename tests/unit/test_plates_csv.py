"""The CSV of plates at hand: what a spreadsheet makes of it is read, what can be read in two ways is refused."""

from pathlib import Path

import pytest

from griddesign.errors import JobError
from griddesign.job.plates_csv import BLANK_COLUMNS, blank_csv
from griddesign.job.plates_reading import read_places, read_plates_at_hand

PLAIN = "box,position,kind,ohm,method,temperature (degC)\n1,1,P,0.0385,four-wire,22\n1,2,P,0.0381,four-wire,22\n"


def read(tmp_path: Path, content: str | bytes, taps: dict[str, int] | None = None):  # type: ignore[no-untyped-def]
    path = tmp_path / "plates.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_plates_at_hand(path, taps or {})


SAME = {
    "plain": PLAIN,
    "byte order mark, CRLF": ("\ufeff" + PLAIN.replace("\n", "\r\n")).encode(),
    "windows-1252": PLAIN.replace("degC", "°C").encode("cp1252"),
    "semicolons and decimal commas": PLAIN.replace(",", ";").replace("0.", "0,"),
    "tabs": PLAIN.replace(",", "\t"),
    "milliohm in the header": PLAIN.replace("ohm", "ohm (mohm)").replace("0.0385", "38.5").replace("0.0381", "38.1"),
    "empty rows": PLAIN.replace("1,1,P", "\n,,,,,\n1,1,P"),
    "underscores and capitals": PLAIN.replace("box,position,kind,ohm", "Box,Position,Kind,Measured_ohms"),
    "temperature_c": PLAIN.replace("temperature (degC)", "temperature_c"),
    "rows out of order": "\n".join([*PLAIN.splitlines()[:1], *reversed(PLAIN.splitlines()[1:])]),
}


@pytest.mark.parametrize("name", SAME)
def test_spreadsheets_write_it_in_many_ways(tmp_path: Path, name: str) -> None:
    found = read(tmp_path, SAME[name])
    assert [(row.box, row.position, row.kind) for row in found.plates] == [(1, 1, "P"), (1, 2, "P")]
    assert sorted(one.ohm for one in found.readings) == pytest.approx([0.0381, 0.0385])
    assert {one.t_c for one in found.readings} == {22.0}


def test_amperes_and_millivolts_are_a_voltage_drop(tmp_path: Path) -> None:
    found = read(tmp_path, "box,position,kind,ampere,millivolt,temperature (degC)\n1,1,P,10,385,22\n")
    (reading,) = found.readings
    assert (reading.ohm, reading.method) == (pytest.approx(0.0385), "volt-drop")


def test_conditions_by_column_or_by_word(tmp_path: Path) -> None:
    head = "box,position,kind,ohm,temperature (degC),not in circuit,cracked or doubtful,condition,broken at\n"
    rows = [
        "1,1,P,0.04,20,,,,",
        "1,2,P,0.04,20,x,,,",
        "1,3,P,0.04,20,,yes,,",
        "1,4,P,open,20,,,,return bend",
        "1,5,P,∞,20,,,,",
        "1,6,P,,20,,,burnt through,",
        "1,7,P,OL,20,,,,",
    ]
    found = read(tmp_path, head + "\n".join(rows))
    words = ["sound", "not in circuit", "cracked", "dead", "dead", "dead", "dead"]
    assert [row.condition for row in found.plates] == words
    assert found.plates[3].broken_at == "return bend"


def test_in_circuit_no_is_not_in_circuit(tmp_path: Path) -> None:
    found = read(tmp_path, PLAIN.replace("degC)", "degC),in_circuit").replace(",22\n", ",22,no\n", 1))
    assert [row.condition for row in found.plates] == ["not in circuit", "sound"]


@pytest.mark.parametrize(("marks", "pairs"), [("xxxx", [1, 1, 2, 2]), ("aabb", [1, 1, 2, 2]), ("-aa-", [0, 1, 1, 0])])
def test_plates_joined_two_and_two(tmp_path: Path, marks: str, pairs: list[int]) -> None:
    rows = [f"1,{number},P,0.04,20,{mark}" for number, mark in enumerate(marks, start=1)]
    found = read(tmp_path, "box,position,kind,ohm,temperature (degC),joined\n" + "\n".join(rows))
    assert [row.joined for row in found.plates] == pairs


def test_readings_over_several_plates(tmp_path: Path) -> None:
    rows = PLAIN.replace("degC)", "degC),from,to").replace(",22\n", ",22,,\n")
    rows += "2,1,P,0.04,four-wire,22,,\n1,,,0.0766,four-wire,22,0,2\n,,,0.1166,four-wire,22,start of A,end of A\n"
    rows += '1,,,0.038,four-wire,22,0|1,joint 1|2\n,,,0.12,four-wire,22,"box 1, joint 0|1","box 2, 1"\n'
    found = read(tmp_path, rows, {"start of A": 0, "end of A": 3})
    assert [(one.first, one.last) for one in found.readings if not one.over] == [(1, 1), (2, 2), (3, 3)]
    assert [(one.first, one.last) for one in found.readings if one.over] == [(1, 2), (1, 3), (1, 1), (1, 3)]


def test_an_empty_temperature_is_the_one_above_and_that_is_said(tmp_path: Path) -> None:
    found = read(tmp_path, PLAIN.replace("0.0381,four-wire,22", "0.0381,four-wire,"))
    assert [one.t_c for one in found.readings] == [22.0, 22.0]
    assert "took that of the line above" in " ".join(found.remarks)


BAD = {
    "no kind column": (PLAIN.replace("kind", "what"), "column kind missing"),
    "no ohms": (PLAIN.replace("ohm,", "x,"), "column ohm missing"),
    "no temperature": (PLAIN.replace("temperature (degC)", "weather"), "column temperature missing"),
    "1,000 in quotes": (PLAIN.replace("0.0385", '"1,000"'), "comma"),
    "1,000 beside semicolons": (
        PLAIN.replace(",", ";").replace("0.0385", "1,000").replace("0.0381", "2,000"),
        "1,000 may be 1.000 or 1000",
    ),
    "decimal commas between commas": (PLAIN.replace("0.0385", "0,0385"), "A decimal comma?"),
    "a place twice": (PLAIN.replace("1,2,P", "1,1,P"), "position 1 stands on line 2 too"),
    "a place left out": (PLAIN.replace("1,2,P", "1,3,P"), "box 1 has no plate 2"),
    "negative": (PLAIN.replace("0.0385", "-0.0385"), "below 0, too low for a resistance"),
    "nought": (PLAIN.replace("0.0385", "0"), "above zero"),
    "38 in an ohm column": (PLAIN.replace("0.0385", "38"), "38 ohm for one plate: milliohm?"),
    "a word for ohms": (PLAIN.replace("0.0385", "good"), "good"),
    "open over several": (
        PLAIN.replace("degC)", "degC),from,to").replace("1,2,P,0.0381,four-wire,22", "1,,,open,,22,0,1"),
        "Find the dead plate",
    ),
    "no such joint": (
        PLAIN.replace("degC)", "degC),from,to").replace(",22\n", ",22,,\n") + "1,,,0.07,four-wire,22,0,9\n",
        "box 1 has 2 plates, no joint 9",
    ),
    "from a tap nobody named": (
        PLAIN.replace("degC)", "degC),from,to").replace(",22\n", ",22,,\n") + "1,,,0.07,four-wire,22,A/B,2\n",
        "no joint and no tap",
    ),
    "unknown method": (PLAIN.replace("four-wire", "guess"), "'guess' is not known"),
    "nothing read": (blank_csv((3,), "P"), "there is no reading in it"),
    "position of half a plate": (PLAIN.replace("1,2,P", "1,1.5,P"), "is no count"),
    "no rows": (PLAIN.splitlines()[0] + "\n", "there is a header and no"),
    "empty": ("", "the file is empty"),
}


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_is_refused_with_its_line(tmp_path: Path, name: str) -> None:
    content, says = BAD[name]
    with pytest.raises(JobError) as refused:
        read(tmp_path, content)
    texts = [complaint.text() for complaint in refused.value.complaints()]
    assert any(says in text for text in texts), texts
    assert all("plates.csv" in text for text in texts)


def test_38_ohm_written_out_is_believed(tmp_path: Path) -> None:
    found = read(tmp_path, PLAIN.replace("0.0385", "38 ohm"))
    assert found.readings[0].ohm == 38.0


def test_a_file_of_100_000_rows_is_refused_in_one_message(tmp_path: Path) -> None:
    rows = "".join(f"{number // 500 + 1},{number % 500 + 1},P,0.0385,four-wire,22\n" for number in range(100_000))
    with pytest.raises(JobError) as refused:
        read(tmp_path, PLAIN.splitlines()[0] + "\n" + rows)
    assert len(refused.value.complaints()) == 1


def test_every_fault_of_a_file_is_told_at_once_but_no_more_than_twenty(tmp_path: Path) -> None:
    rows = "".join(f"1,{number},P,-1,four-wire,22\n" for number in range(1, 40))
    with pytest.raises(JobError) as refused:
        read(tmp_path, PLAIN.splitlines()[0] + "\n" + rows)
    assert len(refused.value.complaints()) == 21


def test_the_blank_form_has_the_columns_that_are_read(tmp_path: Path) -> None:
    path = tmp_path / "blank.csv"
    path.write_text(blank_csv((2, 1), "P"), encoding="utf-8")
    assert read_places(path) == ((1, 1), (1, 2), (2, 1))
    filled = blank_csv((1,), "P").replace("1,1,P,", "1,1,P,0.04").replace("0.04,", "0.04,four-wire,21,1 %,", 1)
    assert len(filled.splitlines()[1].split(",")) >= len(BLANK_COLUMNS)
