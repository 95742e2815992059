"""`bellywork view BOARD [--shot FILE.png] [--page FILE.html] [--plots FOLDER]`."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from bellywork.cli.common import Parser, add_board, add_rim, board_from, needed, progress
from bellywork.cli.learned import Learning, add_as_described
from bellywork.cli.main import EXIT_FINE
from bellywork.cli.told import add_units
from bellywork.errors import MissingLayer, OutputError

if TYPE_CHECKING:
    from bellywork_viewer.scene import Stage
    from bellywork_viewer.shot import Pane

    from bellywork.board import Board
    from bellywork.files.read import BoardFile

STATES = ("bare", "preloaded", "strung", "planed")
COLOURS = ("deviation", "plane", "band", "force", "sink", "crown")
CAMERAS = ("keyboard", "top", "bridge", "underside")


def main(argv: Sequence[str] | None = None) -> int:
    """Show the board in three dimensions, or write pictures of it."""
    parser = Parser(
        "view",
        "The board in three dimensions: where the bridge is too high or too low for the target, note by note. Without "
        "--shot, --page and --plots a window opens.",
        "States: bare, preloaded, strung as it is now, or planed (strung after planing to the targets).\n"
        "Colours: deviation (net bearing less target), plane (height to plane), band (of the net bearing, where the\n"
        "board was learned), force (downforce of the section), sink and crown of the panel.",
    )
    add_board(parser)
    parser.add_argument("--state", choices=STATES, default="strung", help="what is shown (default strung)")
    parser.add_argument("--beside", metavar="STATE|BOARD", help="show another state, or another board, beside it")
    parser.add_argument("--colour", choices=COLOURS, help="what to colour (default deviation; from below crown)")
    parser.add_argument("--camera", choices=CAMERAS, default="keyboard", help="where from (default keyboard)")
    parser.add_argument("--heights", type=float, default=1.0, metavar="TIMES", help="draw heights so many times")
    parser.add_argument("--size", default="1600x1000", metavar="WxH", help="size in pixels (default 1600x1000)")
    parser.add_argument("--shot", type=Path, metavar="FILE.png", help="write a picture, without any screen")
    parser.add_argument("--page", type=Path, metavar="FILE.html", help="write one offline page to look at in a browser")
    parser.add_argument("--plots", type=Path, metavar="FOLDER", help="write plots of bearing, bridge and downforce")
    add_rim(parser)
    add_as_described(parser)
    add_units(parser)
    words = parser.parse_args(argv)
    size = _size(parser, words.size)
    # under the ribs neither strings nor bridge tops are seen
    words.colour = words.colour or ("crown" if words.camera == "underside" else "deviation")
    for path, ending in ((words.shot, ".png"), (words.page, ".html")):
        if path is not None and path.suffix != ending:
            parser.error(f"found the file '{path}', expected a name that ends in {ending}")
    if not 0.1 <= words.heights <= 50.0:
        parser.error(f"found {words.heights:g} as --heights, expected 0.1 to 50")
    needed("viewer")
    found = board_from(words.board)
    if words.plots is not None:
        _plots(found, words)
    if words.shot is None and words.page is None and words.plots is not None:
        return EXIT_FINE
    if not found.board.described:
        return _flat(found, words)
    return _solid(found, words, size)


def _size(parser: Parser, text: str) -> tuple[int, int]:
    sizes = re.fullmatch(r"(\d{2,5})x(\d{2,5})", text)
    if sizes is None or not all(200 <= int(each) <= 8192 for each in sizes.groups()):
        parser.error(f"found '{text}' as --size, expected width and height such as 1600x1000, each 200 to 8192 pixels")
    return int(sizes[1]), int(sizes[2])


def _solid(found: BoardFile, words: argparse.Namespace, size: tuple[int, int]) -> int:
    """Window, picture and page of a board that is described as a whole."""
    from bellywork_viewer import gl

    if words.page is None or words.shot is not None:
        gl.begun()
    if words.shot is None and words.page is None and not gl.has_screen():
        raise OutputError("There is no screen here: give --shot FILE.png, --page FILE.html or --plots FOLDER.")
    with progress("Making the board ready"):
        panes = _panes(found, words, _stage(found.board, words))
    if words.shot is not None:
        from bellywork_viewer.shot import picture, written

        written(picture(panes, colour=words.colour, preset=words.camera, size=size, heights=words.heights), words.shot)
        print(f"{words.shot}: {found.board.name}, {words.state}.")
    if words.page is not None:
        from bellywork_viewer import page

        text = page.page(
            panes[0].stage, panes[0].setting, colour=words.colour, preset=words.camera, heights=words.heights
        )
        page.written(text, words.page)
        print(f"{words.page}: one page of {len(text) / 1e6:.1f} MB for any browser; it needs no network.")
    if words.shot is None and words.page is None:
        from bellywork_viewer.window import opened

        opened(panes, colour=words.colour, preset=words.camera, size=size, heights=words.heights)
    return EXIT_FINE


def _stage(board: Board, words: argparse.Namespace) -> Stage:
    from bellywork_viewer.scene import Stage

    learning = Learning(board, words)
    return Stage(learning.ready, units=words.units, estimate=learning.estimate if learning.taught else None)


def _panes(found: BoardFile, words: argparse.Namespace, stage: Stage) -> list[Pane]:
    from bellywork_viewer.shot import Pane
    from bellywork_viewer.situation import Setting, Shown

    panes = [Pane(stage=stage, setting=Setting(shown=Shown(words.state)))]
    if words.beside in STATES:
        panes.append(Pane(stage=stage, setting=Setting(shown=Shown(words.beside))))
    elif words.beside is not None:
        other = _stage(board_from(Path(words.beside)).board, words)
        panes.append(Pane(stage=other, setting=Setting(shown=Shown(words.state))))
    return panes


def _flat(found: BoardFile, words: argparse.Namespace) -> int:
    """The string line alone, drawn flat, where the board is not described."""
    from bellywork_viewer.figure import saved
    from bellywork_viewer.plots import string_line

    from bellywork.balance.bearing_table import bearing

    if words.shot is None:
        raise MissingLayer(
            "The board in three dimensions needs panel and outline, string_plan.csv and scale.csv; "
            "--shot FILE.png draws its string line flat."
        )
    table = bearing(found.board)
    saved(string_line(table, found.board.rules, found.board.name, words.units), words.shot)
    print(f"{words.shot}: the string line alone, drawn flat; the board itself is not described.")
    return EXIT_FINE


def _plots(found: BoardFile, words: argparse.Namespace) -> None:
    from bellywork_viewer.plots import plots, written

    from bellywork.balance.bearing_table import bearing
    from bellywork.balance.planing import plane
    from bellywork.balance.sink import SinkSource, sink_of
    from bellywork.board.state import State
    from bellywork.estimate.bands import Boards, bearing_bands, plane_bands

    bands = None
    with progress("Balancing the strings on the board"):
        learning = Learning(found.board, words)
        ready = learning.ready
        sink = sink_of(ready)
        table = bearing(ready, state=None if sink.source is SinkSource.NONE else State.STRUNG, sink=sink)
        schedule = plane(ready, sink=sink)
        if learning.taught and sink.source is SinkSource.PREDICTED:
            boards = Boards.of(learning.estimate)
            bands = dict(plane_bands(boards, schedule).bands)
            if table.state is not ready.board.measured_in:
                bands |= bearing_bands(boards, table, state=table.state).bands
    for path in written(
        plots(table, schedule, ready.board.rules, ready.board.name, words.units, bands=bands), words.plots
    ):
        print(path)
