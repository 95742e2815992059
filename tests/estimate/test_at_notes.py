"""Notes gauged under their strings, sinks measured, and the plate's rise, in the one estimate.

Kinds of expected numbers: planted by another road (large deflection on other cells, `planted.py`, the draw fixed
beforehand), closed forms by hand.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from planted import Truth, stiffened

from bellywork.balance.bearing_table import bearing
from bellywork.board import Board, Climate, MeasuredSink, Push, Reading, State
from bellywork.board.state import nets_read
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.heights import height_error_deg
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.observed import Observed, observed_of
from bellywork.estimate.pairs import Pair, PairKind
from bellywork.estimate.pairs_at_notes import PLATE_HERE_MM, SINK_DAYS, USUAL_GAUGE_DEG, USUAL_HEIGHT_MM
from bellywork.estimate.words import learned_words, softness
from bellywork.files.read import read_board
from bellywork.geometry.string_line import bearing as turned
from bellywork.instrument import prepared
from bellywork.seasons.spruce import settled_share

SAMPLE = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
ZERO_DEG, PLATE_MM = 0.12, 0.35  # planted: the gauge tells too much, the plate stands higher under its strings
CELL_MM = 40.0


@cache
def board() -> Board:
    """The sample with nothing read of it, its heights bare."""
    return replace(read_board(SAMPLE).board, readings=())


def home() -> Climate:
    """The day of the description, in its air: nothing settles, nothing swells."""
    return replace(board().climate, rh_percent=None)


def gauged(
    note: int, net_deg: float, state: State = State.STRUNG, climate: Climate | None = None
) -> tuple[Reading, ...]:
    """A front and a rear, unequal, that make up this net bearing."""
    here = home() if climate is None else climate
    return tuple(
        Reading(kind=kind, value=value, state=state, climate=here, note=note)
        for kind, value in (("front_deg", 0.3 * net_deg), ("rear_deg", 0.7 * net_deg))
    )


def plate(place: str, bare: float, strung: float) -> tuple[Reading, ...]:
    return tuple(
        Reading(kind="plate_height", value=value, state=state, climate=home(), place=place, uncertainty=0.1)
        for value, state in ((bare, State.BARE), (strung, State.STRUNG))
    )


def seen(*readings: Reading, **changes: object) -> Observed:
    return observed_of(prepared(replace(board(), readings=readings, **changes)))


def pairs(*readings: Reading, **changes: object) -> dict[str, Pair]:
    back = seen(*readings, **changes).came_back
    return {} if back is None else {each.name: each for each in back.pairs}


def per_mm(note: int) -> float:
    line = board().needed_strings("test")
    return float(turned(line).degrees_per_mm[line.note.tolist().index(note)])


def bare_net(note: int) -> float:
    line = board().needed_strings("test")
    return float(turned(line).net_deg[line.note.tolist().index(note)])


def test_a_front_and_the_rear_of_the_same_day_make_a_net() -> None:
    monday, tuesday = Climate(date="2026-05-04"), Climate(date="2026-05-05")
    every = (*gauged(52, 1.0, climate=monday), *gauged(52, 2.0, climate=tuesday), *gauged(58, 3.0)[:1])
    found = nets_read(every)
    assert [(each.note, each.climate.date) for each in found] == [(52, "2026-05-04"), (52, "2026-05-05")]
    assert [each.net_deg for each in found] == pytest.approx([1.0, 2.0])


def test_a_gauge_under_strings_against_the_bare_heights() -> None:
    """By hand: what the net lost over what a millimetre costs; the gauge's zero takes from it, the plate adds."""
    pair = pairs(*gauged(52, 0.5))["bearing at note 52"]
    line = board().needed_strings("test")
    wide = np.hypot(USUAL_GAUGE_DEG, height_error_deg(line)[line.note.tolist().index(52)]) / SIGMAS / per_mm(52)
    assert pair.kind is PairKind.BEARING
    assert pair.read_mm == pytest.approx((bare_net(52) - 0.5) / per_mm(52))
    assert pair.scatter_mm == pytest.approx(np.hypot(wide, PLATE_HERE_MM))
    assert (pair.plate, pair.zero) == (1.0, pytest.approx(-1.0 / per_mm(52)))
    assert pair.damp_mm == 0.0
    assert pair.day == (State.STRUNG, None, 0.0)


def test_what_a_gauge_would_read_is_what_the_net_loses_over_what_a_millimetre_costs() -> None:
    """Of the two lines themselves. The bridge tips as it sinks: by its mean it lost another amount."""
    there = seen(*gauged(52, 0.5), *gauged(70, 0.5))
    bare, strung = there.came_back.model.lines()
    lost = (turned(bare).net_deg - turned(strung).net_deg) / turned(bare).degrees_per_mm
    at = [bare.note.tolist().index(note) for note in (52, 70)]
    assert there.predicted_mm(np.zeros(len(there.unknowns))) == pytest.approx(lost[at], abs=1e-9)
    assert np.all(np.abs(lost - (bare.top_mm - strung.top_mm))[at] > 1e-4)


def test_a_gauge_in_both_states_needs_neither_its_zero_nor_the_heights() -> None:
    pair = pairs(*gauged(52, 0.5), *gauged(52, 1.9, State.BARE))["bearing at note 52"]
    assert pair.read_mm == pytest.approx(1.4 / per_mm(52))
    assert pair.zero == 0.0
    both = USUAL_GAUGE_DEG * 2.0**0.5 / SIGMAS / per_mm(52)
    assert pair.scatter_mm == pytest.approx(np.hypot(both, PLATE_HERE_MM))


def test_damp_under_the_strings_hides_part_of_what_was_lost() -> None:
    """In the damp the bridge stands higher against a plate that stays: the net read there is the larger."""
    damp = pairs(*gauged(52, 0.5, climate=replace(home(), rh_percent=60.0)))["bearing at note 52"]
    assert damp.damp_mm < -0.5
    assert damp.scatter_mm > pairs(*gauged(52, 0.5))["bearing at note 52"].scatter_mm


def test_the_plate_is_asked_only_by_a_gauge() -> None:
    """Strung less bare: it fell by so much when its strings came off."""
    stood = plate("nose", 79.5, 79.9)
    assert pairs(*stood) == {}
    found = pairs(*stood, *gauged(52, 0.5))["plate at nose"]
    assert found.read_mm == pytest.approx(0.4)
    assert found.scatter_mm == pytest.approx(np.hypot(0.1 * 2.0**0.5 / SIGMAS, PLATE_HERE_MM))


def test_a_sink_of_sink_csv_is_a_reading() -> None:
    sinks = (MeasuredSink(note=52, strung_mm=2.0, preloaded_mm=1.0), MeasuredSink(note=3, strung_mm=1.0))
    found = pairs(sinks=sinks)
    assert list(found) == ["sink at note 52"]  # nothing is told of what presses on the preloaded board; no note 3
    pair = found["sink at note 52"]
    assert pair.read_mm == 2.0
    assert pair.scatter_mm == pytest.approx(np.hypot(USUAL_HEIGHT_MM * 2.0**0.5, 0.1) / SIGMAS)
    assert pair.day == (State.STRUNG, None, settled_share(SINK_DAYS))
    middle = board().needed_body("test").outline.points_mm.mean(axis=0)
    told = pairs(sinks=sinks, preload=(Push(place_mm=middle, force_N=100.0),))
    assert len(told) == 1  # two of one name
    both = seen(sinks=sinks, preload=(Push(place_mm=middle, force_N=100.0),)).came_back
    assert [each.day[0] for each in both.pairs] == [State.PRELOADED, State.STRUNG]


@pytest.mark.parametrize(
    ("changes", "learns"),
    [
        ({"readings": gauged(52, 0.5)}, True),
        ({"readings": gauged(52, 0.5)[:1]}, False),  # a front alone
        ({"readings": gauged(52, 0.5), "measured_in": State.STRUNG}, False),  # against what?
        ({"readings": (*gauged(52, 0.5), *gauged(52, 1.5, State.BARE)), "measured_in": State.STRUNG}, True),
        ({"readings": gauged(52, 0.5, State.BARE)}, False),
        ({"readings": gauged(52, 0.5, State.PART)}, False),  # which notes were on is not told
        ({"sinks": (MeasuredSink(note=52, strung_mm=2.0),)}, True),
        ({"sinks": (MeasuredSink(note=52, preloaded_mm=2.0),)}, False),
    ],
)
def test_what_can_be_learned_from(changes: dict[str, object], learns: bool) -> None:
    there = replace(board(), **changes)
    assert there.can_be_learned is learns
    assert (observed_of(prepared(there)).came_back is not None) is learns


@cache
def grand() -> Board:
    """A sample whose bridge sinks by two to four millimetres, its heights bare; nothing was read of it."""
    return replace(read_board(SAMPLE.parent / "six_foot_grand").board, readings=())


@cache
def truth() -> Truth:
    """Ribs and panel a quarter softer than described."""
    described = prepared(grand(), cell_mm=CELL_MM)
    body = described.board.needed_body("test")
    ribs = tuple(replace(rib, wood=stiffened(rib.wood, 0.75, 0.75, 0.75)) for rib in body.ribs)
    panel = replace(body.panel, wood=stiffened(body.panel.wood, 0.75, 0.75, 0.75))
    return Truth(board=described.board, body=replace(body, ribs=ribs, panel=panel), cell_mm=44.0)


@cache
def planted() -> tuple[Reading, ...]:
    """What a gauge with a zero of its own reads of the true board, bare and strung, where its plate rises."""
    line, strung, random = grand().needed_strings("test"), truth().strung(), np.random.default_rng(20261201)
    home, out = replace(grand().climate, rh_percent=None), []
    for note in line.note[line.measured].tolist():
        at = strung.note.tolist().index(note)
        before = turned(truth().board.needed_strings("test")).net_deg[at]
        after = turned(strung).net_deg[at] - PLATE_MM * turned(strung).degrees_per_mm[at]
        for state, net in ((State.BARE, before), (State.STRUNG, after)):
            read = net + ZERO_DEG + random.normal(0.0, USUAL_GAUGE_DEG / SIGMAS)
            out.extend(gauged(note, float(np.round(read, 2)), state, climate=home))
    return tuple(out)


@cache
def learned(*, with_plate: bool = True, wrong: int = 0) -> Estimate:
    readings = [
        replace(each, value=each.value + 1.0) if (each.note, each.state) == (wrong, State.STRUNG) else each
        for each in planted()
    ]
    read = plate("nose", 80.0, 80.0 + PLATE_MM) if with_plate else ()
    return estimated(prepared(replace(grand(), readings=(*readings, *read)), cell_mm=CELL_MM))


def of(found: Estimate, key: str) -> tuple[float, float]:
    k = [unknown.key for unknown in found.unknowns].index(key)
    return float(found.value[k]), float(SIGMAS * np.sqrt(found.covariance[k, k]))


@pytest.mark.slow
def test_gauged_bearings_teach_what_was_planted() -> None:
    """Little: a board a third softer than described (two standard deviations of most parts at once) loses 0.13° more
    only, as its strings then press less, and the plate may have moved as much. What is told goes the right way.
    """
    found, net = learned(), turned(truth().strung()).net_deg
    factor, wide = softness(found)
    off, before = (np.abs(bearing(each, state=State.STRUNG).net_deg - net) for each in (found.ready, found.described))
    assert np.sqrt(np.mean(off**2)) < 0.75 * np.sqrt(np.mean(before**2))
    assert 1.04 < factor < 1.33
    assert wide < 0.95 * softness(estimated(prepared(grand(), cell_mm=CELL_MM)))[1]
    value, width = of(found, "plate_mm")
    assert 0.0 < value - width < PLATE_MM < value + width
    assert "gauged bearings" in learned_words(found)


@pytest.mark.slow
def test_an_unread_plate_leaves_more_doubt() -> None:
    assert softness(learned(with_plate=False))[1] > softness(learned())[1]
    assert of(learned(with_plate=False), "plate_mm")[1] > of(learned(), "plate_mm")[1]


@pytest.mark.slow
def test_a_misread_gauge_is_named() -> None:
    note = planted()[-2].note
    assert learned(wrong=note).learned.misread == (f"bearing at note {note}",)
    assert learned().learned.misread == ()


def test_a_gauge_at_a_note_of_unknown_heights_is_said_to_teach_nothing() -> None:
    line = board().needed_strings("test")
    between = replace(board(), readings=(*gauged(52, 0.5), *gauged(53, 0.5), *gauged(58, 0.4)))
    found = estimated(prepared(between))
    assert 53 not in line.note
    assert [each for each in found.learned.observed.names] == ["bearing at note 52", "bearing at note 58"]
    assert [said for said in found.ready.assumptions if "at note 53 teaches nothing" in said]
    assert not [said for said in learned_of_52().ready.assumptions if "teaches nothing" in said]


def learned_of_52() -> Estimate:
    return estimated(prepared(replace(board(), readings=gauged(52, 0.5))))


@pytest.mark.slow
def test_slopes_are_the_differences_of_what_would_be_read() -> None:
    readings = (*gauged(52, 0.5), *gauged(58, 0.4), *gauged(58, 1.5, State.BARE), *plate("nose", 80.0, 80.3))
    there = seen(*readings, sinks=(MeasuredSink(note=52, strung_mm=2.0),))
    keys = [unknown.key for unknown in there.unknowns]
    for key in ("ribs", "days", "plate_mm", "gauge_deg"):
        k, step = keys.index(key), 0.1
        values = step * np.eye(len(keys))[k]
        slope = (there.predicted_mm(values) - there.predicted_mm(-values)) / (2.0 * step)
        assert there.slopes_mm(np.zeros(len(keys)))[:, k] == pytest.approx(slope, rel=0.06, abs=4e-3), key
