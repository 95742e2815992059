"""What the comparison of rib schemes reports, on the lopsided sample. Kinds of expected numbers: worked out by hand
from the sample's tables; closed forms; another path through the library to the same quantity."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.balance.sink import predicted_sink
from bellywork.board.board import Board
from bellywork.board.body import RimSupport
from bellywork.board.scheme import Scheme
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.files.read import read_board
from bellywork.geometry.completed import completed
from bellywork.geometry.crown_surface import crown_surface
from bellywork.instrument import prepared
from bellywork.mechanics.model import assembled
from bellywork.schemes.assessed import SchemeResult, assessed, bare_beam_sag_mm, base_of
from bellywork.schemes.evenness import jumps, unevenness

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"


@cache
def board():
    return read_board(LOPSIDED).board


@cache
def result() -> SchemeResult:
    ribs = board().needed_body("test").ribs
    return assessed(base_of(board()), Scheme(name="own", ribs=ribs), with_damp=True)


def rib(name: str):
    return next(each for each in result().ribs if each.rib == name)


def made(name: str):
    return next(each for each in result().body.ribs if each.name == name)


def test_spans_and_made_crowns_are_those_of_the_tables() -> None:
    """√(300² + 400²) = 500, 760 and 325 mm; 500²/8/13 000 = 2.404 and 760²/8/15 000 = 4.813 mm; d is flat."""
    assert [rib(name).span_mm for name in "abd"] == pytest.approx([500.0, 760.0, 325.0], abs=0.01)
    assert [rib(name).crown_mm for name in "abd"] == pytest.approx([2.404, 4.813, 0.0], abs=0.06)


def test_a_crown_is_told_over_the_rib_from_rim_to_rim_as_a_thread_under_it_is() -> None:
    """Another path: the bare board's surface at the ends that the tables give, 500, 760 and 325 mm apart."""
    crown = crown_surface(result().body)
    for name, length in {"a": 500.0, "b": 760.0, "d": 325.0}.items():
        start, middle, end = crown.rise_mm(made(name).points_at(np.array([0.0, length / 2.0, length])))
        assert rib(name).crown_mm == pytest.approx(middle - (start + end) / 2.0, abs=1e-3)


def test_masses_are_those_worked_out_by_hand() -> None:
    """tests/solids/test_lopsided_parts.py works the volumes out; here at 8.0 % moisture the wood weighs another
    share."""
    volume = {"a": 171600.0, "b": 390750.0, "d": 92000.0}
    for name, cubic_mm in volume.items():
        assert rib(name).mass_kg == pytest.approx(cubic_mm * made(name).wood.density_kg_m3 * 1e-9, rel=1e-3)
    assert result().ribs_kg == pytest.approx(sum(each.mass_kg for each in result().ribs))


def test_bearing_sink_and_load_are_those_of_the_bearing_table() -> None:
    table = bearing(board(), state=State.STRUNG)
    np.testing.assert_allclose(result().net_deg, table.net_deg, atol=1e-9)
    np.testing.assert_allclose(result().front_deg, table.front_deg, atol=1e-9)
    np.testing.assert_allclose(result().rear_deg, table.rear_deg, atol=1e-9)
    np.testing.assert_allclose(result().force_N, table.downforce_N, atol=1e-9)
    assert result().load_N == pytest.approx(table.total_downforce_N)
    np.testing.assert_allclose(result().sink_mm, table.sink_mm, atol=1e-9)
    assert result().worst_sink == int(np.argmax(table.sink_mm))


def test_crown_left_is_what_the_load_leaves_of_the_middle_over_the_ends() -> None:
    """Another path: the panel's sink at these very points, as the survey asks for it."""
    line: StringLine = bearing(board(), state=State.STRUNG).line
    lengths = {"a": 500.0, "b": 760.0, "d": 325.0}
    points = np.vstack([made(name).points_at(np.array([1e-3, L / 2.0, L - 1e-3])) for name, L in lengths.items()])
    sunk = predicted_sink(prepared(board()), panel_mm=points).panel_mm(line, State.STRUNG)
    for name, (start, middle, end) in zip(lengths, sunk.reshape(-1, 3)):
        taken = rib(name).crown_mm - rib(name).crown_left_mm
        assert taken == pytest.approx(middle - (start + end) / 2.0, abs=0.01)
    assert rib("b").crown_mm - rib("b").crown_left_mm > 0.2


def test_what_the_ends_of_a_rib_sink_is_no_loss_of_its_crown() -> None:
    """Another path, on a rim so soft that the ends come down by more than the middle bends."""
    soft = RimSupport(name="soft", vertical_N_mm2=1.0, inplane_N_mm2=400.0, rotation_N=0.0)
    body = board().needed_body("test")
    whole = replace(board(), body=replace(body, outline=body.outline.supported(soft)))
    own = assessed(base_of(whole), Scheme(name="own", ribs=body.ribs), rough_cell_mm=36.0, with_modes=False)
    told = next(each for each in own.ribs if each.rib == "b")
    points = made("b").points_at(np.array([1e-3, 380.0, 760.0 - 1e-3]))
    start, middle, end = (
        assembled(prepared(whole).board.needed_body("test"), cell_mm=36.0)
        .pressed(board_pins(whole), np.tile(own.force_N / 2.0, 2))
        .sink_mm(points)
    )
    assert (start + end) / 2.0 > 0.1
    assert told.crown_mm - told.crown_left_mm == pytest.approx(middle - (start + end) / 2.0, abs=0.03)


def board_pins(whole: Board) -> np.ndarray:
    return prepared(whole).board.needed_plan("test").pins_mm


def test_each_rib_gets_the_notes_that_lie_nearest_and_sags_by_the_trades_rule() -> None:
    """By hand: rib a takes notes 63 to 73 (62 lies midway), b 42 to 61, c 40 and 41, d none; sag = P L³/(4 E b h³) with
    the full section, b · h = 22 · 18 mm at a and 25 · 24 mm at b, common practice."""
    force = dict(zip(result().note.tolist(), result().force_N.tolist()))
    tie = force[62]
    for name, notes in (("a", range(63, 74)), ("b", range(42, 62)), ("c", (40, 41)), ("d", ())):
        least = sum(force[note] for note in notes)
        assert any(rib(name).nearest_N == pytest.approx(least + more) for more in (0.0, tie))
    for name, span, section in (("a", 500.0, 22.0 * 18.0**3), ("b", 760.0, 25.0 * 24.0**3)):
        sag = rib(name).nearest_N * span**3 / (4.0 * made(name).wood.E_L * section)
        assert rib(name).bare_sag_mm == pytest.approx(sag, rel=1e-4)


def test_the_bare_beam_rule_takes_the_full_height_not_that_of_the_ends() -> None:
    """400 N on 760 mm of rib b: 400 · 760³ / (4 · 11 880 · 25 · 24³) = 10.69 mm; its ends are 6 and 10 mm high."""
    own = next(each for each in board().needed_body("test").ribs if each.name == "b")
    assert bare_beam_sag_mm(400.0, own, 760.0) == pytest.approx(10.69, abs=0.005)


def test_compliance_is_the_sink_of_the_bridge_top_under_one_newton_midway() -> None:
    """Another path: half a newton on each pin row of one note, and the mean of what the two rows sink."""
    plan = completed(board()).board.needed_plan("test")
    model = assembled(result().body)
    for k in (0, 17, 33):
        pins = np.stack([plan.front_pin_mm[k], plan.rear_pin_mm[k]])
        sink = model.pressed(pins, [0.5, 0.5]).sink_mm(pins).mean()
        assert result().compliance_mm_per_N[k] == pytest.approx(sink, rel=1e-6)


def line_of(sections: list[str]) -> StringLine:
    n = len(sections)
    return StringLine(
        note=np.arange(40, 40 + n), section=tuple(sections), bridge=("long",) * n,
        **{name: np.ones(n) for name in ("speaking_mm", "rows_mm", "back_mm", "front_height_mm", "bridge_front_mm",
                                         "bridge_rear_mm", "rear_height_mm", "cap_mm")}, measured=np.full(n, True),
    )  # fmt: skip


def test_unevenness_is_a_standard_deviation_and_jumps_are_in_percent_of_the_lower_note() -> None:
    """By hand: logarithms 0, 0.2, 0, 0.2 lie 0.1 about their mean. Notes 40 to 47, a break after 43: compliances 2 to
    2.5 over it (+25 %); note 40 against 45 is 3/2.5 (+20 %), note 47 against 42 is 1/2 (−50 %)."""
    even = unevenness(line_of(["a"] * 4), np.exp([0.0, 0.2, 0.0, 0.2]))
    assert even == pytest.approx({"long": 0.1})
    along = np.array([3.0, 2.0, 2.0, 2.0, 2.5, 2.5, 2.0, 1.0])
    found = {each.where: (each.notes, each.percent) for each in jumps(line_of(["a"] * 4 + ["b"] * 4), along)}
    assert found == {
        "low end": ((45, 40), pytest.approx(20.0)),
        "a to b": ((43, 44), pytest.approx(25.0)),
        "high end": ((42, 47), pytest.approx(-50.0)),
    }


def test_shares_of_strength_are_stress_over_what_ten_years_leave() -> None:
    """0.183 + 1.084 (10 years in s)^−0.04635 of the modulus of rupture and of the shear strength of the rib's own
    wood."""
    lasting = 0.183 + 1.084 * 3.15576e8**-0.04635
    for each in result().ribs:
        strength = made(each.rib).wood.strength
        assert each.bending_share == pytest.approx(each.bending_MPa / (strength.bending * lasting))
        assert each.shear_share == pytest.approx(each.shear_MPa / (strength.shear_parallel * lasting))
    assert result().bending_share == max(each.bending_share for each in result().ribs)


def test_modal_density_counts_modes_per_hertz() -> None:
    low, high = result().modes_hz[[0, -1]]
    assert result().modal_density_per_Hz == pytest.approx(9.0 / (high - low))
    assert np.all(np.diff(result().modes_hz) > 0.0)


def test_damp_lifts_ribs_and_bearing() -> None:
    """Common practice, no source: from 30 to 60 % RH a rib-crowned board comes up and the strings press more."""
    damp = result().damp
    assert damp is not None
    assert damp.crown_mm["a"] > 0.5
    assert damp.crown_mm["b"] > 1.0
    assert damp.net_deg.min() > 0.5
