"""`bellywork bearing --after TIME` and `--history`: the strung board on another day than now."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from bellywork.cli.common import progress
from bellywork.cli.learned import Learning
from bellywork.cli.lives import life_asked, steps

if TYPE_CHECKING:
    from bellywork.answers.answer import Answer
    from bellywork.files.read import BoardFile


def history_told(found: BoardFile, words: argparse.Namespace) -> Answer:
    """What was read at each stage, beside what was predicted for it."""
    from bellywork.answers.history_answer import history_answer
    from bellywork.balance.sink import predicted_sink
    from bellywork.seasons.life import FINISHES, USUAL_AIR
    from bellywork.seasons.stages import stages

    ready = Learning(found.board, words).ready
    with progress("Leading the board through its stages"):
        air, finish = USUAL_AIR if words.air is None else words.air, words.finish or FINISHES[0]
        read = stages(ready, air=air, finish=finish, untuned=words.untuned or "")
    said = [*ready.assumptions, *predicted_sink(ready).assumptions]
    if any(each.days for each in read):
        said += life_asked(ready.board, words, max(each.days for each in read)).assumptions
    return history_answer(found.board.name, read, assumptions=said, units=words.units)


def after_told(found: BoardFile, words: argparse.Namespace) -> Answer:
    """The bearing on a later day, beside that on the day of stringing."""
    from bellywork.answers.bearing_answer import Before, bearing_answer
    from bellywork.answers.sureness import Ageing
    from bellywork.estimate.bands import Bands
    from bellywork.seasons.bearing_after import bearing_after
    from bellywork.seasons.outlook import days_in, days_in_words

    day = days_in(words.after)
    life = life_asked(found.board, words, day)
    ready = Learning(found.board, words).ready
    told = bearing_after(ready, life=life, day=day, progress=steps("The board through time, with what is not known"))
    said = f"{days_in_words(day)} after the stringing; 'before' is just strung."
    return bearing_answer(
        found.board,
        told.then,
        spread=None,
        units=words.units,
        every=words.all,
        before=Before(table=told.now, words=f"{said[0].upper()}{said[1:]}"),
        sureness=Ageing(bands=Bands(bands=told.bands, total_N=told.total_N)),
    )
