"""How sure it is that taps and exchanges are the best there are, in the same words everywhere."""

from math import ceil, floor, log10

from griddesign.retaps.records import Answer


def proof_words(answer: Answer) -> str:
    """``proved best``, or how much better the best may be; of taps alone or with exchanges, as they were searched."""
    if answer.proved:
        return "proved best"
    gap = answer.reached - answer.bound
    if gap <= 0.0:
        return "best found, not proved"
    return f"best found, at most {_upwards(100.0 * gap)} % better possible"


def exchange_words(answer: Answer) -> str:
    """How many exchanges there are and what each was held to; empty without any."""
    count = len(answer.swaps) + len(answer.spares)
    if not count:
        return ""
    each = f"{100.0 * answer.exchange_cost / count:.2g} %"
    return f"with {'1 exchange' if count == 1 else f'{count} exchanges'} of plates, each worth {each} or more"


def _upwards(value: float) -> str:
    """Two digits, rounded up: what is said to be the most must not be less than it."""
    places = 1 - floor(log10(value))
    raised = ceil(value * 10.0**places - 1e-9) / 10.0**places
    return f"{raised:.{max(1 - floor(log10(raised)), 0)}f}"
