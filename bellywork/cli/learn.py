"""`bellywork learn BOARD … --to FILE.toml`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import reduce
from pathlib import Path

from bellywork.cli.common import Parser, board_from, progress
from bellywork.cli.told import add_output, tell
from bellywork.errors import MissingLayer


def main(argv: Sequence[str] | None = None) -> int:
    """Pool what readings on a shop's finished boards taught, for its next one."""
    parser = Parser(
        "learn",
        "What the finished boards of a shop have in common, for its next one: pooled from their press trials, and "
        "from what was read on them bare and under load.",
        "Boards are taken as their folders describe them; a shop's memory that they name is left aside.\nA file that "
        "this command wrote is made anew.",
    )
    parser.add_argument(
        "boards", type=Path, nargs="+", metavar="BOARD", help="folders of boards with trials.csv or readings"
    )
    parser.add_argument("--to", type=Path, required=True, metavar="FILE.toml", help="where to write what was learned")
    add_output(parser, csv=False)
    words = parser.parse_args(argv)
    if words.to.suffix != ".toml":
        parser.error(f"found --to {words.to}, expected a name that ends in .toml")
    if words.to.name == "board.toml":
        parser.error("found --to board.toml, which is a board's own file, expected another name, as shop.toml")
    # a board named twice would count twice
    found = [board_from(folder) for folder in {each.resolve(): each for each in words.boards}.values()]
    from bellywork.answers.learn_answer import learn_answer
    from bellywork.estimate.estimate import learned_of
    from bellywork.estimate.shop import pooled
    from bellywork.files.shop_file import shop_text
    from bellywork.files.write import write_result
    from bellywork.instrument import prepared

    estimates, left_out = [], []
    for each in found:
        board = replace(each.board, shop=None)
        with progress(f"Learning from {board.name}"):
            estimate = learned_of(prepared(board))
        if estimate is None or estimate.learned is None:
            left_out.append(board.name)
        else:
            estimates.append(estimate)
    if not estimates:
        raise MissingLayer(
            "A shop's memory needs boards that are described, and of which something was read that tells how soft they "
            "are: trials.csv, or ribs and bridge heights both bare and under load in readings.csv."
        )
    shop = pooled(estimates)
    write_result(words.to, shop_text(shop))
    told = learn_answer(shop, estimates, left_out=left_out, to=words.to, units=words.units)
    whole = reduce(lambda before, each: before.beside(each), found)
    return tell(told, replace(whole, board=replace(whole.board, name=told.title), findings=()), words)
