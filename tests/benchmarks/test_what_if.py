"""How long a what-if on 88 notes takes; 5 ms is the bound (docs/performance.md)."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "balance"))
import invented
import numpy as np

from bellywork.balance.sink import PredictedSink
from bellywork.balance.what_if import Change, what_if
from bellywork.board.plate import PlateMove
from bellywork.geometry.string_line import pin_forces_N
from bellywork.instrument import prepared
from bellywork.mechanics.response import Anchor, Response

LINE = invented.line()
READY = prepared(invented.board())
SMALL = np.asarray(invented.compliance())
FORCE = np.concatenate(pin_forces_N(LINE, READY.pull_N))
SINK = PredictedSink(
    pull_N=READY.pull_N,
    response=Response(  # softer by a tenth under its load
        small_mm_N=SMALL,
        anchor=Anchor(force_N=FORCE, sink_mm=1.05 * SMALL @ FORCE, tangent_mm_N=1.1 * SMALL),
    ),
    assumptions=(),
)
CHANGE = Change(plate=PlateMove(up_mm=0.5, tilt_x_mm_per_m=0.2), plane_front_mm=0.3, unstrung=("treble",))


def test_what_if_on_88_notes(benchmark):
    changed = benchmark(what_if, READY, CHANGE, sink=SINK)
    assert changed.settled.residual_mm < 1e-8
