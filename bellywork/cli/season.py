"""`bellywork season BOARD --rh 30:65`."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from bellywork.cli.common import Parser, add_board, board_from, finite, needed
from bellywork.cli.learned import Learning, add_as_described
from bellywork.cli.told import add_output, tell

PLOT_ENDINGS = (".png", ".svg")


def main(argv: Sequence[str] | None = None) -> int:
    """Print crown, bridge height and bearing through the year."""
    parser = Parser(
        "season",
        "What damp and dry do: crown of the ribs, height of the bridge and bearing at every note over a range of "
        "humidities, bare and strung.",
        "--rh 30:65 is eight humidities from 30 to 65 %, --rh 30,45,60 just these.",
    )
    add_board(parser)
    parser.add_argument("--rh", default="30:65", metavar="RANGE", help="relative humidities in %% (default 30:65)")
    parser.add_argument(
        "--temperature", type=finite, metavar="C", help="temperature in °C (default: as measured, or 20)"
    )
    parser.add_argument("--all", action="store_true", help="print every note, not only the reference notes")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="also draw the year as FILE.png or FILE.svg")
    add_as_described(parser)
    add_output(parser)
    words = parser.parse_args(argv)
    if words.plot is not None and words.plot.suffix not in PLOT_ENDINGS:
        parser.error(f"found the plot file '{words.plot}', expected a name that ends in {' or '.join(PLOT_ENDINGS)}")
    if words.plot is not None:
        needed("viewer")
    from bellywork.answers.season_answer import season_answer
    from bellywork.geometry.completed import completed
    from bellywork.geometry.reference_notes import reference_notes
    from bellywork.seasons.year import range_of_rh, season

    humidities = range_of_rh(words.rh)
    found = board_from(words.board)
    ready = Learning(found.board, words).ready
    year = season(ready, rh_percent=humidities, temperature_C=words.temperature, progress=_progress())
    if words.plot is not None:
        from bellywork_viewer.season_plot import drawn

        drawn(year, found.board.name, words.plot, words.units)
    reference = reference_notes(completed(found.board).board.needed_strings("A season"))
    told = season_answer(found.board.name, year, reference=reference, units=words.units, every=words.all)
    return tell(told, found, words)


def _progress() -> Callable[[str], None] | None:
    if not sys.stderr.isatty():
        return None
    return lambda what: print(f"{what} …   ", end="\r", file=sys.stderr, flush=True)
