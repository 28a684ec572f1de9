"""How far the heat lets the plate ohms rise, section by section, for a given class of margin."""

from math import floor, inf

import numpy as np

from griddesign.choose.crossing import last_good
from griddesign.choose.network import Floats
from griddesign.choose.problem import MARGIN_STEP_K, CandidateKind, Choice
from griddesign.choose.space import Option


class Margins:
    """Answers of the caller's heat model, each asked once, and the plate ohms at which a margin is used up."""

    def __init__(self, choice: Choice, options: tuple[Option, ...]) -> None:
        self._choice = choice
        self._options = options
        self._asked: dict[tuple[int, int], dict[float, float]] = {}

    def margin_k(self, section: int, option: int, plate_ohm: float) -> float:
        """Margin of one section built one way, kelvin; ``inf`` where no heat is known, never above what is enough."""
        answers = self._asked.setdefault((section, option), {})
        if plate_ohm not in answers:
            way = self._options[option]
            name, kind = self._choice.section_order[section], self._choice.kinds[way.kind].name
            answer = self._choice.margin(name, kind, way.in_parallel, plate_ohm)
            answers[plate_ohm] = inf if answer is None else float(answer)
        return min(answers[plate_ohm], self._choice.enough_margin_k)

    def margin_class(self, margin_k: float) -> float:
        """Whole steps of 10 K in a margin; ``inf`` where there is no limit."""
        return margin_k if margin_k == inf else float(floor(margin_k / MARGIN_STEP_K))

    def caps(self, wanted_class: float | None) -> Floats:
        """Highest plate ohms by section and option that keep the class; ``-inf`` where none does. None: no limit."""
        shape = (len(self._choice.section_order), len(self._options))
        caps = np.full(shape, inf)
        if wanted_class is None:
            return caps
        for section in range(shape[0]):
            for option in range(shape[1]):
                caps[section, option] = self._cap(section, option, wanted_class * MARGIN_STEP_K)
        return caps

    def best_class(self) -> float:
        """A class no design can pass: each section built its coolest way, whatever that does to the others.

        Where the heat of that way is not known, one class above all that is known.
        """
        ways = range(len(self._options))
        coolest = [
            max(self.margin_k(section, option, self._kind(option).low_ohm) for option in ways)
            for section in range(len(self._choice.section_order))
        ]
        known = [margin for answers in self._asked.values() for margin in answers.values() if margin < inf]
        unknown = self.margin_class(max(known, default=0.0)) + 1.0
        return min(self.margin_class(min(coolest)), unknown)

    def known(self) -> bool:
        """Whether the heat of any section is known at all."""
        return any(
            self.margin_k(section, option, self._kind(option).low_ohm) < inf
            for section in range(len(self._choice.section_order))
            for option in range(len(self._options))
        )

    def _kind(self, option: int) -> CandidateKind:
        return self._choice.kinds[self._options[option].kind]

    def _cap(self, section: int, option: int, margin_k: float) -> float:
        kind = self._kind(option)
        if self.margin_k(section, option, kind.low_ohm) < margin_k:
            return -inf
        if self.margin_k(section, option, kind.high_ohm) >= margin_k:
            return inf
        return self._crossing(section, option, margin_k)

    def _crossing(self, section: int, option: int, margin_k: float) -> float:
        """Highest plate ohms known to keep ``margin_k``, sought from the nearest answers already had."""

        def spare_k(plate_ohm: float) -> float:
            return self.margin_k(section, option, plate_ohm) - margin_k

        answered = tuple(self._asked[section, option])
        cool = max(ohm for ohm in answered if spare_k(ohm) >= 0.0)
        hot = min(ohm for ohm in answered if spare_k(ohm) < 0.0)
        return last_good(spare_k, cool, hot)
