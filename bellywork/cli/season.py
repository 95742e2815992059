"""`bellywork season BOARD [--rh 30:65 | --years 10]`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, board_from, finite, needed
from bellywork.cli.learned import Learning, add_as_described
from bellywork.cli.lives import add_air, air_alone, life_asked, steps
from bellywork.cli.told import add_output, tell

if TYPE_CHECKING:
    from bellywork.answers.answer import Answer
    from bellywork.board import Board
    from bellywork.files.read import BoardFile
    from bellywork.seasons.outlook import Outlook

PLOT_ENDINGS = (".png", ".svg")


def main(argv: Sequence[str] | None = None) -> int:
    """Print crown, bridge height and bearing through the year."""
    parser = Parser(
        "season",
        "What damp and dry do: crown of the ribs, height of the bridge and bearing at every note over a range of "
        "humidities, bare and strung; or, with --years, what the years do to the strung board.",
        "--rh 30:65 is eight humidities from 30 to 65 %, --rh 30,45,60 just these.",
    )
    add_board(parser)
    parser.add_argument("--rh", metavar="RANGE", help="relative humidities in %% (default 30:65)")
    parser.add_argument(
        "--temperature", type=finite, metavar="C", help="temperature in °C (default: as measured, or 20)"
    )
    parser.add_argument("--years", type=finite, metavar="N", help="follow the strung board so many years")
    add_air(parser)
    parser.add_argument("--against", type=Path, metavar="BOARD", help="set another folder's years beside it")
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="also draw it as FILE.png or FILE.svg")
    add_as_described(parser)
    add_output(parser)
    words = parser.parse_args(argv)
    if words.plot is not None and words.plot.suffix not in PLOT_ENDINGS:
        parser.error(f"found the plot file '{words.plot}', expected a name that ends in {' or '.join(PLOT_ENDINGS)}")
    if words.years is not None and (words.rh is not None or words.temperature is not None):
        parser.error("found --years with --rh or --temperature, expected --years with --air: the years have their own")
    air_alone(parser, words, "--years", words.years is not None)
    if words.against is not None and words.years is None:
        parser.error("found --against without --years, expected both: two boards are followed through the same years")
    if words.plot is not None:
        needed("viewer")
    found = board_from(words.board)
    return tell(_year(found, words) if words.years is None else _years(found, words), found, words)


def _year(found: BoardFile, words: argparse.Namespace) -> Answer:
    """Damp and dry, the board as it is."""
    from bellywork.answers.season_answer import season_answer
    from bellywork.geometry.completed import completed
    from bellywork.geometry.reference_notes import reference_notes
    from bellywork.seasons.year import range_of_rh, season

    humidities = range_of_rh(words.rh or "30:65")
    ready = Learning(found.board, words).ready
    year = season(
        ready, rh_percent=humidities, temperature_C=words.temperature, progress=steps("The board through the year")
    )
    if words.plot is not None:
        from bellywork_viewer.season_plot import drawn

        drawn(year, found.board.name, words.plot, words.units)
    reference = reference_notes(completed(found.board).board.needed_strings("A season"))
    return season_answer(found.board.name, year, reference=reference, units=words.units, every=words.all)


def _years(found: BoardFile, words: argparse.Namespace) -> Answer:
    """The years under the strings."""
    from bellywork.answers.years_answer import years_answer
    from bellywork.seasons.bearing_after import worked_bare
    from bellywork.seasons.outlook import outlook, times_to

    days = times_to(words.years)

    def followed(board: Board, told: str) -> Outlook:
        life, ready = life_asked(board, words, days[-1]), worked_bare(Learning(board, words).ready)
        return outlook(ready, life=life, days=days, progress=steps(told))

    seen = followed(found.board, "The board through its years, with what is not known")
    against = None
    if words.against is not None:
        other = board_from(words.against).board
        against = (other.name, followed(other, "The other board through its years"))
    if words.plot is not None:
        from bellywork_viewer.years_plot import drawn

        drawn(seen, found.board.name, words.plot, words.units, against=against)
    return years_answer(found.board.name, seen, units=words.units, every=words.all, against=against)
