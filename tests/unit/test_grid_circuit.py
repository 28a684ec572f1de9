"""Ohms and shares of circuits against exact fractions, finite differences and Rayleigh's monotonicity."""

from fractions import Fraction

import pytest

from griddesign.errors import CircuitError
from griddesign.grid.circuit import is_plain_series, names, ohms, shares
from griddesign.grid.records import Branches, Run

NESTED = Run(("A", Branches((Run(("B",)), Run(("C", "D"))))))
DEEP = Run(("A", Branches((Run(("B", Branches((Run(("C",)), Run(("D", "E")))))), Run(("F",)), Run(("G", "A"))))))
OHM = {"A": 1.63, "B": 1.36, "C": 0.29, "D": 0.58, "E": 0.27, "F": 2.5, "G": 0.75}


def exact(run: Run, section: dict[str, Fraction]) -> Fraction:
    """The same circuit in whole fractions, written apart from the code under test."""
    total = Fraction(0)
    for part in run.parts:
        if isinstance(part, str):
            total += section[part]
        else:
            total += 1 / sum(1 / exact(branch, section) for branch in part.runs)
    return total


def test_nested_example_is_a_plus_b_beside_c_plus_d() -> None:
    section = {"A": 2.0, "B": 3.0, "C": 1.0, "D": 5.0}
    assert ohms(NESTED, section) == pytest.approx(2.0 + 1.0 / (1.0 / 3.0 + 1.0 / 6.0), rel=1e-15)


@pytest.mark.parametrize("run", [NESTED, DEEP, Run(("A", "B", "A"))])
def test_ohms_equal_exact_fractions(run: Run) -> None:
    section = {name: Fraction(value).limit_denominator(1000) for name, value in OHM.items()}
    expected = float(exact(run, section))
    assert ohms(run, {name: float(value) for name, value in section.items()}) == pytest.approx(expected, rel=4e-16)


@pytest.mark.parametrize("run", [NESTED, DEEP])
def test_square_of_a_share_is_the_slope_of_the_ohms(run: Run) -> None:
    """dR/dr = (i/I)^2 for a section that stands once in the circuit (Tellegen), by central differences."""
    found = shares(run, OHM)
    for name in names(run):
        if name == "A" and run is DEEP:
            continue
        step = 1e-5
        up, down = ({**OHM, name: OHM[name] + sign * step} for sign in (1.0, -1.0))
        slope = (ohms(run, up) - ohms(run, down)) / (2.0 * step)
        assert slope == pytest.approx(found[name] ** 2, rel=1e-8)


def test_heat_of_all_sections_is_the_heat_of_the_run() -> None:
    """Sum of share^2 r over the sections is the ohms of the run: I^2 R has nowhere else to go."""
    found = shares(NESTED, OHM)
    assert sum(share**2 * OHM[name] for name, share in found.items()) == pytest.approx(ohms(NESTED, OHM), rel=1e-15)


def test_shares_divide_as_conductances() -> None:
    found = shares(NESTED, {"A": 1.0, "B": 3.0, "C": 0.4, "D": 0.6})
    assert found == pytest.approx({"A": 1.0, "B": 0.25, "C": 0.75, "D": 0.75}, rel=1e-15)


@pytest.mark.parametrize("run", [NESTED, DEEP])
@pytest.mark.parametrize("name", ["A", "B", "C", "D"])
def test_more_ohms_anywhere_never_make_less(run: Run, name: str) -> None:
    """Rayleigh: no section can grow and the circuit shrink."""
    sizes = [ohms(run, {**OHM, name: factor * OHM[name]}) for factor in (0.0, 1e-6, 0.1, 1.0, 3.0, 1e6)]
    assert sizes == sorted(sizes)


def test_a_branch_of_zero_ohms_takes_all_the_current() -> None:
    section = {"A": 1.0, "B": 0.0, "C": 2.0, "D": 3.0}
    assert ohms(NESTED, section) == 1.0
    assert shares(NESTED, section) == {"A": 1.0, "B": 1.0, "C": 0.0, "D": 0.0}


def test_two_branches_of_zero_ohms_share_evenly() -> None:
    both = Run((Branches((Run(("A",)), Run(("B",)), Run(("C",)))),))
    assert shares(both, {"A": 0.0, "B": 0.0, "C": 1.0}) == {"A": 0.5, "B": 0.5, "C": 0.0}


def test_an_empty_run_is_a_plain_lead() -> None:
    assert ohms(Run(), {}) == 0.0
    assert shares(Run(), {}) == {}
    assert names(Run()) == ()


def test_names_in_the_order_met_each_once() -> None:
    assert names(DEEP) == ("A", "B", "C", "D", "E", "F", "G")
    assert is_plain_series(Run(("A", "B")))
    assert not is_plain_series(NESTED)


def test_a_section_without_ohms_is_named() -> None:
    with pytest.raises(CircuitError, match="section X has no ohms") as caught:
        ohms(Run(("X",)), {"A": 1.0})
    assert "A" in caught.value.hint
