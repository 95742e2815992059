"""What a survey reports, on the lopsided sample: each number against hand work, a library or another path to it.

The sample's readings are planted by the large-deflection balance, on cells of 31 mm where the survey leads its moisture
on 44 and its sink on 20 and linearly, and with sets that are no arcs: sin πx under ribs a and d, sin² πx under rib b.
"""

import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.answers.crown_answer import crown_answer, look_at
from bellywork.balance.bearing_table import bearing as bearing_table
from bellywork.board import Board
from bellywork.board.plate import PlateSupport
from bellywork.board.state import Climate, Reading, State
from bellywork.estimate.bands import Boards, bearing_bands
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.rib_fit import rib_fit
from bellywork.files.read import read_board
from bellywork.geometry.crown_surface import CrownSurface
from bellywork.geometry.string_line import bearing, plate_moved, topped
from bellywork.instrument import Instrument
from bellywork.measures import METRIC
from bellywork.seasons.year import Year
from bellywork.survey.again import again
from bellywork.survey.loss import RibLoss, Survey, surveyed
from bellywork.survey.recovery import Best, PlateAdvice, best
from bellywork.survey.rib_shape import Shape
from bellywork.survey.surface import curvature, read_surface

ROOT = Path(__file__).resolve().parents[2]
LOPSIDED = ROOT / "sample_boards" / "lopsided_board"
sys.path.insert(0, str(ROOT / "tests" / "samples"))
from make_samples import LOPSIDED_SET  # noqa: E402


def more(kind: str, place: str, state: State, value: float, uncertainty: float | None = None) -> Reading:
    note = int(place) if place.isdigit() else None
    return Reading(
        kind=kind, place=place, note=note, state=state, value=value, uncertainty=uncertainty, climate=Climate()
    )


# the plate's nose 0.4 mm higher under the strings; a gauge at the bare notes 52 and 64, at the latter 0.4° too much
MORE = (
    more("plate_height", "nose", State.STRUNG, 80.4, 0.12),
    more("plate_height", "nose", State.BARE, 80.0, 0.16),
    *(more("front_deg", note, State.BARE, 0.72) for note in ("52", "64")),
    more("rear_deg", "52", State.BARE, 0.57),
    more("rear_deg", "64", State.BARE, 0.97),
)


@cache
def survey() -> Survey:
    board = read_board(LOPSIDED).board
    return surveyed(replace(board, readings=(*board.readings, *MORE)))


@cache
def got() -> Best:
    return best(survey())


def loss(rib: str, state: State, rh: float) -> RibLoss:
    (found,) = [each for each in survey().ribs if (each.rib, each.state, each.rh_percent) == (rib, state, rh)]
    return found


def test_what_was_made_is_the_rise_of_the_ribs_own_radius() -> None:
    """L²/8R: 500²/8/13 000 = 2.404 mm, 760²/8/15 000 = 4.813 mm; rib d is flat."""
    made = {rib.rib: rib.as_made_mm for rib in survey().ribs}
    assert made == pytest.approx({"a": 2.404, "b": 4.813, "d": 0.0}, abs=0.02)


@pytest.mark.parametrize(
    ("rib", "state", "rh"),
    [
        ("a", State.BARE, 42.0),
        ("b", State.BARE, 42.0),
        ("b", State.STRUNG, 60.0),
        ("a", State.BARE, 60.0),
        ("a", State.STRUNG, 60.0),
        ("d", State.BARE, 42.0),
    ],
)
def test_a_set_of_another_shape_is_found_in_every_state_and_at_both_humidities(
    rib: str, state: State, rh: float
) -> None:
    found = loss(rib, state, rh)
    assert abs(found.set_mm - LOPSIDED_SET[rib]) <= found.set_uncertainty_mm


def test_damp_lifts_a_rib_crowned_board_and_that_is_no_loss() -> None:
    """Bare, 60 % against 42 %: arcs through what was read rise 1.27 and 3.89 mm more at ribs a and b than in the dry;
    of b's, whose dish an arc makes too much of in the dry, the sign and half the size are held."""
    for rib, rose, share in (("a", 1.27, 0.35), ("b", 3.89, 0.5)):
        dry, damp = loss(rib, State.BARE, 42.0), loss(rib, State.BARE, 60.0)
        assert dry.moisture_mm == 0.0
        assert damp.moisture_mm == pytest.approx(rose, rel=share)
    assert loss("a", State.BARE, 60.0).moisture_mm > 1.0


def test_a_strung_rib_is_lower_by_its_load_and_higher_by_the_damp() -> None:
    """Rib a at 60 %: read bare 2.40, strung about a millimetre less."""
    bare, strung = loss("a", State.BARE, 60.0), loss("a", State.STRUNG, 60.0)
    assert bare.sink_mm == 0.0
    assert strung.sink_mm > 0.5
    assert strung.moisture_mm == pytest.approx(bare.moisture_mm)
    assert strung.expected_mm == pytest.approx(2.404 + bare.moisture_mm - strung.sink_mm, abs=0.02)


def test_the_softness_is_freed_of_the_weather() -> None:
    """Planted: a board as soft as its description, strung in the damp and read bare in the dry and in the damp."""
    soft = survey().softness
    assert soft.measured
    assert abs(soft.factor - 1.0) <= soft.uncertainty
    dry, damp = soft.measured_mm[:2]  # rib a: bare at 42 % and at 60 %, against strung at 60 %
    assert dry == pytest.approx(damp, abs=0.4)


def test_the_hollow_rib_read_from_above_is_reversed() -> None:
    """A straightedge reads how far the panel lies below it: 0.9 mm in the middle."""
    assert loss("d", State.BARE, 42.0).read.shape is Shape.REVERSED
    assert loss("d", State.BARE, 42.0).read.rise_mm == pytest.approx(-0.9, abs=0.25)


def test_set_under_a_note_is_that_of_the_two_ribs_beside_it() -> None:
    """By hand, in plan. The bridge crosses the ribs square on: its notes lie 252 mm from the start of rib a's 500, at
    ξ = 2 · 252/500 − 1 = 0.008; 432 mm along rib b's 760, at 0.13684. Of rib c, which nobody read, 375 mm are wood
    beyond the bay, from 425 to 800 of its 800; notes stand at 627 of them, 14.5 mm beyond the middle, at 0.07733.

    Note 73 at (139.2, 194.4): 12 mm from a, 252 mm from b: weights 252/264 and 12/264.
    Note 40 at (456, 432): 144 mm from b, 116 mm from c: weights 116/260 and 144/260.
    """
    notes, field = survey().note.tolist(), survey().field
    assert [rib.name for rib in field.ribs] == ["a", "b", "c", "d"]
    assert [rib.rib for rib in survey().unread] == ["c"]
    (a, b, c), _, _ = field.told([0, 1, 2], [0.008, 0.13684, 0.07733], np.eye(3))
    low, high = (survey().set_mm[notes.index(note)] for note in (40, 73))
    assert high == pytest.approx(252 / 264 * a + 12 / 264 * b, abs=2e-3)
    assert low == pytest.approx(116 / 260 * b + 144 / 260 * c, abs=2e-3)
    low, high = (survey().set_uncertainty_mm[notes.index(note)] for note in (40, 73))
    assert high < 0.3 < low


def test_the_notes_of_a_rib_are_those_it_lies_nearest_to() -> None:
    """By hand: ribs a, b and c cross the bridge's line 36, 276 and 536 mm from its start, note n stands 420 −
    12 (n − 40) from it: halfway lie 156 mm (note 62, a tie) and 406 mm, between notes 41 and 42. Rib c was not read."""
    a, b = (set(survey().surest[rib].notes) - {62} for rib in "ab")
    assert a == set(range(63, 74))
    assert b == set(range(42, 62))
    assert survey().surest["d"].notes == ()


def test_scatter_beyond_chance_widens_the_uncertainty_as_polyfit_does() -> None:
    """numpy.polyfit scales its covariance by the scatter: −1 times the second-order coefficient in ξ is the rise."""
    x = np.linspace(0.0, 600.0, 9)
    y = 2.0 * (1.0 - (x / 300.0 - 1.0) ** 2) + 0.24 * np.array([0.5, -1, 1, -1, 1, -1, 1, -1, 0.5])
    fit = rib_fit(x, y, span_mm=600.0)
    assert len(fit.outliers) == 0
    assert fit.skew_mm == 0.0
    assert fit.loose
    terms, covariance = np.polyfit(x / 300.0 - 1.0, y, 2, w=np.full(9, SIGMAS / 0.25), cov=True)
    assert fit.rise_mm == pytest.approx(-terms[0])
    assert fit.rise_uncertainty_mm == pytest.approx(SIGMAS * np.sqrt(covariance[0, 0]))
    calm = rib_fit(x, y, span_mm=600.0, uncertainty_mm=0.9)
    assert not calm.loose
    _, covariance = np.polyfit(x / 300.0 - 1.0, y, 2, w=np.full(9, SIGMAS / 0.9), cov="unscaled")
    assert calm.rise_uncertainty_mm == pytest.approx(SIGMAS * np.sqrt(covariance[0, 0]))


def test_the_plate_rose_by_bare_less_strung_within_both_uncertainties() -> None:
    rose, wide = survey().plate_mm["nose"]
    assert rose == pytest.approx(-0.4)
    assert wide == pytest.approx(0.2)  # √(0.12² + 0.16²)


def test_a_gauge_that_differs_from_the_heights_by_more_than_it_can_is_named() -> None:
    """Bare net by hand 1.289° (front 0.716, rear 0.573): 1.29° is right, 1.69° is 0.4° off."""
    assert [(each.note, each.misread) for each in survey().gauges] == [(52, False), (64, True)]
    assert [each.net_deg for each in survey().gauges] == pytest.approx([1.29, 1.69])
    assert [each.by_heights_deg for each in survey().gauges] == pytest.approx([1.2891, 1.2891], abs=2e-3)


def test_a_new_cap_so_high_gives_the_bearing_that_is_told() -> None:
    """Another path: the bare bridge raised by `recap_mm` and strung again."""
    bare, up = survey().bare, got().recap_mm
    raised = topped(bare, bare.bridge_front_mm + up, bare.bridge_rear_mm + up)
    strung = survey().sink.moved(raised, State.STRUNG)
    # the cap is also planed to another slope, which the net angle all but ignores
    np.testing.assert_allclose(bearing(strung).net_deg, got().recap_net_deg, atol=0.02)


def on(board: Board) -> Instrument:
    return replace(survey().ready, board=board, _kept={})


def high(up: float) -> Survey:
    """The board surveyed with its plate so much higher, mm: its notes are short."""
    bare = survey().bare
    lifted = replace(bare, front_height_mm=bare.front_height_mm + up, rear_height_mm=bare.rear_height_mm + up)
    return replace(survey(), bare=lifted)


def supported(told: Survey, supports: tuple[PlateSupport, ...]) -> Survey:
    board = told.board
    ready = on(replace(board, plate=replace(board.plate, supports=supports)))
    return replace(told, estimate=replace(told.estimate, ready=ready))


def missed(told: Survey, target: np.ndarray, up: float, tilt_x: float, tilt_y: float) -> float:
    """The criterion of the docstring: squares of what is short, and a twentieth of those of what is too much."""
    plan = survey().board.needed_plan("test")
    lift = [up + place @ [tilt_x, tilt_y] / 1000.0 for place in (plan.front_mm, plan.rear_mm)]
    strung = survey().sink.moved(plate_moved(told.bare, *lift), State.STRUNG)
    less = bearing(strung).net_deg - target
    return float(np.mean(np.where(less < 0.0, 1.0, 0.05) * less**2))


def test_the_best_plate_brings_what_is_short_nearest_to_its_target() -> None:
    """Without supports and with a high crown nothing holds the plate: the criterion is flat there, and rises all
    round."""
    free = supported(high(2.0), ())
    found = best(free)
    at = np.array([found.up_mm, found.tilt_x_mm_per_m, found.tilt_y_mm_per_m])
    assert found.advice is PlateAdvice.SET
    assert found.binding == ()
    here = missed(free, found.target_deg, *at)
    for k, step in enumerate((0.05, 0.05, 0.05)):
        move = np.eye(3)[k] * step
        low, up = (missed(free, found.target_deg, *(at + sign * move)) for sign in (-1.0, 1.0))
        vertex = step * (low - up) / (2.0 * (low - 2.0 * here + up))
        assert abs(vertex) < 0.03


def test_a_plate_is_left_where_no_note_is_short_or_no_setting_helps() -> None:
    assert got().advice is PlateAdvice.LEAVE
    assert (got().up_mm, got().tilt_x_mm_per_m, got().binding) == (0.0, 0.0, ())
    np.testing.assert_allclose(got().net_deg, survey().net_deg, atol=1e-6)
    stiff = tuple(replace(each, lowest_move_mm=0.0, highest_move_mm=0.0) for each in survey().board.plate.supports)
    assert best(supported(high(2.0), stiff)).advice is PlateAdvice.NONE_HELPS


def test_supports_alone_say_how_far_a_plate_may_go() -> None:
    """Three supports not in one line, each with ±20 mm: a target that asks for more than 6 mm gets it."""
    supports = survey().board.plate.supports
    wide = tuple(replace(each, lowest_move_mm=-20.0, highest_move_mm=20.0) for each in supports)
    assert best(supported(high(9.0), wide)).up_mm < -7.0
    assert best(supported(high(9.0), ())).up_mm >= -6.0 - 1e-9


def test_a_rib_that_nobody_read_holds_cap_and_plate_by_what_is_guessed_of_it() -> None:
    """Were rib c guessed to have a tenth of a millimetre left, it would be what holds them."""
    (c,) = survey().unread
    assert set(got().crown_left_mm) == {"a", "b", "c", "d"}
    told = high(6.0)
    tight = replace(told, unread=(replace(c, set_mm=c.as_made_mm - 0.1),))
    loose, held = best(supported(told, ())), best(supported(tight, ()))
    assert "rib c" in held.binding
    assert held.recap_held == ("c",)
    assert held.recap_share < loose.recap_share
    assert loose.recap_sure < loose.recap_share
    assert held.recap_sure == 0.0  # it may be flat now


def test_where_all_ribs_were_read_a_cap_goes_as_far_as_it_surely_goes() -> None:
    every = replace(survey(), unread=())
    found = best(replace(every, threads=tuple(each for each in every.threads)))
    assert found.recap_sure == found.recap_share


def test_the_bands_of_the_bearing_are_those_of_the_estimate() -> None:
    """Another path: the bands that `bearing` has for the same board, strung; the plate was left, so its band is the
    same. A cap planed to the target stands on a softer or a stiffer board, too."""
    table = bearing_table(survey().ready, state=State.STRUNG)
    low, high = bearing_bands(Boards.of(survey().estimate), table, state=State.STRUNG).bands["net_deg"]
    for name in ("net_deg_now", "net_deg_best"):
        np.testing.assert_allclose(got().bands[name], (low, high), atol=2e-3)
    low, high = got().bands["net_deg_recap"]
    np.testing.assert_allclose((low + high) / 2.0, got().recap_net_deg, atol=5e-3)
    assert np.all(high > low)


def test_what_to_read_next_is_the_rib_that_nobody_read() -> None:
    first, *others = again(survey())
    assert (first.rib, first.why, first.at_mm) == ("c", "not read", pytest.approx(187.5))
    assert first.note == 40  # beside it
    assert first.now_mm == pytest.approx(survey().set_uncertainty_mm[survey().note.tolist().index(40)])
    assert first.then_mm < 0.5 * first.now_mm
    assert {each.why for each in others} == {"narrows"}
    assert all(each.then_mm < each.now_mm for each in others)


def test_the_surface_that_was_read_is_zero_all_along_a_rim_of_few_corners() -> None:
    """The lopsided outline has nine corners, up to 960 mm apart."""
    body = survey().board.needed_body("test")
    ribs = [rib for rib in survey().ribs if rib.state is State.BARE and rib.rh_percent == 42.0]
    surface = read_surface(body, ribs, survey().threads)
    assert np.abs(surface.rise_mm(body.outline.along(25.0))).max() < 0.15


def test_the_direction_of_curvature_is_counted_counter_clockwise_from_x() -> None:
    """Closed form: a trough's bend runs along 30°; across it the dome is half as sharp."""
    c, s = np.cos(np.radians(30.0)), np.sin(np.radians(30.0))
    dome = CrownSurface(
        rise=lambda p: -((c * p[:, 0] + s * p[:, 1]) ** 2) / 2e4 - (c * p[:, 1] - s * p[:, 0]) ** 2 / 4e4
    )
    found = curvature(dome, np.array([[40.0, -70.0]]))
    assert found.direction_deg[0] == pytest.approx(30.0)
    assert found.greater_per_m[0] == pytest.approx(0.1)
    assert found.lesser_per_m[0] == pytest.approx(0.05)


def test_a_bridge_read_in_two_weathers_springs_back_by_what_the_weather_leaves() -> None:
    """The bridge at note 52 read strung at 42 % RH, the description's own, and bare at 60 %: what came back is the
    difference read, less what `season` says the bare bridge rises from 42 to 60 %, by the share that was found."""
    board = read_board(LOPSIDED).board
    read = (
        replace(more("bridge_height", "52", State.STRUNG, 40.0, 0.1), climate=Climate(rh_percent=42.0)),
        replace(more("bridge_height", "52", State.BARE, 42.5, 0.1), climate=Climate(rh_percent=60.0)),
    )
    found = surveyed(replace(board, readings=(*board.readings, *read))).softness
    k = found.names.index("bridge at note 52")
    plan, note = board.needed_plan("test"), board.needed_strings("test").note.tolist().index(52)
    rise = float(Year.of(board).rise_mm(60.0, plan.middle_mm[[note]])[0])
    assert rise > 0.5
    assert found.measured_mm[k] == pytest.approx(2.5 - found.weather * rise, abs=1e-6)


def test_what_was_misread_is_told_where_it_was_read() -> None:
    """Two threads of one rib, state and undated day, at two humidities and other places: the second has the misreading,
    2 mm too much at 418 mm."""
    board = read_board(LOPSIDED).board
    kept = tuple(
        replace(each, climate=replace(each.climate, date=""))
        for each in board.readings
        if not (each.state is State.BARE and each.climate.rh_percent == 42.0 and (each.position_mm or 0.0) < 300.0)
    )
    wrong = next(
        each
        for each in kept
        if (each.place, each.state, each.climate.rh_percent) == ("b", State.BARE, 60.0)
        and (each.position_mm or 0) > 400
    )
    readings = tuple(replace(each, value=each.value + 2.0) if each is wrong else each for each in kept)
    first = again(surveyed(replace(board, readings=readings), as_described=True))[0]
    assert (first.rib, first.state, first.why) == ("b", "bare", "misread")
    assert first.at_mm == wrong.position_mm


def test_a_rib_bent_at_one_place_is_told_with_the_place() -> None:
    """Another path: the shape as it was read, at that place, over an arc through its middle. Rib b, with a dish planted
    in its middle, stands above that arc towards its ends."""
    rib = survey().surest["b"].read
    share = rib.bent_at_mm / rib.span_mm
    over = float(rib.height_mm(rib.bent_at_mm)) - 4.0 * share * (1.0 - share) * rib.rise_mm
    assert rib.bent_mm > 0.5
    assert over == pytest.approx(rib.bent_mm, abs=0.05)
    assert f"at {rib.bent_at_mm:.1f} mm of its thread (bare)" in " ".join(look_at(survey(), METRIC))


def test_json_holds_band_looseness_and_what_to_read_next() -> None:
    """Another path: the survey itself, as if its threads scattered two and a half times as much as told."""
    told = replace(survey(), field=replace(survey().field, looser=2.5))
    dome = CrownSurface(rise=lambda places: -np.sum(places**2, axis=1) / 36600.0)
    curved = curvature(dome, np.zeros((len(told.note), 2)))
    parts = crown_answer("x", told, got(), curved, units=METRIC).as_parts()
    assert (parts["looser"], parts["written"], parts["best"]["advice"]) == (2.5, "", "leave")
    assert any("scatter 2.5 times as much" in sentence for sentence in parts["to_look_at"])
    for entry, lost, wide in zip(parts["notes"], told.set_mm, told.set_uncertainty_mm, strict=True):
        assert entry["set_mm_low"] == pytest.approx(lost - wide)
        assert entry["set_mm_high"] == pytest.approx(lost + wide)
    assert [each["rib"] for each in parts["unread"]] == ["c"]
    assert [(each["rib"], each["at_mm"]) for each in parts["again"]] == [(each.rib, each.at_mm) for each in again(told)]
