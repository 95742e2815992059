"""What a board goes through: air in words and in logs, the day of stringing, the shop before it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bellywork.board.board import Board
from bellywork.board.state import Climate
from bellywork.errors import BoardError, UnusableInput
from bellywork.seasons.life import UNTUNED, Life, air_named, life_of

MAY_4 = Board(name="test", climate=Climate(rh_percent=42.0, temperature_C=21.5, date="2026-05-04"))
UNDATED = Board(name="test")


def log(folder: Path, first: str = "2026-04-20", days: int = 60) -> Path:
    """A log of so many days at 45 %, 55 % from its twentieth day on."""
    begin = np.datetime64(first)
    rows = [f"{begin + np.timedelta64(k, 'D')},{45 if k < 20 else 55}" for k in range(days + 1)]
    path = folder / "shop log.csv"
    path.write_text("\n".join(["date,rh", *rows]), encoding="utf-8")
    return path


def test_a_year_is_said_by_its_ends_its_months_or_one_humidity() -> None:
    months = [40, 38, 39, 42, 48, 55, 60, 62, 55, 48, 44, 41]
    assert air_named("35:60").at(np.array([212.0]))[0] == pytest.approx(60.0, abs=0.01)
    assert air_named("45").at(np.array([0.0, 200.0])).tolist() == [45.0, 45.0]
    by_month = air_named(",".join(map(str, months)))
    assert by_month.at(365.25 * (np.arange(12) + 0.5) / 12.0) == pytest.approx(months)


@pytest.mark.parametrize(
    "words", ["", "60:35", "35:130", "30,65", "3-60", "40,38,39", "wet", "35:60:20", "nan", "0.3:0.6"]
)
def test_other_words_are_refused_with_what_was_expected(words: str) -> None:
    with pytest.raises(BoardError, match=f"^Found '{words}' as air; expected relative humidities in %: the driest"):
        air_named(words)


def test_it_is_strung_on_the_date_of_the_measurement_else_in_may() -> None:
    """By hand: 4 May is the 124th day of a year, 1 May the 121st."""
    dated, undated = life_of(MAY_4, "35:60", finish="bare"), life_of(UNDATED)
    assert (dated.start_day, undated.start_day) == (123.0, 120.0)
    assert (dated.temperature_C, undated.temperature_C) == (21.5, 20.0)
    assert (dated.shop_rh_percent, undated.shop_rh_percent) == (42.0, None)
    assert dated.assumptions == (
        "In the shop at 42 % RH until it is strung, then in air of 35 to 60 % RH, as a sine dampest on 1 August, 21.5 "
        "°C. The panel is bare.",
        "Strung on 2026-05-04, the date of the measurement, 30 days after the board was glued into its rim, and kept "
        "at pitch.",
    )
    assert undated.assumptions[0].startswith("In air of 30 to 65 % RH, as a sine dampest on 1 August, 20 °C.")
    assert "Strung on 1 May (no date stands in [measured] of board.toml), 30 days" in undated.assumptions[1]


def test_strings_left_alone_are_said() -> None:
    told = {word: life_of(MAY_4, untuned=word).assumptions[1] for word in UNTUNED}
    assert all(
        "and brought to pitch then and never again: the strings pull as they stretch" in each for each in told.values()
    )
    assert told["holding"].endswith("held by the bridge pins, so that speaking and back length stretch by themselves.")
    assert told["slipping"].endswith("so that they stretch over their whole length.")


def test_the_shop_holds_until_the_stringing_and_the_air_from_then_on() -> None:
    life = Life(air=air_named("30:70"), start_day=100.0, shop_rh_percent=44.0, before_days=30.0)
    days = np.array([0.0, 29.9, 30.0, 31.0, 142.0])
    assert life.rh_percent(days) == pytest.approx([44.0, 44.0, 44.0, life.air.at(np.array([101.0]))[0], 70.0], abs=0.01)
    bare = replace(life, shop_rh_percent=None)
    assert bare.rh_percent(days) == pytest.approx(life.air.at(70.0 + days))


def test_a_log_is_followed_from_its_own_days(tmp_path: Path) -> None:
    """By hand: 4 May is the fourteenth day after 20 April; 10 May, six days later, is the twentieth."""
    life = life_of(MAY_4, str(log(tmp_path)), days=46.0)
    assert (life.before_days, life.start_day, life.shop_rh_percent) == (14.0, 14.0, None)
    assert life.rh_percent(np.array([0.0, 14.0, 19.0, 20.0, 60.0])).tolist() == [45.0, 45.0, 45.0, 55.0, 55.0]
    early = life_of(MAY_4, str(log(tmp_path, "2026-01-01", 200)))
    assert (early.before_days, early.start_day) == (30.0, 123.0)
    assert "In air of shop log.csv" in life.assumptions[0]


def test_without_a_date_it_is_strung_a_day_after_the_log_begins(tmp_path: Path) -> None:
    life = life_of(UNDATED, str(log(tmp_path)), days=59.0)
    assert (life.before_days, life.start_day) == (1.0, 1.0)
    assert "Strung on the day after shop log.csv begins (no date stands in [measured]" in life.assumptions[1]


def test_a_log_that_does_not_reach_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BoardError, match=r"^shop log\.csv tells of 46 days after the stringing; 47 were asked for\. "):
        life_of(MAY_4, str(log(tmp_path)), days=47.0)
    with pytest.raises(BoardError, match=r"^shop log\.csv begins on 2026-05-04; the board was strung on 2026-05-04\. "):
        life_of(MAY_4, str(log(tmp_path, "2026-05-04")))
    with pytest.raises(UnusableInput):
        life_of(MAY_4, str(tmp_path / "none.csv"))
