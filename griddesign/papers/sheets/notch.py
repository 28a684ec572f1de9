"""The notch sheet: the circuit of every notch drawn, the ohms wanted and got, and the currents that follow."""

from collections.abc import Iterator

from griddesign.judge.records import NotchDone, Result
from griddesign.papers.blocks import Block, Cell, Column, Heading, Paragraph, Sheet, Table, TableCell
from griddesign.papers.circuit_drawing import circuit_layers, circuit_picture
from griddesign.papers.cold import cold
from griddesign.papers.picture_dxf import Layered
from griddesign.papers.sheets.common import ampere, cautions, ohm, percent
from griddesign.papers.sheets.shown import Shown
from griddesign.papers.sheets.unlike import field_words, network_words, transition_words
from griddesign.traction.problem import grouped
from griddesign.traction.records import Ladder, Notch, NotchWanted

_CIRCUIT_MM = 118.0


def notch_sheet(result: Result) -> Sheet | None:
    """The sheet for whoever wires or checks the controller; None where the job has no notches."""
    if result.worked is None:
        return None
    order = "Check every circuit against the controller, notch by notch, dead and disconnected."
    return Sheet("Notch sheet", order, "bench", tuple(_blocks(result)))


def _blocks(result: Result) -> Iterator[Block]:
    yield cautions(0, 4)
    yield Heading("Circuits")
    yield Paragraph("Thick and solid: in circuit. Thin, dashed and marked “out”: not in circuit.", size_pt=9.0)
    yield _circuits(result)
    yield from transition_words(result.job)
    yield Heading(f"Ohms of the grid at {cold(result.job.paper.units)}")
    yield _ohms(result)
    if any(notch.network is not None for notch in result.job.notches):
        yield _networks(result)
    if result.worked and isinstance(result.worked.wanted, Ladder):
        yield Heading("Currents and speeds")
        yield _currents(result, result.worked.wanted)
        yield Paragraph(_CURRENT_NOTE, size_pt=9.0)


def _networks(result: Result) -> Paragraph:
    from griddesign.judge.cut_out import networks_in_words

    networks = networks_in_words(result.job.notches).capitalize()
    return Paragraph(f"{networks}: no ohms are sought there; the start as run tells their currents.", size_pt=9.0)


_CURRENT_NOTE = (
    "Peak: worst of grid and motors cold, and of dropped sections hot at the settled duty. Frozen flux: what the peak "
    "could be if the field had not grown yet when the notch is made; the true peak lies between. A passed notch is "
    "reached below the valley current. Resistance notches are not for running."
)


def circuits_of(result: Result) -> tuple[Layered, ...]:
    """The circuit of every notch as it is drawn on the sheet, on layers: in circuit, out of circuit, words. Networks
    are told in words there and not drawn."""
    if result.worked is None:
        return ()
    job = result.job
    return tuple(
        circuit_layers(notch.name, circuit_picture(notch, job.section_order, _CIRCUIT_MM))
        for notch in grouped(job.notches)
    )


def _circuits(result: Result) -> Table:
    job = result.job
    rows: list[tuple[TableCell, ...]] = []
    for notch in job.notches:
        if notch.network is not None:
            rows.append((Cell(notch.name), "network", network_words(notch.network)))
            continue
        picture = circuit_picture(notch, job.section_order, _CIRCUIT_MM)
        rows.append((Cell(notch.name), f"{grouping_words(notch)}{field_words(notch)}", picture))
    return Table((Column("Notch"), Column("Motors"), Column("Circuit", stretch=True)), tuple(rows))


def grouping_words(notch: Notch) -> str:
    """The motors' grouping: ``2 in series``, ``2 in parallel``, ``2 in series, 2 such strings in parallel``."""
    series, parallel = notch.grouping.series, notch.grouping.parallel
    if parallel == 1:
        return "1 motor" if series == 1 else f"{series} in series"
    return f"{parallel} in parallel" if series == 1 else f"{series} in series, {parallel} such strings in parallel"


def _ohms(result: Result) -> Table:
    assert result.worked is not None
    done = {notch.name: notch for notch in result.notches}
    band = f"±{100 * result.job.limits.notch_tolerance:.3g} %"
    titles = ("Notch", "Sections in circuit", "Wanted", "Got", "Ohms off", "Current off", f"Within {band}")
    rows = tuple(
        (
            notch.name,
            " ".join(notch.sections) or "none",
            ohm(notch.wanted_ohm),
            *_got(done.get(notch.name), result.job.limits.notch_tolerance),
        )
        for notch in result.worked.wanted.notches
    )
    right = ("Wanted", "Got", "Ohms off", "Current off")
    return Table(tuple(Column(title, "right" if title in right else "left") for title in titles), rows, 10.0)


def _got(notch: NotchDone | None, tolerance: float) -> tuple[TableCell, ...]:
    if notch is None:
        return "", "", "", ""
    off = notch.cold_ohm / notch.wanted_ohm - 1.0 if notch.wanted_ohm else None
    within: TableCell = "yes" if abs(notch.error) <= tolerance * (1 + 1e-9) else Cell("NO")
    return ohm(notch.cold_ohm), percent(off), percent(notch.error), within


def _currents(result: Result, ladder: Ladder) -> Table:
    done = {notch.name: notch for notch in result.notches}
    speed_unit, per_m_s = Shown(result.job.paper.units).axis("speed")
    titles = (
        "Notch",
        "Peak, A per motor",
        "frozen flux",
        "as built",
        "Valley, A per motor",
        "Peak, A from line",
        f"Leaves at, {speed_unit}",
    )
    rows = tuple(
        (
            f"{notch.name} (passed)" if notch.passed else notch.name,
            ampere(notch.peak_a),
            f"≤ {ampere(notch.frozen_flux_a)}",
            ampere(done[notch.name].peak_a) if notch.name in done else "",
            ampere(notch.valley_a),
            ampere(notch.line_peak_a),
            _speed(notch, per_m_s),
        )
        for notch in ladder.notches
    )
    return Table(tuple(Column(title, "left" if title == "Notch" else "right") for title in titles), rows, 9.5)


def _speed(notch: NotchWanted, per_m_s: float) -> str:
    return f"{notch.speed_kmh / 3.6 * per_m_s:.1f}" if notch.speed_kmh < 1e4 else "no end"
