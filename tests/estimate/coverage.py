"""How often the band holds: python tests/estimate/coverage.py --boards 40 --seed 7 --to coverage.csv

Each board is drawn outside the estimate's own family and computed by large deflection on cells of another size
(planted.py). Of each, the strung net bearing is predicted as described, and after the three and the seven places that
`press --where` names were pressed and read. A row per board, so that a long run can be broken off.
"""

from __future__ import annotations

import argparse
import csv
from dataclasses import replace
from pathlib import Path

import numpy as np
from planted import Truth, drawn

from bellywork.balance.bearing_table import bearing
from bellywork.board import State
from bellywork.conventions import note_name
from bellywork.estimate.bands import Boards, bearing_bands
from bellywork.estimate.estimate import estimated
from bellywork.estimate.where import Advice, where_to_read
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
DIAL_MM = 0.03
TRUE_CELL_MM = 31.0  # of the drawn boards; the estimate has its own
COUNTS = (0, 3, 7)


def covered(ready: Instrument, advice: Advice, random: np.random.Generator) -> list[dict[str, float]]:
    """One drawn board: for each number of presses, the share of notes inside the band, in all and by octave."""
    truth = Truth(board=ready.board, body=drawn(ready.board.body, random), cell_mm=TRUE_CELL_MM)
    net = truth.net_deg()
    trials = []
    for k in advice.chosen:
        place = advice.candidates.place_mm[[k]]
        force = advice.candidates.force_N[[k]]
        noise = random.normal(0.0, DIAL_MM / 1.96, 1)
        trials.append(truth.trial(advice.candidates.name[k], place, force, place, noise, DIAL_MM))
    out = []
    for count in COUNTS:
        found = estimated(prepared(replace(ready.board, trials=tuple(trials[:count]))))
        table = bearing(found.ready, state=State.STRUNG)
        low, high = bearing_bands(Boards.of(found), table, state=State.STRUNG).bands["net_deg"]
        inside = (low <= net) & (net <= high)
        octave = np.array([note_name(int(note))[-1] for note in table.note])
        out.append(
            {
                "presses": count,
                "inside": inside.mean(),
                "half_deg": float(np.mean(high - low) / 2.0),
                "off_deg": float(np.sqrt(np.mean((table.net_deg - net) ** 2))),
                "misread": 0 if found.learned is None else len(found.learned.misread),
                **{f"octave_{k}": inside[octave == k].mean() for k in sorted(set(octave))},
            }
        )
    return out


def main() -> None:
    """Draw, compute and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sample", default="seven_foot_grand")
    parser.add_argument("--boards", type=int, default=40)
    parser.add_argument(
        "--first", type=int, default=0, help="number of the first, to go on with a run that was broken off"
    )
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--to", type=Path, required=True)
    words = parser.parse_args()
    ready = prepared(read_board(SAMPLES / words.sample).board)
    advice = where_to_read(estimated(ready, as_described=True))
    with words.to.open("w", newline="", encoding="utf-8") as file:
        writer = None
        for number in range(words.first, words.first + words.boards):
            for row in covered(ready, advice, np.random.default_rng([words.seed, number])):
                row = {"board": number, **row}
                if writer is None:
                    writer = csv.DictWriter(file, row, lineterminator="\n")
                    writer.writeheader()
                writer.writerow(row)
            file.flush()


if __name__ == "__main__":
    main()
