"""The start with motors cut out as told on the screen."""

from collections.abc import Iterator

from griddesign.judge.cut_out import CutOut
from griddesign.units import show


def cut_out_lines(found: CutOut | None) -> Iterator[str]:
    """A line for the first case and what there is to say of all; nothing where no motor can be spared."""
    if found is None:
        return
    yield ""
    run, case = found.run, found.cases[0]
    worst_a, name = max((float(log.peak_a[0]), log.where) for log in run.rows)
    told = f"With {found.words}, at {show(case.line_v, 'voltage')}: peak {show(worst_a, 'current')} on {name}"
    if run.stuck[0] < 0:
        told += f", {run.seconds[0]:.1f} s to {3.6 * run.end_m_s[0]:.1f} km/h"
    yield told
    for remark in found.remarks:
        yield f"  remark: {remark}"
