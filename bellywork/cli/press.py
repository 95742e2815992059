"""`bellywork press BOARD --at PLACE --force FORCE [--read PLACE …]`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, add_climate, add_rim, board_from, climate_asked, finite, progress
from bellywork.cli.learned import Learning, add_as_described
from bellywork.cli.told import add_output, tell
from bellywork.conventions import UNITS
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from bellywork.answers.answer import Answer
    from bellywork.board import Board


def main(argv: Sequence[str] | None = None) -> int:
    """Say how far the board sinks under given pushes."""
    parser = Parser(
        "press",
        "What a go-bar, a wedge or a trial load does to the board: sink under given pushes, down positive.",
        "A PLACE is X,Y in the board's plan, or a note such as C4 or 40: the bridge midway between its pins. Several "
        "pushes:\nrepeat --at and --force in pairs. Places and forces are in the units of --units.",
    )
    add_board(parser)
    parser.add_argument("--at", action="append", default=[], metavar="PLACE", help="where it presses")
    parser.add_argument("--force", type=finite, action="append", default=[], metavar="F", help="how hard, down")
    parser.add_argument(
        "--where", action="store_true", help="say instead where a load and a dial would tell most of this board"
    )
    parser.add_argument("--read", nargs="+", action="extend", default=[], metavar="PLACE", help="read here too")
    add_rim(parser)
    add_as_described(parser)
    add_climate(parser, "take the woods' stiffness at this relative humidity in %%")
    add_output(parser, csv=False)
    words = parser.parse_args(argv)
    climate_asked(parser, words)
    if words.where == bool(words.at or words.force or words.read):
        parser.error("found neither --where nor --at with --force, or both, expected one of the two")
    if len(words.at) != len(words.force):
        parser.error(f"found {len(words.at)} --at and {len(words.force)} --force, expected one --force for each --at")
    found = board_from(words.board)
    from bellywork.answers.press_answer import press_answer
    from bellywork.balance.places import places_mm
    from bellywork.balance.pressing import press
    from bellywork.review.sink_review import sunk_too_far

    board = found.board if words.rh is None else _in_climate(found.board, words)
    if words.where:
        return tell(_where(board, words), found, words)
    asked = places_mm(board, [*words.at, *words.read], unit=words.units.decimal)
    factor = UNITS[words.units.force].factor
    at, read, forces = asked[: len(words.at)], asked[len(words.at) :], [factor * force for force in words.force]
    with progress("Computing the board"):
        pressed = press(Learning(board, words).ready, places_mm=at, forces_N=forces, read_mm=read)
    greatest = max((*pressed.push_sink_mm, *pressed.sink_mm), key=abs)
    findings = sunk_too_far(board.needed_body("Pressing on the board"), greatest)
    told = press_answer(board.name, pressed, words.at, words.read or words.at, units=words.units, findings=findings)
    return tell(told, found, words)


def _where(board: Board, words: argparse.Namespace) -> Answer:
    from bellywork.answers.where_answer import where_answer
    from bellywork.estimate.where import where_to_read

    with progress("Looking for the places that tell most"):
        estimate = Learning(board, words).estimate
        advice = where_to_read(estimate)
    return where_answer(board.name, estimate, advice, units=words.units)


def _in_climate(board: Board, words: argparse.Namespace) -> Board:
    """The board with another climate; its crown is left as it is."""
    from bellywork.board.state import Climate
    from bellywork.seasons.year import range_of_rh

    humidities = range_of_rh(words.rh)
    if len(humidities) > 1:
        raise BoardError(f"Found '{words.rh}' as relative humidity, expected one.")
    return replace(board, climate=Climate(rh_percent=humidities[0], temperature_C=words.temperature))
