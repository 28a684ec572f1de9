"""A long run against every door by which something strange comes in: what it holds is read or refused, nothing else.

    nice python tests/property/roam_doors.py                    all doors, each its own number of inputs, fresh dice
    nice python tests/property/roam_doors.py dxf claim --inputs 500 --seed 7

Every input is a valid file with one to eight things changed in it: bytes flipped, cut, doubled; keys, lines, cells and
group codes left out, doubled, renamed; values put in that have broken programs before (``HOSTILE``). An input whose
outcome was not met before joins those that are changed further, so the run works its way in. A fault is: any error but
the project's own, a complaint without a hint or on more than one line, more than its door's seconds for one input, more
than ``MEMORY_BYTES`` for the whole run, a file outside the folder of the run. Each fault is printed once, its input
beside it as ``fault-*.bin`` in the current folder; the exit code is 1. Put the input into ``test_doors.py`` when it is
mended. The suite (``test_doors.py``) sends a few hundred inputs through the same doors.
"""

import argparse
import os
import resource
import sys
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from chart_doors import CHART_DOORS
from doors import DOORS, READ, Door, Fault, sent_through
from outline_doors import OUTLINE_DOORS

MEMORY_BYTES = 3 * 1024**3
MOST_OUTCOMES = 400
EVERY = {**DOORS, **CHART_DOORS, **OUTLINE_DOORS}


@dataclass
class Tally:
    """What a run has met."""

    outcomes: dict[str, int] = field(default_factory=dict)
    faults: dict[str, bytes] = field(default_factory=dict)
    slowest_s: float = 0.0
    read: int = 0


def roam(door: Door, inputs: int, dice: Random) -> Tally:
    """Many inputs; those with an outcome not met before are changed further."""
    given, tally = list(door.seeds()), Tally()
    seeds = list(given)
    for _ in range(inputs):
        raw = door.mangle(dice, dice.choice(given if dice.random() < 0.5 else seeds), seeds)
        begun = time.perf_counter()
        try:
            outcome = sent_through(door, raw)
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                raise
            tally.faults.setdefault(_where(error), raw)
            continue
        finally:
            tally.slowest_s = max(tally.slowest_s, time.perf_counter() - begun)
        new = outcome not in tally.outcomes and (outcome.startswith(READ) or not door.deep)
        if new and len(seeds) < MOST_OUTCOMES and len(raw) < 60_000:
            seeds.append(raw)
        tally.read += outcome.startswith(READ)
        tally.outcomes[outcome] = tally.outcomes.get(outcome, 0) + 1
    return tally


def _where(error: BaseException) -> str:
    """A fault's name: the same for the same place of the program."""
    own = [frame for frame in traceback.extract_tb(error.__traceback__) if "griddesign" in frame.filename]
    own = [frame for frame in own if "tests" not in frame.filename]
    place = f"{Path(own[-1].filename).name}:{own[-1].lineno}" if own else "?"
    return f"{type(error).__name__} at {place}: {str(error)[:200] if isinstance(error, Fault) else str(error)[:80]}"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0] if __doc__ else "")
    parser.add_argument("doors", nargs="*", metavar="DOOR", help=", ".join(EVERY))
    parser.add_argument("--inputs", type=int, help="of each door; else its own number")
    parser.add_argument("--seed", type=int, default=int.from_bytes(os.urandom(4)))
    words = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    found = 0
    for name in words.doors or EVERY:
        begun = time.process_time()
        inputs = words.inputs or EVERY[name].inputs
        tally = roam(EVERY[name], inputs, Random(f"{words.seed} {name}"))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        print(
            f"{name}: {inputs} inputs, seed {words.seed}, {tally.read} read, {len(tally.outcomes)} outcomes, "
            f"{len(tally.faults)} faults, slowest {tally.slowest_s:.2f} s, in all {time.process_time() - begun:.0f} s, "
            f"{peak} MB",
            flush=True,
        )
        for number, (fault, raw) in enumerate(tally.faults.items()):
            Path(f"fault-{name}-{number}.bin").write_bytes(raw)
            print(f"  {fault}", flush=True)
        found += len(tally.faults)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
