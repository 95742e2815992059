"""`bellywork press BOARD --at X,Y --newtons N [--read X,Y …]`."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from bellywork.cli.common import (
    CAUTION,
    Parser,
    add_board,
    add_climate,
    add_output,
    add_rim,
    answer,
    board_from,
    climate_asked,
    finite,
    look_at,
    print_json,
    progress,
)
from bellywork.cli.main import EXIT_FINDINGS, EXIT_FINE
from bellywork.cli.text import UNIT_SETS, Column, Units, number, paragraph, table
from bellywork.errors import BoardError

if TYPE_CHECKING:
    from bellywork.balance.pressing import Pressed
    from bellywork.board import Board
    from bellywork.board.arrays import Floats

SCHEMA = "bellywork-press/1"


def point(text: str) -> tuple[float, float]:
    """A point X,Y in mm from a command line."""
    try:
        x, y = (finite(part) for part in text.split(","))
    except (ValueError, argparse.ArgumentTypeError):
        raise argparse.ArgumentTypeError(f"found '{text}', expected X,Y in mm, for example 620,480") from None
    return x, y


def main(argv: Sequence[str] | None = None) -> int:
    """Say how far the board sinks under given pushes."""
    parser = Parser(
        "press",
        "What a go-bar, a wedge or a trial load does to the board: sink under given pushes, down positive.",
        "Several pushes: repeat --at and --newtons in pairs. Points are X,Y in mm in the board's plan.",
    )
    add_board(parser)
    parser.add_argument("--at", type=point, action="append", required=True, metavar="X,Y", help="where it presses")
    parser.add_argument("--newtons", type=finite, action="append", required=True, metavar="N", help="how hard, N, down")
    parser.add_argument(
        "--read", type=point, nargs="+", action="extend", default=[], metavar="X,Y", help="read here too"
    )
    add_rim(parser)
    add_climate(parser, "take the woods' stiffness at this relative humidity in %%")
    add_output(parser, csv=False)
    words = parser.parse_args(argv)
    if len(words.at) != len(words.newtons):
        parser.error(
            f"found {len(words.at)} --at and {len(words.newtons)} --newtons, expected one --newtons for each --at"
        )
    climate_asked(parser, words)
    found = board_from(words.board)
    from bellywork.balance.pressing import press
    from bellywork.review.linear_review import beyond_linear

    board = found.board if words.rh is None else _in_climate(found.board, words)
    with progress("Computing the board"):
        pressed = press(board, places_mm=words.at, forces_N=words.newtons, read_mm=words.read, rim=words.rim)
    greatest = max((*pressed.push_sink_mm, *pressed.sink_mm), key=abs)
    findings = beyond_linear(board.needed_body("Pressing on the board"), greatest)
    look_at(findings)
    if words.json:
        print_json(answer(SCHEMA, found, as_parts(pressed)))
    else:
        print(as_text(pressed, found.board.name, words.units))
    return EXIT_FINDINGS if findings else EXIT_FINE


def _in_climate(board: Board, words: argparse.Namespace) -> Board:
    """The board with another climate; its crown is left as it is."""
    from bellywork.board.state import Climate
    from bellywork.seasons.year import range_of_rh

    humidities = range_of_rh(words.rh)
    if len(humidities) > 1:
        raise BoardError(f"Found '{words.rh}' as relative humidity, expected one.")
    return replace(board, climate=Climate(rh_percent=humidities[0], temperature_C=words.temperature))


def as_parts(pressed: Pressed) -> dict[str, Any]:
    """The answer's parts for JSON."""
    return {
        "pushes": [
            {"x_mm": x, "y_mm": y, "force_N": force, "sink_mm": sink}
            for (x, y), force, sink in zip(pressed.places_mm, pressed.forces_N, pressed.push_sink_mm)
        ],
        "read": [
            {
                "x_mm": x,
                "y_mm": y,
                "sink_mm": sink,
                **{f"sink_{rim}_mm": s[i] for rim, s in pressed.sink_range_mm.items()},
            }
            for i, ((x, y), sink) in enumerate(zip(pressed.read_mm, pressed.sink_mm))
        ],
        "sink_mm": pressed.sink_mm,
        "rim": pressed.rim,
        "balance": vars(pressed.balance),
        "assumptions": pressed.assumptions,
    }


def as_text(pressed: Pressed, name: str, units: str) -> str:
    """The answer as a table: pushes, points read, and how far the rim matters."""
    unit, (softest, stiffest) = UNIT_SETS[units], ("hinged", "clamped")
    pushes = table(
        [
            Column(head="push at x", unit=unit.length, text=lambda i: unit.length_text(pressed.places_mm[i, 0])),
            Column(head="y", unit=unit.length, text=lambda i: unit.length_text(pressed.places_mm[i, 1])),
            Column(head="force", unit=unit.force, text=lambda i: unit.force_text(pressed.forces_N[i])),
            Column(head="sink", unit=unit.length, text=lambda i: unit.sink_text(pressed.push_sink_mm[i])),
        ],
        range(len(pressed.places_mm)),
    )
    read = table(
        [
            Column(head="read at x", unit=unit.length, text=lambda i: unit.length_text(pressed.read_mm[i, 0])),
            Column(head="y", unit=unit.length, text=lambda i: unit.length_text(pressed.read_mm[i, 1])),
            Column(head="sink", unit=unit.length, text=lambda i: unit.sink_text(pressed.sink_mm[i])),
            *(
                Column(
                    head=f"if {rim}",
                    unit=unit.length,
                    text=_sink_column(unit, pressed.sink_range_mm[rim]),
                )
                for rim in (stiffest, softest)
            ),
        ],
        range(len(pressed.read_mm)),
    )
    check = pressed.balance
    balance = (
        f"Balance: {number(check.applied_N, 2)} N pressed, {number(check.reaction_N, 2)} N back from the rim;"
        f" energy agrees to {check.energy_error:.0e} of itself."
    )
    return "\n\n".join(
        (
            f"{name}: sink under {len(pressed.forces_N)} push(es), rim {pressed.rim}",
            pushes,
            read,
            balance,
            paragraph("Assumed", pressed.assumptions),
            CAUTION,
        )
    )


def _sink_column(unit: Units, sink_mm: Floats) -> Callable[[int], str]:
    return lambda i: unit.sink_text(float(sink_mm[i]))
