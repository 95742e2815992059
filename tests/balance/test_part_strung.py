"""Strings half on: which notes press, what the board does under them, and back to the bare board."""

from dataclasses import replace
from pathlib import Path
from shutil import copytree

import numpy as np
import pytest

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.balance.sink import SinkSource, predicted_sink
from bellywork.board import Board, State
from bellywork.errors import BoardError, MissingLayer
from bellywork.files.read import read_board
from bellywork.geometry.string_line import downforce_N, pin_forces_N
from bellywork.instrument import prepared

LOPSIDED = Path(__file__).resolve().parents[2] / "sample_boards" / "lopsided_board"
BARE = read_board(LOPSIDED).board
LOWER = tuple(range(40, 58))  # lopsided: the lower bridge's end and a little more


def board(*notes: int) -> Board:
    return replace(BARE, part_strung=notes or LOWER)


def test_all_notes_on_is_strung() -> None:
    """Invariant: the same balance to the last digit."""
    every = board(*range(1, 89))
    for name in ("net_deg", "sink_mm", "downforce_N"):
        part, strung = (getattr(bearing(every, state=state), name) for state in (State.PART, State.STRUNG))
        np.testing.assert_array_equal(part, strung)


def test_only_what_is_on_presses_and_all_sink_under_it() -> None:
    """By hand: sink = C f, C the small compliance and f the forces of the notes that are on; the rest feel it too."""
    ready = prepared(board())
    table = bearing(ready, state=State.PART)
    on = np.isin(table.line.note, LOWER)
    assert 0 < on.sum() < len(on)
    force = np.where(np.tile(on, 2), np.concatenate(pin_forces_N(table.line, ready.pull_N)), 0.0)
    small = predicted_sink(ready).response.small_mm_N @ force
    np.testing.assert_allclose(table.sink_mm, small.reshape(2, -1).mean(0), rtol=0.03)
    np.testing.assert_array_equal(table.downforce_N, np.where(on, downforce_N(table.line, ready.pull_N), 0.0))
    assert table.total_downforce_N == pytest.approx(table.downforce_N[on].sum())
    strung = bearing(ready, state=State.STRUNG)
    assert np.all((table.sink_mm > 0.0) & (table.sink_mm < strung.sink_mm))
    assert "On are notes 40 to 57 (C4 to F5); the others press nowhere." in table.assumptions


def test_heights_read_half_strung_lead_to_the_same_board() -> None:
    """Invariant, there and back: heights that the half-strung board has, read as such, are those of the bare board."""
    ready = prepared(board())
    sink = predicted_sink(ready)
    read = replace(board(), strings=sink.moved(ready.board.strings, State.PART), measured_in=State.PART)
    back = predicted_sink(prepared(read)).bare(prepared(read).board.strings, State.PART)
    np.testing.assert_allclose(back.top_mm, ready.board.strings.top_mm, atol=2e-4)
    for state in (State.BARE, State.STRUNG):
        np.testing.assert_allclose(bearing(read, state=state).net_deg, bearing(ready, state=state).net_deg, atol=2e-3)
    half, bare = plane(read), plane(ready)
    np.testing.assert_allclose(half.plane_front_mm, bare.plane_front_mm, atol=1e-3)
    np.testing.assert_allclose(half.block_mm, bare.block_mm, atol=1e-3)  # worked on without its strings
    assert half.working is State.BARE
    with pytest.raises(BoardError, match="not under its strings"):
        plane(read, working=State.PART)


def test_what_is_not_known_is_said() -> None:
    with pytest.raises(MissingLayer, match=r"^The part-strung state needs to know which notes are on"):
        bearing(BARE, state=State.PART)
    inches = replace(read_board(LOPSIDED.parent / "string_line_inches").board, part_strung=(1, 13))
    with pytest.raises(MissingLayer, match=r"^The sink of a part-strung board follows from the board itself"):
        bearing(inches, state=State.PART, sink=SinkSource.MEASURED)


def test_it_is_said_in_the_folder(tmp_path: Path) -> None:
    folder = Path(copytree(LOPSIDED, tmp_path / "board"))
    text = (folder / "board.toml").read_text(encoding="utf-8")
    assert text.count('state = "bare"') == 1
    said = text.replace('state = "bare"', 'state = "part-strung"\nstrung = "C4-F5, 73"')
    (folder / "board.toml").write_text(said, encoding="utf-8")
    read = read_board(folder).board
    assert (read.measured_in, read.part_strung) == (State.PART, (*LOWER, 73))
    assert bearing(read).state is State.PART  # as measured
