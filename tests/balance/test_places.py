"""Places as people name them. Kinds of expected numbers: worked out by hand from the sample's table."""

from pathlib import Path

import pytest

from bellywork.balance.places import places_mm
from bellywork.errors import BoardError, MissingLayer
from bellywork.files.read import read_board

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
GRAND = read_board(SAMPLES / "seven_foot_grand").board


def test_a_point_is_in_the_users_unit() -> None:
    assert places_mm(GRAND, ["700,600", " 1, 2.5 "]).tolist() == [[700.0, 600.0], [1.0, 2.5]]
    assert places_mm(GRAND, ["10,-1"], unit="in").tolist() == [[254.0, -25.4]]
    assert places_mm(GRAND, []).shape == (0, 2)


@pytest.mark.parametrize("word", ["C4", "c4", "40"])
def test_a_note_is_the_bridge_midway_between_its_pins(word: str) -> None:
    row = (SAMPLES / "seven_foot_grand" / "string_plan.csv").read_text(encoding="utf-8").splitlines()
    head = row[0].split(",")
    cells = next(dict(zip(head, line.split(","))) for line in row if line.split(",")[0] == "40")
    middle = [sum(float(cells[f"{pin}_{axis}_mm"]) for pin in ("front_pin", "rear_pin")) / 2.0 for axis in "xy"]
    assert places_mm(GRAND, [word])[0] == pytest.approx(middle)


@pytest.mark.parametrize("word", ["x", "1,2,3", "nan,1", "1;2", "H4"])
def test_anything_else_is_named(word: str) -> None:
    with pytest.raises(BoardError) as error:
        places_mm(GRAND, [word], unit="in")
    assert str(error.value) == (
        f"Found '{word}' as a place, expected X,Y in in, for example 620,480, or a note such as C4."
    )


def test_a_note_needs_the_plan() -> None:
    with pytest.raises(MissingLayer, match=r"^A place by its note needs the strings' points in plan"):
        places_mm(read_board(SAMPLES / "string_line_inches").board, ["C4"])
