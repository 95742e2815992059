"""How long a what-if on 88 notes takes: under 5 ms is the bound (median of the runs)."""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "balance"))
import invented

from bellywork.balance.sink import PredictedSink
from bellywork.balance.what_if import Bench, Change, what_if
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
CHANGE = Change(plate_up_mm=0.5, tilt_x_mm_per_m=0.2, plane_front_mm=0.3, unstrung=("treble",))
BOUND_S = 0.005


def test_what_if_on_88_notes(benchmark):
    changed = benchmark(what_if, READY, CHANGE)
    assert changed.settled.residual_mm < 1e-8


def test_a_what_if_keeps_its_bound():
    took = []
    for _ in range(31):
        start = time.perf_counter()
        what_if(READY, CHANGE)
        took.append(time.perf_counter() - start)
    assert np.median(took) < BOUND_S
