"""Later days on the command line: `bearing --after`, `plane --after`, `season --years`."""

from pathlib import Path

import pytest
from schemas import valid

from bellywork.seasons import outlook as outlooks
from bellywork.seasons import plane_after as planing

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
LOPSIDED = SAMPLES / "lopsided_board"


@pytest.fixture(autouse=True)
def the_middle_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is not known is tested where it is computed; here it would only take long."""
    cases = outlooks.cases
    monkeypatch.setattr(outlooks, "cases", lambda life: cases(life)[:1])
    monkeypatch.setattr(planing, "cases", lambda life: cases(life)[:1])


def test_bearing_on_a_later_day(ran) -> None:
    answer = ran("bearing", LOPSIDED, "--after", "1w", "--json")
    valid(answer.json)
    assert answer.json["state"] == "strung"
    assert answer.json["headline"][0] == "1 week after the stringing; 'before' is just strung."
    for note in answer.json["notes"]:
        assert note["net_change_deg"] == pytest.approx(note["net_deg"] - note["against_net_deg"])
        assert note["net_deg_low"] <= note["net_deg"] <= note["net_deg_high"]
    # one question, one answer, but for the steps on the way there
    told = ran("season", LOPSIDED, "--years", repr(7.0 / 365.25), "--json")
    valid(told.json)
    week = {each["note"]: each["net_deg"] for each in told.json["notes"] if each["day"] == pytest.approx(7.0)}
    assert week == pytest.approx({note["note"]: note["net_deg"] for note in answer.json["notes"]}, abs=1e-3)


def test_planing_for_a_later_day(ran) -> None:
    answer = ran("plane", LOPSIDED, "--after", "1w", "--json")
    valid(answer.json)
    today = {note["note"]: note["plane_front_mm"] for note in ran("plane", LOPSIDED, "--json").json["notes"]}
    for note in answer.json["notes"]:
        assert note["leave_mm"] == pytest.approx(today[note["note"]] - note["plane_front_mm"], abs=1e-6)
    cut, leave, sure, strung, press, *_ = answer.json["headline"]
    assert cut.startswith(("Cut up to", "Nothing to cut"))
    assert leave.startswith("For bearing as wanted 1 week after the stringing leave more wood")
    assert sure.startswith("That is the middle of what is known")
    assert strung.startswith("Strung, 1 week after that, ")
    assert press.startswith("The strings then press ")


def test_strings_that_nobody_tunes(ran) -> None:
    answer = ran("bearing", LOPSIDED, "--after", "1w", "--untuned", "slipping", "--json")
    valid(answer.json)
    tuned = ran("bearing", LOPSIDED, "--after", "1w", "--json").json["notes"]
    assert any("never again: the strings pull as they stretch, slipping" in each for each in answer.json["assumptions"])
    off = [note["tension_N"] / other["tension_N"] - 1.0 for note, other in zip(answer.json["notes"], tuned)]
    assert 2e-4 < max(map(abs, off)) < 0.05
    schedule = ran("plane", LOPSIDED, "--after", "1w", "--untuned", "holding", "--json")
    kept = ran("plane", LOPSIDED, "--after", "1w", "--json")
    valid(schedule.json)
    depths = [[note["plane_front_mm"] for note in each.json["notes"]] for each in (schedule, kept)]
    assert 0.002 < max(abs(one - other) for one, other in zip(*depths)) < 0.3


def test_the_years_as_text_table_and_picture(ran, tmp_path: Path) -> None:
    answer = ran("season", LOPSIDED, "--years", "0.1", "--air", "40:55", "--plot", tmp_path / "years.svg", "--csv",
                 tmp_path / "years.csv")  # fmt: skip
    assert answer.out.startswith("Lopsided board, invented: 37 days under the strings, in air of 40 to 55 % RH")
    picture = (tmp_path / "years.svg").read_text(encoding="utf-8")
    assert "net bearing under the strings" in picture.lower()
    lines = [line for line in (tmp_path / "years.csv").read_text(encoding="utf-8").splitlines() if line[0] != "#"]
    assert lines[0].split(",")[:4] == ["day", "note", "name", "net_deg"]
    assert len(lines) == 1 + 5 * 34


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bearing", "--after", "soon"), "Found 'soon' as a time; expected a number and d, w, m or y"),
        (("bearing", "--air", "35:60"), "found --air, --finish or --untuned without --after or --history"),
        (("plane", "--finish", "bare"), "found --air, --finish or --untuned without --after, expected both"),
        (("season", "--air", "35:60"), "found --air, --finish or --untuned without --years, expected both"),
        (("season", "--untuned", "holding"), "found --air, --finish or --untuned without --years, expected both"),
        (("season", "--years", "3", "--rh", "40"), "found --years with --rh or --temperature"),
        (("season", "--against", LOPSIDED), "found --against without --years, expected both"),
        (("season", "--years", "0"), "Found 0 years, expected more than 0 and at most 100."),
        (("season", "--years", "1", "--air", "60:35"), "Found '60:35' as air; expected relative humidities in %"),
        (("season", "--years", "1", "--air", ""), "Found '' as air; expected relative humidities in %"),
        (("bearing", "--after", "1y", "--rh", "40"), "found --after with --state, --sink or one of --plate-up"),
        (("bearing", "--after", "1y", "--state", "bare"), "found --after with --state"),
        (("plane", "--after", "1y", "--plate-first"), "found --after with --rh or --plate-first"),
        (("plane", "--after", "1y", "--sink", "measured"), "found --after with --rh or --plate-first, --sink"),
        (("plane", "--after", "1y", "--band"), "found --after with --rh or --plate-first, --sink or --band"),
        (("bearing", "--after", "1y", "--band"), "found --after with --state"),
        (("bearing", "--history", "--state", "bare"), "found --history with --after, --state"),
        (("bearing", "--history", "--after", "1y"), "found --history with --after, --state"),
        (("bearing", "--history", "--plate-up", "1"), "found --history with --after, --state"),
    ],
)
def test_what_does_not_go_together_is_one_sentence(ran, words: tuple[str, ...], said: str) -> None:
    answer = ran(words[0], LOPSIDED, *words[1:])
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith(f"bellywork: {said}") or f"\nbellywork: {said}" in answer.err
