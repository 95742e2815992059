"""How often the band holds: python tests/estimate/coverage.py --boards 500 --presses 0 --seed 7 --to coverage.csv

Each board is drawn outside the estimate's own family and computed by large deflection on cells of another size
(planted.py). Of each, strung net bearing and depth to plane are predicted as described, and after the places that
`press --where` names were pressed and read. A row per board and number of presses: a long run can be broken off.
"""

from __future__ import annotations

import argparse
import csv
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from planted import Truth, drawn

from bellywork.balance.bearing_table import bearing
from bellywork.balance.planing import plane
from bellywork.board import PressTrial, State
from bellywork.conventions import note_name
from bellywork.estimate.bands import Boards, bearing_bands, plane_bands
from bellywork.estimate.estimate import estimated
from bellywork.estimate.where import Advice, where_to_read
from bellywork.files.read import read_board
from bellywork.instrument import Instrument, prepared

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
DIAL_MM = 0.03
TRUE_CELL_MM = 31.0  # of the drawn boards; the estimate has its own


@dataclass(frozen=True, kw_only=True, eq=False)
class Told:
    """What the estimate tells of a board: strung net bearing and depth at all front, then rear pins, with bands.

    misread   how many dials it names as misread; all of these were read well
    """

    octave: np.ndarray
    net_deg: np.ndarray
    net_band: np.ndarray
    depth_mm: np.ndarray
    depth_band: np.ndarray
    misread: int

    @classmethod
    def of(cls, ready: Instrument, trials: tuple[PressTrial, ...]) -> Told:
        """With these trials read, as a user would be told."""
        found = estimated(prepared(replace(ready.board, trials=trials)))
        boards, table, cuts = Boards.of(found), bearing(found.ready, state=State.STRUNG), plane(found.ready)
        of_plane = plane_bands(boards, cuts).bands
        return cls(
            octave=np.array([note_name(int(note))[-1] for note in table.note]),
            net_deg=table.net_deg,
            net_band=np.array(bearing_bands(boards, table, state=State.STRUNG).bands["net_deg"]),
            depth_mm=np.concatenate([cuts.plane_front_mm, cuts.plane_rear_mm]),
            depth_band=np.hstack([of_plane["plane_front_mm"], of_plane["plane_rear_mm"]]),
            misread=0 if found.learned is None else len(found.learned.misread),
        )

    def held_against(self, net_deg: np.ndarray, depth_mm: np.ndarray) -> dict[str, float]:
        """Shares of notes inside the band, in all and by octave, half widths and errors."""
        inside = _inside(self.net_band, net_deg)
        in_depth = _inside(self.depth_band, depth_mm).reshape(2, -1)
        octaves = sorted(set(self.octave))
        return {
            "net": inside.mean(),
            "net_half_deg": float(np.mean(np.diff(self.net_band, axis=0)) / 2.0),
            "net_off_deg": float(np.sqrt(np.mean((self.net_deg - net_deg) ** 2))),
            "depth": in_depth.mean(),
            "depth_half_mm": float(np.mean(np.diff(self.depth_band, axis=0)) / 2.0),
            "depth_off_mm": float(np.sqrt(np.mean((self.depth_mm - depth_mm) ** 2))),
            "misread": self.misread,
            **{f"net_{k}": inside[self.octave == k].mean() for k in octaves},
            **{f"depth_{k}": in_depth[:, self.octave == k].mean() for k in octaves},
        }


def _inside(band: np.ndarray, true: np.ndarray) -> np.ndarray:
    return (band[0] <= true) & (true <= band[1])


def covered(
    ready: Instrument, untouched: Told, advice: Advice, random: np.random.Generator, counts: list[int]
) -> list[dict[str, float]]:
    """One drawn board: for each number of presses, how its notes lie in their bands."""
    truth = Truth(board=ready.board, body=drawn(ready.board.body, random), cell_mm=TRUE_CELL_MM)
    net, depth = truth.net_deg(), truth.depth_mm()
    trials = []
    for k in advice.chosen[: max(counts)]:
        place = advice.candidates.place_mm[[k]]
        force = advice.candidates.force_N[[k]]
        noise = random.normal(0.0, DIAL_MM / 1.96, 1)
        trials.append(truth.trial(advice.candidates.name[k], place, force, place, noise, DIAL_MM))
    told = {count: Told.of(ready, tuple(trials[:count])) if count else untouched for count in counts}
    return [{"presses": count, **each.held_against(net, depth)} for count, each in told.items()]


def main() -> None:
    """Draw, compute and write."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--sample", default="seven_foot_grand")
    parser.add_argument("--boards", type=int, default=40)
    parser.add_argument("--first", type=int, default=0, help="number of the first, to go on with a run broken off")
    parser.add_argument("--presses", type=int, nargs="+", default=[0, 3, 7])
    parser.add_argument("--seed", type=int, required=True)
    parser.add_argument("--to", type=Path, required=True)
    words = parser.parse_args()
    ready = prepared(read_board(SAMPLES / words.sample).board)
    advice = where_to_read(estimated(ready, as_described=True))
    untouched = Told.of(ready, ())
    with words.to.open("w", newline="", encoding="utf-8") as file:
        writer = None
        for number in range(words.first, words.first + words.boards):
            random = np.random.default_rng([words.seed, number])
            for row in covered(ready, untouched, advice, random, words.presses):
                row = {"board": number, **row}
                if writer is None:
                    writer = csv.DictWriter(file, row, lineterminator="\n")
                    writer.writeheader()
                writer.writerow(row)
            file.flush()


if __name__ == "__main__":
    main()
