"""How a result comes out, as told on the screen: its findings, what was not checked, what to measure next."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from griddesign.cli.measure_lines import measure_lines
from griddesign.judge.finding import Verdict

if TYPE_CHECKING:
    from griddesign.judge.records import Result
    from griddesign.judge.retapping.records import RetapResult
    from griddesign.judge.start_result import StartResult


def finding_lines(result: "Result | StartResult | RetapResult") -> Iterator[str]:
    """How many findings hold, each that does not, remarks, what was not checked, and what to measure next."""
    held = sum(finding.verdict is Verdict.HOLDS for finding in result.findings)
    yield f"{held} of {len(result.findings)} findings hold."
    for finding in result.findings:
        if finding.verdict is not Verdict.HOLDS:
            yield f"  {str(finding.verdict).upper()}: {finding.item}: {finding.why}"
            if finding.measure_next:
                yield f"    {finding.measure_next}"
    for remark in result.remarks:
        yield f"  remark: {remark}"
    if result.not_checked:
        yield f"NOT CHECKED: {', '.join(result.not_checked)}"
    yield from measure_lines(result.measure_next)
