"""The air around a board: years, logs, steps, and what is wrong with a log."""

import datetime
from pathlib import Path

import numpy as np
import pytest

from bellywork.errors import BoardError, UnusableInput
from bellywork.seasons.air_log import read_air_log
from bellywork.seasons.history import BENT_PERCENT, LONGEST_DAYS, history, monthly_air, sine_air, still_air
from bellywork.seasons.sorption import Sorption, lag_days

AT_ONCE = Sorption(lag_days=0.0, single=1.0)


def test_a_year_returns_and_is_dampest_when_told() -> None:
    air = sine_air(low_percent=30.0, high_percent=60.0, dampest_day=200.0)
    days = np.arange(0.0, 365.0)
    rh = air.at(days)
    assert int(np.argmax(rh)) == 200
    assert (rh.min(), rh.max()) == pytest.approx((30.0, 60.0), abs=0.1)
    assert air.at(days + 3 * 365.25) == pytest.approx(rh)


def test_months_at_their_middles() -> None:
    months = [35, 34, 38, 42, 50, 58, 62, 63, 57, 49, 42, 37]
    air = monthly_air(months)
    assert air.at((np.arange(12) + 0.5) * 365.25 / 12.0) == pytest.approx(months)
    assert air.at(np.array([0.0]))[0] == pytest.approx(36.0)  # between December and January
    with pytest.raises(BoardError, match=r"^A year has twelve months; 11 humidities were given\.$"):
        monthly_air(months[:11])
    with pytest.raises(BoardError, match=r"^Air needs days in order and relative humidities from 0 to 100 %\.$"):
        monthly_air([*months[:11], 101])


def test_steps_are_fine_after_a_change_and_grow() -> None:
    past = history(still_air(42.0).at, AT_ONCE, days=3652.5, start_percent=8.0, changes=[100.0], asked=[365.25])
    steps = np.diff(past.stop_day)
    assert steps[0] == pytest.approx(1.0 / 24.0)
    assert steps.max() <= 1.25 * LONGEST_DAYS
    assert {0.0, 100.0, 365.25, 3652.5} <= set(past.stop_day.tolist())
    after = past.stop_day[past.stop_day > 100.0][0] - 100.0
    assert after == pytest.approx(1.0 / 24.0)
    assert len(steps) < 1.4 * 3652.5 / LONGEST_DAYS  # a decade is little more than its longest steps
    assert steps.sum() == pytest.approx(3652.5)


def test_no_step_hides_a_turn_of_moisture() -> None:
    """Invariant: within a step moisture goes one way, and what it travelled is what the fine days travelled."""
    past = history(
        sine_air(low_percent=30.0, high_percent=65.0).at, Sorption(lag_days=10.0), days=1500.0, start_percent=8.0
    )
    net = np.abs(np.diff(past.stop_moisture_percent)) / 100.0
    assert past.travelled.sum() == pytest.approx(np.abs(np.diff(past.moisture_percent)).sum() / 100.0)
    assert net.sum() > 0.99 * past.travelled.sum()


@pytest.mark.parametrize("finer", [1.0, 2.0])
def test_moisture_goes_straight_within_a_step(finer: float) -> None:
    """Invariant: where hysteresis bends the way of moisture there is a stop; twice as fine is four times as near."""
    past = history(
        sine_air(low_percent=30.0, high_percent=65.0).at,
        Sorption(lag_days=3.0, single=0.0),
        days=1500.0,
        start_percent=8.0,
        finer=finer,
    )
    straight = np.interp(past.day, past.stop_day, past.stop_moisture_percent)
    assert np.abs(past.moisture_percent - straight).max() <= BENT_PERCENT / finer**2
    assert len(past.stops) < finer * 100


def test_varnish_lags_and_weather_is_smoothed() -> None:
    """Common practice, no source: weather acts on a board, a wet day does not."""
    days = np.arange(0.0, 61.0)
    wet = np.where(days == 30.0, 90.0, 45.0)
    bare, varnished = (
        Sorption(lag_days=lag_days(finish)[0], single=1.0).followed(days, wet, 8.45) for finish in ("bare", "varnished")
    )
    at_once = AT_ONCE.followed(days, wet, 8.45)
    assert np.ptp(varnished) < 0.5 * np.ptp(bare) < 0.2 * np.ptp(at_once)
    year = np.linspace(0.0, 730.0, 731)
    rh = 47.0 + 17.0 * np.sin(2.0 * np.pi * year / 365.25)
    followed = Sorption(lag_days=10.0, single=1.0).followed(year, rh, 9.0)
    assert int(np.argmax(followed[365:])) - int(np.argmax(rh[365:])) == pytest.approx(10, abs=2)


def test_wood_too_wet_is_refused() -> None:
    with pytest.raises(
        BoardError,
        match=r"^The wood would come to 2\d\.\d % moisture; beyond 20 % nothing is known of how it creeps\. It passes "
        r"that 6 days after it was glued in, in air of 95 % RH: correct that humidity if it was read wrong\.$",
    ):
        history(lambda days: np.where(days < 6.0, 60.0, 95.0), AT_ONCE, days=10.0, start_percent=9.0)


def test_air_that_ends_before_the_history() -> None:
    with pytest.raises(BoardError, match=r"^A history needs more than 0 days; got 0\.$"):
        history(still_air(50.0).at, AT_ONCE, days=0.0, start_percent=9.0)


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "air.csv"
    path.write_text(text, encoding="utf-8")
    return path


def log(moments: list[str], rh: list[object], header: str = "date,rh_percent") -> str:
    return header + "\n" + "".join(f"{moment},{value}\n" for moment, value in zip(moments, rh))


def test_a_log_is_read_as_it_stands(tmp_path: Path) -> None:
    text = log(["2025-11-02 06:00", "2025-11-03 06:00", "2025-11-10 18:00"], ["41.5", "43 %", "38"], "Time,RH (%)")
    air, begin = read_air_log(written(tmp_path, text))
    assert begin == datetime.datetime(2025, 11, 2, 6)
    assert air.days == pytest.approx([0.0, 1.0, 8.5])
    assert air.rh_percent == pytest.approx([41.5, 43.0, 38.0])
    past = history(air.at, AT_ONCE, days=8.5, start_percent=8.0)
    assert past.rh_percent[-1] == pytest.approx(38.0)
    with pytest.raises(BoardError, match=r"^air\.csv tells of 8 days; the history asks for those from day 0 to 20\.$"):
        history(air.at, AT_ONCE, days=20.0, start_percent=8.0)


def test_semicolons_and_decimal_commas(tmp_path: Path) -> None:
    air, _ = read_air_log(written(tmp_path, "Datum/date;T;Humidity\n2025-01-01;20,1;41,5\n2025-01-02;20,3;42\n"))
    assert air.rh_percent == pytest.approx([41.5, 42.0])


MONTH = [f"2025-03-{day:02d}" for day in range(1, 13)]
SPOILED = {
    "column-missing": (log(MONTH, [40] * 12, "date,value"), 1, "rh"),
    "date-unreadable": (log([*MONTH[:4], "5.3.2025", *MONTH[5:]], [40] * 12), 6, "date"),
    "not-a-number": (log(MONTH, [40] * 7 + ["--"] + [40] * 4), 9, "rh_percent"),
    "humidity-impossible": (log(MONTH, [40] * 3 + [112] + [40] * 8), 5, "rh_percent"),
    "log-out-of-order": (log([*MONTH[:5], MONTH[8], MONTH[6], *MONTH[9:]], [40] * 10), 8, ""),
    "log-gap": (log([*MONTH[:6], "2025-04-01"], [40] * 7), 8, ""),
    "log-too-short": (log(MONTH[:1], [40]), None, ""),
}


@pytest.mark.parametrize("code", SPOILED)
def test_what_is_wrong_with_a_log_is_named(code: str, tmp_path: Path) -> None:
    text, row, column = SPOILED[code]
    with pytest.raises(UnusableInput) as caught:
        read_air_log(written(tmp_path, text))
    findings = caught.value.findings
    assert [finding.code for finding in findings] == [code]
    assert (findings[0].place.file, findings[0].place.row) == ("air.csv", row)
    assert findings[0].place.column == column
    assert findings[0].remedy.endswith(".")


def test_a_log_of_shares_is_not_taken_for_per_cent(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_air_log(written(tmp_path, log(MONTH, [0.45] * 12)))
    assert {(each.code, each.expected) for each in caught.value.findings} == {
        ("humidity-impossible", "above 1 and at most 100 %")
    }


def test_every_fault_of_a_log_is_said_at_once(tmp_path: Path) -> None:
    text = log(["2025-01-01", "x", "2025-01-03", "2025-01-04"], [40, 41, -3, 101])
    with pytest.raises(UnusableInput) as caught:
        read_air_log(written(tmp_path, text))
    assert [finding.place.row for finding in caught.value.findings] == [3, 4]
    assert caught.value.findings[1].found == "-3 % and 1 more such row"


@pytest.mark.parametrize(
    "moments",
    [
        ["11/29/2025 11:00 PM", "11/30/2025 12:30 AM", "12/01/2025 1:00 AM"],
        ["29.11.2025 23:00", "30.11.2025 00:30", "1.12.2025 01:00"],
        ["29/11/2025 23:00:00", "30/11/2025 00:30:00", "01/12/2025 01:00:00"],
    ],
)
def test_a_loggers_dates_are_read_where_they_can_mean_one_day_only(moments: list[str], tmp_path: Path) -> None:
    """Worked out by hand: an hour and a half, and a day and half an hour after that."""
    air, begin = read_air_log(written(tmp_path, log(moments, [40, 41, 42])))
    assert begin == datetime.datetime(2025, 11, 29, 23)
    assert air.days == pytest.approx([0.0, 1.5 / 24.0, 26.0 / 24.0])


@pytest.mark.parametrize(
    "moments", [["03/04/2025", "03/05/2025", "03/06/2025"], ["13.4.2025", "4.14.2025", "15.4.2025"]]
)
def test_dates_that_may_mean_two_days_or_none_are_not_guessed(moments: list[str], tmp_path: Path) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_air_log(written(tmp_path, log(moments, [40, 41, 42])))
    (finding,) = caught.value.findings
    assert (finding.code, finding.place.row) == ("date-unreadable", 2)
    assert finding.found == f"'{moments[0]}' and 2 more such rows"


def test_a_log_without_its_columns_says_which_it_has(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_air_log(written(tmp_path, "Datum;Feuchte\n2025-01-01;40\n2025-01-02;41\n"))
    assert [each.found for each in caught.value.findings] == ["the columns Datum, Feuchte"] * 2


def test_a_log_with_its_latest_record_first_is_named_once(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput) as caught:
        read_air_log(written(tmp_path, log(MONTH[::-1], [40] * 12)))
    (finding,) = caught.value.findings
    assert finding.found == "2025-03-11 00:00 after 2025-03-12 00:00 and 10 more such rows"


def test_a_missing_or_empty_log(tmp_path: Path) -> None:
    with pytest.raises(UnusableInput):
        read_air_log(tmp_path / "none.csv")
    with pytest.raises(UnusableInput):
        read_air_log(written(tmp_path, ""))
