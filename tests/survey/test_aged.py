"""A set against what the years alone take: signs, bands, and words, on the lopsided sample."""

import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).resolve().parents[1] / "cli"))
from schemas import valid

from bellywork.answers.crown_answer import _beyond, aged_table
from bellywork.cli.main import main
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC
from bellywork.seasons import outlook as outlooks
from bellywork.seasons.life import life_of
from bellywork.seasons.outlook import Outlook, outlook
from bellywork.survey.aged import Aged, aged
from bellywork.survey.loss import Survey, surveyed

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
YEARS = 0.1


@pytest.fixture(scope="module", autouse=True)
def one_thing_not_known() -> object:
    usual, *varied = outlooks.cases(life_of(read_board(LOPSIDED).board))
    few = [usual, next(case for case in varied if case.growth_share == 1.2)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(outlooks, "cases", lambda _: few)
        yield


@pytest.fixture(scope="module")
def ready() -> Instrument:
    return prepared(read_board(LOPSIDED).board)


@pytest.fixture(scope="module")
def survey(ready: Instrument) -> Survey:
    return surveyed(ready)


@pytest.fixture(scope="module")
def told(survey: Survey) -> Aged:
    return aged(survey, life=life_of(survey.board), years=YEARS)


def test_the_years_take_what_a_board_of_this_description_loses(survey: Survey, told: Aged) -> None:
    """Another path: the outlook itself; what sinks from 5 to 4 mm has lost 1."""
    seen: Outlook = outlook(survey.ready, life=life_of(survey.board), days=(0.0, YEARS * 365.25))
    assert [rib.rib for rib in told.ribs] == [name for name in survey.surest if name in seen.rib]
    assert len(told.ribs) >= 2
    for rib in told.ribs:
        k = seen.rib.index(rib.rib)
        just, then = seen.middle["rib_rise_mm"][:, k]
        assert rib.normal_mm == pytest.approx(just - then, abs=1e-9)
        assert rib.normal_low_mm == pytest.approx(just - seen.high["rib_rise_mm"][1, k], abs=1e-9)
        assert rib.normal_high_mm == pytest.approx(just - seen.low["rib_rise_mm"][1, k], abs=1e-9)
        assert rib.normal_low_mm <= rib.normal_mm <= rib.normal_high_mm
        found = survey.surest[rib.rib]
        assert rib.beyond_mm == pytest.approx(found.set_mm - rib.normal_mm)
        above = np.hypot(found.set_uncertainty_mm, rib.normal_mm - rib.normal_low_mm)
        below = np.hypot(found.set_uncertainty_mm, rib.normal_high_mm - rib.normal_mm)
        assert rib.beyond_high_mm - rib.beyond_mm == pytest.approx(above)
        assert rib.beyond_mm - rib.beyond_low_mm == pytest.approx(below)


def test_more_than_the_years_take_is_said_with_its_rib(told: Aged) -> None:
    first, *others = told.ribs
    most = replace(first, beyond_mm=2.0, beyond_low_mm=1.2, beyond_high_mm=2.6, normal_mm=0.4)
    fine = tuple(replace(rib, beyond_mm=0.1, beyond_low_mm=-0.2, beyond_high_mm=0.4) for rib in others)
    (words,) = _beyond(replace(told, years=60.0, ribs=(*fine, most)), METRIC)
    assert words == (
        f"More is lost than 60 years alone take at rib {first.rib}: most at rib {first.rib}, +2.00 mm beyond the 0.40 "
        "mm of its years."
    )
    (words,) = _beyond(replace(told, years=60.0, ribs=fine), METRIC)
    assert words == "Nowhere is more lost than 60 years alone take, as far as that can be told."
    assert _beyond(None, METRIC) == ()
    table = aged_table(replace(told, ribs=(most,)))
    assert table.rows()[0]["beyond_mm_low"] == 1.2


def test_on_the_command_line(capsys: pytest.CaptureFixture[str], told: Aged) -> None:
    main(["crown", str(LOPSIDED), "--years", str(YEARS), "--json"])
    answer = json.loads(capsys.readouterr().out)
    valid(answer)
    for row, rib in zip(answer["aged"], told.ribs, strict=True):
        assert (row["rib"], row["normal_mm"]) == (rib.rib, pytest.approx(rib.normal_mm, abs=1e-6))
    assert main(["crown", str(LOPSIDED), "--air", "35:60"]) == 2
