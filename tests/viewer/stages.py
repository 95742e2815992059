"""The sample grand on stage, made once for all tests of a process."""

from functools import cache
from pathlib import Path

from bellywork_viewer.scene import Stage

from bellywork.board import Board
from bellywork.files.read import read_board

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


@cache
def board(name: str = "seven_foot_grand") -> Board:
    return read_board(SAMPLES / name).board


@cache
def stage(name: str = "seven_foot_grand") -> Stage:
    return Stage(board(name))
