"""Any grid that can be laid out is stacked so that the circuit walked through its parts is the one meant."""

from hypothesis import given, settings
from hypothesis import strategies as st

from griddesign.grid.layout import lay_out
from griddesign.grid.records import BoxPlan, SectionBuild
from griddesign.grid.stack.build import stacks
from griddesign.grid.stack.lengths import between_frames_m, counted
from griddesign.grid.stack.records import Hardware, KindInStack
from griddesign.grid.stack.walk import faults, walk
from griddesign.grid.taps import taps

KINDS = {"P": KindInStack(0.005, 0.005, True), "Q": KindInStack(0.004, 0.009)}
HARDWARE = Hardware(0.002, 0.001, 0.004, 0.012, 0.008, 0.010)


@st.composite
def grids(draw: st.DrawFn) -> tuple[tuple[SectionBuild, ...], BoxPlan, tuple[str, ...]]:
    sides = draw(st.sampled_from([1, 2]))
    many = draw(st.integers(1, 5))
    sections = []
    for number in range(many):
        series = draw(st.integers(1, 9)) * (2 if sides == 1 else 1)
        kind = draw(st.sampled_from(["P", "Q"]))
        sections.append(SectionBuild("ABCDE"[number], kind, series, draw(st.integers(1, 3)), 0.1, 0.1))
    breaks = draw(st.sets(st.sampled_from("ABCDE"[: many - 1]))) if many > 1 else set()
    return tuple(sections), BoxPlan(200, draw(st.integers(6, 24)), 0.0127, sides), tuple(sorted(breaks))


@settings(max_examples=60)
@given(grids())
def test_every_grid_is_stacked_as_meant(grid: tuple[tuple[SectionBuild, ...], BoxPlan, tuple[str, ...]]) -> None:
    sections, plan, breaks = grid
    layout = lay_out(sections, plan)
    found = taps(layout, breaks)
    boxes = stacks(layout, found, KINDS, HARDWARE)
    assert faults(boxes, layout, found) == ()
    assert set(walk(boxes).eyes) == {place.plate for place in layout.places}
    for stack in boxes:
        whole_m = between_frames_m(stack)
        for rod in stack.rods:
            assert whole_m is not None
            assert abs(sum(part.length_m or 0.0 for part in rod.parts) - whole_m) < 1e-12
    eyes = sum(len(rod.eyes) for stack in boxes for rod in stack.rods)
    parts = sum(len(rod.parts) for stack in boxes for rod in stack.rods)
    assert sum(one.count for one in counted(boxes)) == parts - eyes
