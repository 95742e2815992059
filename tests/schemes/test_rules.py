"""Rules and scheme files. Kinds of expected numbers: plain geometry; invariants."""

from pathlib import Path

import numpy as np
import pytest

from bellywork.board import Outline
from bellywork.board.rims import rim_support
from bellywork.board.scheme import Least, RibRule
from bellywork.board.woods import wood
from bellywork.errors import BoardError, UnusableInput
from bellywork.files.scheme_files import read_scheme
from bellywork.schemes.rule import ribs_by_rule

GRAND = Path(__file__).resolve().parents[2] / "sample_boards" / "seven_foot_grand"


def outlined(corners: object) -> Outline:
    points = np.asarray(corners, dtype=float)
    return Outline(points_mm=points, support=(rim_support("glued"),) * len(points))


SQUARE = outlined([[0.0, 0], [1000, 0], [1000, 800], [0, 800]])
RULE = {
    "count": 4, "angle_deg": 0.0, "treble_margin_mm": 100.0, "bass_margin_mm": 100.0, "spacing_ratio": 2.0,
    "treble_width_mm": 20.0, "bass_width_mm": 26.0, "treble_height_mm": 30.0, "bass_height_mm": 24.0,
    "end_height_mm": 6.0, "feather_mm": 900.0, "treble_radius_mm": 12000.0, "bass_radius_mm": 18000.0,
    "wood": wood("sitka_spruce"),
}  # fmt: skip


def test_gaps_grow_by_the_ratio_and_sizes_run_straight():
    ribs = ribs_by_rule(RibRule(**RULE), SQUARE)
    y = np.array([rib.start_mm[1] for rib in ribs])
    np.testing.assert_allclose(np.diff(y), 600.0 * np.array([1, 2, 4]) / 7.0, atol=1e-5)
    np.testing.assert_allclose([rib.width_mm for rib in ribs], 20.0 + 6.0 * (y - 100.0) / 600.0, atol=1e-6)
    np.testing.assert_allclose([rib.crown_radius_mm for rib in ribs], 12e3 + 6e3 * (y - 100.0) / 600.0, atol=1e-3)
    assert all(rib.feather_mm == (400.0, 400.0) for rib in ribs)  # at most 0.4 of a rib


def test_turning_board_and_rule_together_turns_the_ribs():
    turn = np.radians(25.0)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    straight = ribs_by_rule(RibRule(**RULE), SQUARE)
    turned = ribs_by_rule(RibRule(**{**RULE, "angle_deg": 25.0}), outlined(SQUARE.points_mm @ spin.T))
    for a, b in zip(straight, turned):
        np.testing.assert_allclose(spin @ a.start_mm, b.start_mm, atol=1e-5)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"treble_margin_mm": 500.0, "bass_margin_mm": 400.0},
         r"^The margins of 500 and 400 mm leave no room for ribs on a board of 800 mm across them\.$"),
        ({"treble_margin_mm": -50.0}, r"^A rib of the rule lies outside the outline; make the margins wider\.$"),
    ],
)  # fmt: skip
def test_a_rule_that_does_not_fit_is_said(change, said):
    with pytest.raises(BoardError, match=said):
        ribs_by_rule(RibRule(**{**RULE, **change}), SQUARE)


def test_the_sample_schemes_read_as_they_are_meant():
    even, graded, lighter, search = (
        read_scheme(GRAND / "schemes" / f"{name}.toml", GRAND) for name in ("even", "graded", "lighter", "search")
    )
    assert [len(ribs_by_rule(each.rule, outline())) for each in (even, graded, lighter)] == [15, 15, 19]
    assert even.rule.treble_height_mm == even.rule.bass_height_mm
    assert graded.rule.treble_height_mm > graded.rule.bass_height_mm
    assert (search.wish.least, search.wish.sink_most_mm) == (Least.MASS, 4.1)
    assert search.wish.bounds["count"] == (11.0, 19.0)


def outline() -> Outline:
    from bellywork.files.read import read_board

    return read_board(GRAND).board.body.outline


def test_a_rib_table_is_a_scheme_too():
    scheme = read_scheme(GRAND / "ribs.csv", GRAND)
    assert scheme.rule is None
    assert len(scheme.ribs) == 15


HEAD = 'format = "bellywork-scheme/1"\n'
WHOLE = (GRAND / "schemes" / "even.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (HEAD, "scheme-form"),
        (HEAD + 'ribs = "ribs.csv"\n[rule]\ncount = 3\n', "scheme-form"),
        (WHOLE.replace("count = 15", ""), "key-missing"),
        (WHOLE.replace("count = 15", "count = 14.5"), "not-a-number"),
        (WHOLE.replace("treble_width_mm", "trebble_width_mm"), "key-unknown"),
        (WHOLE.replace("treble_width_mm = 25", "treble_width_mm = 2500"), "out-of-range"),
        (WHOLE.replace("end_height_mm = 6", "end_height_mm = 30"), "end-too-high"),
        (WHOLE.replace("sitka_spruce", "sitka_sprace"), "wood-unknown"),
        (WHOLE + "[search]\nleast = 'mass'\n", "key-missing"),
        (WHOLE + "[search]\nleast = 'mass'\n[search.bounds]\ncount = [19, 11]\n", "limits-reversed"),
        (WHOLE + "[search]\nleast = 'mass'\n[search.bounds]\ncolour = [1, 2]\n", "key-unknown"),
        ("not toml", "toml-unreadable"),
    ],
)
def test_what_is_wrong_in_a_scheme_file_is_named(tmp_path, text, code):
    path = tmp_path / "scheme.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UnusableInput) as error:
        read_scheme(path, GRAND)
    assert code in [finding.code for finding in error.value.findings]
    assert all(finding.place.file == "scheme.toml" for finding in error.value.findings)


def test_a_file_of_another_kind_is_named(tmp_path):
    with pytest.raises(UnusableInput, match=r"scheme\.dwg"):
        read_scheme(tmp_path / "scheme.dwg", GRAND)
