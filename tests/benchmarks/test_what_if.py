"""How long a what-if on 88 notes takes; 5 ms is the bound (docs/performance.md)."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "balance"))
import invented

from bellywork.balance.sink import PredictedSink
from bellywork.balance.what_if import Bench, Change, what_if
from bellywork.board.plate import PlateMove
from bellywork.geometry.scale import pull_N

LINE = invented.line()
READY = Bench(
    board=invented.board(),
    bare=LINE,
    sink=PredictedSink(
        pull_N=pull_N(invented.scale(), LINE), compliance_mm_N=invented.compliance(), preload_mm=None, assumptions=()
    ),
    assumptions=(),
)
CHANGE = Change(plate=PlateMove(up_mm=0.5, tilt_x_mm_per_m=0.2), plane_front_mm=0.3, unstrung=("treble",))


def test_what_if_on_88_notes(benchmark):
    changed = benchmark(what_if, READY, CHANGE)
    assert changed.settled.residual_mm < 1e-8
