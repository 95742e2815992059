"""What a shop's finished boards have in common, told."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from bellywork.answers.answer import Answer, View
from bellywork.answers.answer_table import AnswerTable, rows_of, table_of
from bellywork.answers.form import filled
from bellywork.answers.forms import FORMS
from bellywork.board.shop import Shop
from bellywork.estimate.estimate import Estimate, Learned
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.unknowns import SHARED_WORDS, scatter
from bellywork.estimate.words import doubts, shop_words, softness
from bellywork.measures import Units, counted

SCHEMA = "bellywork-learn/2"
FEW = 3  # boards


def learn_answer(
    shop: Shop, estimates: Sequence[Estimate], *, left_out: Sequence[str], to: Path, units: Units
) -> Answer:
    """The answer of `bellywork learn`.

    left_out   names of boards of which nothing was read that tells how soft they are
    to         the file that it was written to
    """
    count = len(estimates)
    few = f"Of {counted(count, 'board')} only: half of the book's scatter is still taken to be the shop's."
    form = FORMS[SCHEMA]
    unknowns, boards = _unknowns(shop), _boards(estimates)
    return Answer(
        schema=SCHEMA,
        title=f"What {counted(count, 'board')} of this shop taught",
        headline=(
            shop_words(shop),
            *((few,) if count < FEW else ()),
            f'Written to {to}. Name it in the board.toml of the next board, under [shop]: file = "{to.name}", with the '
            "way from that folder to it. Answers then start from the shop's boards in place of the book's.",
        ),
        body=(View(table=unknowns), View(table=boards)),
        parts=filled(form, {"unknowns": unknowns, "boards": boards}),
        table=unknowns,
        to_look_at=(
            *(f"{name}: nothing was read that tells how soft it is, so it taught nothing." for name in left_out),
            *(f"{each.described.board.name}: {doubt}" for each in estimates for doubt in doubts(each)),
        ),
        assumptions=(
            "Pooled are dials of press trials on the bare board, and ribs and bridge heights read bare and under load.",
            "Half of the book's variance between boards is taken to be one shop's own, and the same for all its boards "
            "(no source; no measurement was found).",
            "Boards of different woods are pooled as factors on what the book has for each wood.",
        ),
        units=units,
    )


def _unknowns(shop: Shop) -> AnswerTable:
    half = SIGMAS * np.sqrt(np.diag(shop.covariance))
    book = SIGMAS * np.array([scatter()[key] for key in shop.keys])
    values = {
        "what": [SHARED_WORDS[key] for key in shop.keys],
        "shift_share": np.expm1(shop.mean),
        "book_share_low": np.expm1(-book),
        "book_share_high": np.expm1(book),
    }
    band = np.expm1(shop.mean - half), np.expm1(shop.mean + half)
    return table_of("unknowns", FORMS[SCHEMA].part("unknowns").quantities, values, bands={"shift_share": band})


def _boards(estimates: Sequence[Estimate]) -> AnswerTable:
    rows = [
        {
            "board": each.described.board.name,
            **_counts(each.learned),
            "sink_share": softness(each)[0] - 1.0,
        }
        for each in estimates
    ]
    return rows_of("boards", FORMS[SCHEMA].part("boards").quantities, rows)


def _counts(learned: Learned | None) -> dict[str, int]:
    """How many readings of each kind were used."""
    kinds = (None, None) if learned is None else (learned.observed.dials, learned.observed.came_back)
    return {name: 0 if kind is None else len(kind.names) for name, kind in zip(("dials", "came_back"), kinds)}
