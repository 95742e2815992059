"""The sample grand and what its sheets are made of, worked out once."""

from pathlib import Path

import pytest

from bellywork.balance.plane import PlaneTable, plane
from bellywork.files.read import BoardFile, read_board
from bellywork.sheets.frame import Stamp, stamp_of

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"


@pytest.fixture(scope="session")
def grand() -> BoardFile:
    return read_board(SAMPLES / "seven_foot_grand")


@pytest.fixture(scope="session")
def schedule(grand: BoardFile) -> PlaneTable:
    return plane(grand.board, plate_first=True)


@pytest.fixture(scope="session")
def stamp(grand: BoardFile) -> Stamp:
    return stamp_of(grand.board, grand.fingerprint, "0.1.0")
