"""A CSV of plates, mangled: it is read or refused with complaints, and never anything else."""

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.errors import GriddesignError
from griddesign.found.as_found import as_found
from griddesign.job.plates_reading import read_plates_at_hand
from griddesign.job.reading import read_job
from griddesign.shipped import examples_folder

TEXT = (examples_folder() / "retap-plates.csv").read_text(encoding="utf-8")
JOB = read_job(examples_folder() / "retap.toml")
CELLS = [
    "", "x", "open", "0", "-1", "38", "1,000", '"', "1e400", "nan", "0-3", "3|4", "A/B", "yes", "two-wire", "∞", ";",
]  # fmt: skip


@settings(max_examples=60)
@given(st.data())
def test_a_mangled_file_is_read_or_refused(tmp_path_factory: object, data: st.DataObject) -> None:
    lines = [line.split(",") for line in TEXT.splitlines()[: data.draw(st.integers(2, 79))]]
    for _ in range(data.draw(st.integers(1, 6))):
        row = data.draw(st.integers(0, len(lines) - 1))
        place = data.draw(st.integers(0, len(lines[row]) - 1))
        lines[row][place] = data.draw(st.sampled_from(CELLS) | st.text(max_size=6))
    path = Path(str(tmp_path_factory.mktemp("csv"))) / "plates.csv"  # type: ignore[attr-defined]
    path.write_text("\n".join(",".join(cells) for cells in lines), encoding="utf-8", errors="replace")
    try:
        found = as_found(JOB, read_plates_at_hand(path, {"A/B": 26}))
    except GriddesignError as error:
        assert error.exit_code == 2 and all(complaint.text() for complaint in error.complaints())
    else:
        assert all(plate.ohm >= 0.0 for plate in found.plates.plates)
