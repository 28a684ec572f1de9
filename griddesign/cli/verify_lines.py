"""What ``griddesign verify`` says on a terminal: a table of all points, then each that does not hold, in full."""

from collections.abc import Iterator

from griddesign.cli.saying import table
from griddesign.judge.finding import Verdict
from griddesign.papers.sheets.shown import NO_BREAK, Shown
from griddesign.papers.sheets.verify import number_words
from griddesign.verify.inspection import Inspected
from griddesign.verify.records import Verified, VerifyFinding

MOST_ROWS = 60


def verify_lines(result: Verified | Inspected, title: str) -> Iterator[str]:
    """Everything found, ranked."""
    job, findings = result.job, result.findings
    yield f"{title}, against {job.title}, revision {job.revision}, fingerprint {result.fingerprint}"
    if job.example:
        yield "Example figures, not for manufacture."
    yield ""
    shown = Shown(job.paper.units)
    rows = [_row(finding, shown) for finding in findings[:MOST_ROWS]]
    yield from table(("point", "verdict", "claimed or read", "computed or wanted", "weight"), rows, left=2)
    if len(findings) > MOST_ROWS:
        yield f"and {len(findings) - MOST_ROWS} more, all in the report"
    yield ""
    yield from _told(findings)
    held = result.counted.get(Verdict.HOLDS, 0)
    yield f"{held} of {len(findings)} points hold."


def _row(finding: VerifyFinding, shown: Shown) -> tuple[str, ...]:
    word = str(finding.verdict)
    verdict = word if finding.verdict is Verdict.HOLDS else word.upper()
    numbers = [
        number_words(value, finding, shown).replace(NO_BREAK, " ") for value in (finding.claimed, finding.computed)
    ]
    return finding.item, verdict, *numbers, f"{finding.weight:.2f}"


def _told(findings: tuple[VerifyFinding, ...]) -> Iterator[str]:
    for finding in findings:
        if finding.verdict is not Verdict.HOLDS:
            yield f"{str(finding.verdict).upper()}: {finding.item}: {finding.why.replace(NO_BREAK, ' ')}"
            if finding.measure_next:
                yield f"    {finding.measure_next}"
