"""How long a change takes in the viewer, without the renderer's own time: model under 5 ms, scene under 50 ms."""

import sys
from itertools import cycle
from pathlib import Path
from unittest.mock import MagicMock

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "viewer"))
from bellywork_viewer.draw import Drawn
from bellywork_viewer.situation import Setting
from stages import stage

UPS = [Setting(plate_up_mm=0.01 * k) for k in range(50)]


def test_the_numbers_of_a_change(benchmark):
    settings = cycle(UPS)
    situation = benchmark(lambda: stage().desk.situation(next(settings)))
    assert situation.panel_sink_mm.max() > 0.0


def test_what_changes_in_the_scene(benchmark):
    situations = cycle([stage().desk.situation(setting) for setting in UPS])
    drawn = Drawn(MagicMock())
    benchmark(lambda: drawn.show(stage().drawn(next(situations))))
    assert drawn.meshes["strings"].n_points > 0
