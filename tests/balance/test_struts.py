"""Clearance under the struts. Kind of every expected number: invariant."""

import invented
import numpy as np
import pytest

from bellywork.balance.struts import clearance_findings, strut_clearances
from bellywork.board import Strut
from bellywork.board.plate import PlateMove
from bellywork.geometry.string_line import topped

PLAN = invented.plan()
LINE = topped(invented.line(), np.full(88, 50.0) + np.arange(88) / 100.0, np.full(88, 49.0))


def strut(note, **parts):
    """A strut midway between a note and the next, across the long bridge."""
    middle, reach = (PLAN.front_pin_mm[note - 1] + PLAN.front_pin_mm[note]) / 2.0, np.array([0.0, 30.0])
    return Strut(
        **{
            "name": "one",
            "start_mm": middle - reach,
            "end_mm": middle + reach,
            "width_mm": 6.0,
            "underside_mm": 60.0,
            "clearance_mm": 5.0,
            **parts,
        }
    )


def test_a_strut_between_two_notes_stands_over_the_top_between_them():
    (found,) = strut_clearances(LINE, PLAN, [strut(43)])
    assert found.notes == (43, 44)
    assert found.bridge == "long"
    assert 60.0 - 50.43 <= found.clearance_mm <= 60.0 - 50.42
    assert found.enough
    assert clearance_findings([found]) == ()


def test_the_front_row_counts_where_it_is_the_higher():
    (found,) = strut_clearances(
        topped(LINE, np.full(88, 40.0), np.full(88, 52.0)), PLAN, [strut(43, end_mm=PLAN.rear_pin_mm[43])]
    )
    assert found.clearance_mm == pytest.approx(8.0)


def test_a_strut_that_crosses_no_bridge_is_not_told_of():
    away = strut(43, start_mm=(5000.0, 0.0), end_mm=(5000.0, 100.0))
    assert strut_clearances(LINE, PLAN, [away]) == ()


def test_a_moved_plate_takes_its_struts_along():
    lifted = strut_clearances(LINE, PLAN, [strut(43)], PlateMove(up_mm=0.5))[0]
    assert lifted.clearance_mm == pytest.approx(strut_clearances(LINE, PLAN, [strut(43)])[0].clearance_mm + 0.5)


def test_too_near_is_a_finding():
    (finding,) = clearance_findings(strut_clearances(LINE, PLAN, [strut(43, underside_mm=53.0)]))
    assert finding.code == "strut-too-near"
    assert str(finding).startswith("struts.csv, note 43: found 2.5")


def test_a_strut_stands_over_no_more_than_its_own_width():
    """By hand: 20 mm wide, midway between notes 43 and 44, 14.5 mm apart: it reaches 10 − 7.25 = 2.75 mm beyond note 44
    towards note 45, which is 5 mm higher: the top under its edge is 50 + 5 · 2.75/14.5 = 50.95 mm."""
    front = np.full(88, 50.0)
    front[44] = 55.0
    middle = (PLAN.front_pin_mm[42] + PLAN.front_pin_mm[43]) / 2.0
    reach = np.array([0.0, 400.0])
    wide = strut(43, width_mm=20.0, start_mm=middle - reach, end_mm=middle + reach)
    top = topped(LINE, front, np.full(88, 40.0))
    (found,) = [each for each in strut_clearances(top, PLAN, [wide]) if each.bridge == "long"]
    assert found.clearance_mm == pytest.approx(60.0 - 50.95, abs=0.13)  # looked at every fortieth of a gap
    assert found.notes == (42, 45)
