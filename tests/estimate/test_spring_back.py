"""What came back when the strings came off, in the one estimate. Kinds of expected numbers: closed forms, the changed
board assembled anew, Monte Carlo with the draw fixed beforehand, and data planted by another road (tests/samples).
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import predicted_sink
from bellywork.board import Board, Climate, Reading, State
from bellywork.estimate.bands import Boards, bearing_bands
from bellywork.estimate.estimate import Estimate, estimated
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.loaded import LoadedBoard, bow_mm
from bellywork.estimate.observed import Observed, observed_of
from bellywork.estimate.pairs import AIRED_SHARE
from bellywork.estimate.pairs_at_ribs import _rose
from bellywork.estimate.settled import USUAL_DAYS, days_between
from bellywork.estimate.threads import RibThread, rib_threads
from bellywork.estimate.unknowns import changed
from bellywork.estimate.words import learned_words, softness
from bellywork.files.read import read_board
from bellywork.geometry.string_line import pin_forces_N
from bellywork.instrument import prepared
from bellywork.seasons.spruce import settled_share
from bellywork.survey.loss import surveyed

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


@cache
def lopsided() -> Board:
    """Threads in two weathers, and one bridge height more: strung in the dry of the description, bare in the damp."""
    board = read_board(SAMPLES / "lopsided_board").board
    return replace(
        board,
        readings=(
            *board.readings,
            height(52, State.STRUNG, 40.0, "2026-08-03", 42.0),
            height(52, State.BARE, 42.5, "2026-08-10", 60.0),
        ),
    )


def height(note: int, state: State, value: float, date: str, rh: float | None) -> Reading:
    climate = Climate(date=date, rh_percent=rh)
    return Reading(kind="bridge_height", note=note, state=state, value=value, uncertainty=0.1, climate=climate)


@cache
def observed() -> Observed:
    return observed_of(prepared(lopsided()))


def other(**moved: float) -> np.ndarray:
    """Values of the unknowns, by key; the rest as described."""
    return np.array([moved.get(unknown.key, 0.0) for unknown in observed().unknowns])


@pytest.mark.parametrize(
    ("loaded", "bare", "days"),
    [
        ("2026-03-02", "2026-03-09", 7.0),  # let down, and read bare a week later
        ("2014-03-02", "2026-03-09", 7.0),  # it still had its strings on a week before
        ("2026-07-27", "2026-07-20", 7.0),  # strung in the week after it was read bare
        ("2026-07-27", "2026-05-04", 7.0),  # the strings went on after the last bare reading of all, in July
        ("2026-07-20", "2026-07-20", 0.0),
        ("", "2026-07-20", USUAL_DAYS),
        ("2026-07-27", "", USUAL_DAYS),
    ],
)
def test_days_for_which_the_wood_settled(loaded: str, bare: str, days: float) -> None:
    every = {
        "loaded_days": ("2014-03-02", "2026-03-02", "", "2026-07-20", "2026-07-27"),
        "bare_days": ("2026-03-09", "2026-05-04", "", "2026-07-20", "2026-08-30"),
    }
    made = {name: [Climate(date=each) for each in dates] for name, dates in every.items()}
    assert days_between(Climate(date=loaded), Climate(date=bare), **made) == days


def test_a_state_of_which_nothing_is_told_teaches_nothing_and_stops_nothing() -> None:
    """Threads read under wedges that no preload.csv tells, on the board whose strung threads teach."""
    wedged = tuple(
        replace(each, state=State.PRELOADED, climate=replace(each.climate, date="2026-07-22"))
        for each in lopsided().readings
        if each.state is State.STRUNG
    )
    board = replace(lopsided(), readings=(*lopsided().readings, *wedged))
    seen = observed_of(prepared(board))
    assert seen.came_back.names == observed().came_back.names
    assert seen.came_back.read_mm == pytest.approx(observed().came_back.read_mm)
    bare_only = replace(board, readings=tuple(each for each in board.readings if each.state is not State.STRUNG))
    assert not bare_only.can_be_learned


def test_a_height_read_once_and_its_partner_twice_counts_once() -> None:
    """The mean of two differences that share a reading of scatter s: s² + s²/2, by the closed form."""
    again = height(52, State.BARE, 42.5, "2026-08-10", 60.0)
    back = observed_of(prepared(replace(lopsided(), readings=(*lopsided().readings, again)))).came_back
    both = back.scatter_mm[[name == "bridge at note 52" for name in back.names]]
    assert len(both) == 2
    assert 1.0 / np.sum(both**-2.0) == pytest.approx((0.1 / SIGMAS) ** 2 * 1.5)


def test_what_is_read_under_a_load_and_bare_is_found_each_place_once() -> None:
    back = observed().came_back
    assert back is not None
    assert back.names == ("rib a", "rib a", "rib b", "rib b", "bridge at note 52")
    week = settled_share(7.0)
    assert [pair.day for pair in back.pairs] == [*[(State.STRUNG, 60.0, week)] * 4, (State.STRUNG, 42.0, week)]
    assert back.read_mm[-1] == pytest.approx(2.5)
    assert back.scatter_mm[-1] == pytest.approx(0.1 * 2.0**0.5 / SIGMAS)  # strung in the description's own air
    assert np.all(back.scatter_mm[:-1] > 0.25 / SIGMAS)
    assert back.damp_mm[1] == back.damp_mm[3] == 0.0  # both days at 60 %
    assert back.damp_mm[0] < -1.0  # bare in the dry, strung in the damp: it came back by less
    assert back.damp_mm[-1] > 0.5  # the other way round


def test_the_load_sinks_a_settled_board_as_one_that_is_softer_by_as_much() -> None:
    """The balance written out: the bridge top is lower by the answer to the strings' own forces there, 1 + s times as
    large as the elastic one. (A response is softened when the force is made larger in its place.)"""
    model, s = observed().came_back.model, 0.4
    sunk = model.on([(State.STRUNG, None, s)])[(State.STRUNG, None, s)]
    bare, _ = model.lines()
    now = predicted_sink(model.ready, panel_mm=model.points_mm).softened(1.0 + s).moved(bare, State.STRUNG)
    force = np.concatenate(pin_forces_N(now, model.ready.pull_N))
    answer, n = model.sink.response.sink_mm((1.0 + s) * force), len(bare.note)
    assert sunk.top_mm == pytest.approx((answer[:n] + answer[n : 2 * n]) / 2.0, abs=2e-3)
    assert sunk.panel_mm == pytest.approx(answer[2 * n :], abs=2e-3)
    elastic = model.on([(State.STRUNG, None, 0.0)])[(State.STRUNG, None, 0.0)]
    # the strings lose force as the bridge goes down: it sinks further by less than 40 %
    assert np.all((1.05 < sunk.top_mm / elastic.top_mm) & (sunk.top_mm / elastic.top_mm < 1.4))


@pytest.mark.slow
def test_what_would_come_back_is_that_of_the_changed_board_assembled_anew() -> None:
    """The estimate's short way against another body's own response, balance and weather, by large deflection on the
    default cells: ribs 20 % softer, rim half as stiff against turning, days and weather other than reckoned.

    In the damp it falls short: how far air lifts the bridge is left as on the board described, and that of softer ribs
    it lifts further, so that the strings press more. (18 % RH treble the sink of this sample.) By two of the standard
    deviations that such a reading carries for it at most.
    """
    values = other(ribs=-0.22, panel_along=0.1, rim_rotation=-0.7, days=0.5, weather=-0.3)
    seen = observed()
    back, told = seen.came_back, seen.predicted_mm(values)
    ready = prepared(lopsided())
    body = changed(ready.board.needed_body("test"), seen.unknowns, values)
    threads, _ = rib_threads(body, lopsided().readings)
    anew = LoadedBoard.of(replace(ready, board=replace(ready.board, body=body), _kept={}), threads)
    sunk = anew.on([pair.day for pair in back.pairs], settling=1.5)
    expected = 0.7 * back.damp_mm + [
        sunk[pair.day].top_mm[pair.note]
        if pair.threads is None
        else bow_mm(sunk[pair.day].panel_mm[anew.ends[pair.threads[1]]])
        for pair in back.pairs
    ]
    assert told[-1] == pytest.approx(expected[-1], rel=0.01)
    home = back.model.on([(State.STRUNG, None, settled_share(7.0))])[(State.STRUNG, None, settled_share(7.0))]
    there = back.model.on([back.pairs[0].day])[back.pairs[0].day]
    aired = [
        bow_mm(there.panel_mm[ends]) - bow_mm(home.panel_mm[ends])
        for ends in (back.model.ends[pair.threads[1]] for pair in back.pairs[:-1])
    ]
    assert np.all(np.abs(told - expected)[:-1] < 2.0 * AIRED_SHARE * np.array(aired))
    assert np.all(expected[:-1] > told[:-1])


@pytest.mark.slow
def test_slopes_are_the_differences_of_what_would_come_back() -> None:
    seen, keys = observed(), ("ribs", "bridges", "panel_along", "days", "weather")
    slopes = seen.slopes_mm(other())
    names = [unknown.key for unknown in seen.unknowns]
    for key in keys:
        step = 0.1
        more, less = (seen.predicted_mm(other(**{key: way * step})) for way in (1.0, -1.0))
        assert slopes[:, names.index(key)] == pytest.approx((more - less) / (2.0 * step), rel=0.06, abs=4e-3), key


def learnt(board: Board) -> Estimate:
    return estimated(prepared(board))


@cache
def old() -> Board:
    return read_board(SAMPLES / "old_small_grand").board


@cache
def old_learnt() -> Estimate:
    return learnt(old())


def test_one_softness_whoever_is_asked() -> None:
    """`crown`, `bearing` and `plane` start from one board."""
    survey, found = surveyed(old()), old_learnt()
    assert survey.softness.factor == pytest.approx(softness(found)[0])
    assert survey.net_deg == pytest.approx(bearing(found.ready, state=State.STRUNG).net_deg, abs=1e-6)
    assert survey.sink.response.small_mm_N[:176] == pytest.approx(predicted_sink(found.ready).response.small_mm_N)
    assert plane(found.ready).faired.net_deg[60] != plane(prepared(old())).faired.net_deg[60]
    assert "Learned from 12 ribs and 5 bridge heights read bare and under load" in learned_words(found)


def test_as_described_leaves_what_came_back_aside() -> None:
    found = estimated(prepared(old()), as_described=True)
    strung = replace(old(), readings=tuple(each for each in old().readings if each.state is State.STRUNG))
    survey = surveyed(strung, as_described=True)
    assert found.learned is None
    assert survey.softness.factor == 1.0
    assert not survey.softness.measured
    # a set read under the strings alone then carries the doubt of the whole load
    doubted, learned = ({rib.rib: rib.set_uncertainty_mm for rib in each.ribs} for each in (survey, surveyed(old())))
    assert doubted["9"] > 1.3 * learned["9"]


def test_what_came_back_narrows_the_bearing() -> None:
    found = old_learnt()
    table = bearing(found.ready, state=State.STRUNG)
    now, before = (
        np.diff(bearing_bands(Boards.of(each), table, state=State.STRUNG).bands["net_deg"], axis=0)
        for each in (found, replace(found, covariance=found.prior))
    )
    assert np.sqrt(np.mean(now**2)) < 0.85 * np.sqrt(np.mean(before**2))


def test_a_misread_height_is_named_and_pulls_little() -> None:
    wrong = tuple(
        replace(each, value=each.value + 2.0)
        if (each.kind, each.note, each.state) == ("bridge_height", 34, State.BARE)
        else each
        for each in old().readings
    )
    found, right = learnt(replace(old(), readings=wrong)), old_learnt()
    assert right.learned.misread == ("bearing at note 60",)  # a gauge that the sample has misread
    assert found.learned.misread == ("bridge at note 34", "bearing at note 60")
    assert abs(softness(found)[0] - softness(right)[0]) < softness(right)[1] / 2.0


def test_readings_that_scatter_more_than_told_are_said_to_and_count_less() -> None:
    """Heights said to be good to 0.02 mm that are read to 0.1: the doubt of them is widened."""
    random, sure = np.random.default_rng(8), []
    for each in old().readings:
        off = random.normal(0.0, 0.25) if each.kind == "bridge_height" else 0.0
        sure.append(replace(each, value=each.value + off, uncertainty=0.02) if off else each)
    found = learnt(replace(old(), readings=tuple(sure)))
    assert found.learned.loose
    assert any("scatters more than its uncertainty allows" in said for said in found.ready.assumptions)
    assert np.all(found.learned.scatter_mm >= found.learned.observed.scatter_mm)
    assert not old_learnt().learned.loose


def test_what_came_back_is_the_difference_at_the_places_that_were_read_twice() -> None:
    """A rib with a dish: the loaded thread was read in another order, at one place more and not at another. By hand: it
    came back by 1.3 mm in its middle, in an arc; and by half the readings each weighs on it as least squares says."""
    share = np.array([0.0, 0.2, 0.35, 0.5, 0.65, 0.8, 1.0])
    dish, back = 2.0 * np.exp(-(((share - 0.5) / 0.12) ** 2)), 1.3 * 4.0 * share * (1.0 - share)
    order = np.array([6, 3, 0, 5, 1, 4])
    bare, loaded = (
        RibThread(
            rib=lopsided().needed_body("test").ribs[0], kind="thread", state=state, climate=Climate(), span_mm=600.0,
            position_mm=600.0 * at, height_mm=np.zeros(len(at)), uncertainty_mm=np.full(len(at), 0.25),
            points_mm=np.zeros((len(at) + 3, 2)),
        )
        for state, at in ((State.BARE, share), (State.STRUNG, np.append(share[order], 0.9)))
    )  # fmt: skip
    under = np.append((5.0 * share - dish)[order], 7.0)
    rise, wide, (of_bare, of_loaded) = _rose(bare, loaded, 5.0 * share - dish + back, under, (1, 1))
    assert rise == pytest.approx(1.3)
    assert of_bare[2] == 0.0  # at 0.35 the loaded thread was not read
    assert of_loaded[-1] == 0.0  # nor the bare one at 0.9
    np.testing.assert_allclose(of_loaded[:-1], -of_bare[order])
    assert wide == pytest.approx(0.25 * 2.0**0.5 * np.sqrt(np.sum(of_bare**2)))
