"""The one measured number of a rim that was found, against the rims that answers assume. Kind: plausibility.

An unstrung grand, a dial on a beam laid across the rim, a 10 lb box set on the rim: "just over a thousandth of an inch"
(a technicians' list of December 2001, second-hand). That is 1 500 to 1 750 N/mm for the box, with the beam's own seat
on the rim in it, so the rim is stiffer than that. Common practice, no better source; nothing was found of turning.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np

from bellywork.board.body import RimSupport
from bellywork.board.rims import rim_support
from bellywork.files.read import read_board
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import pin_forces_N
from bellywork.instrument import prepared
from bellywork.mechanics.model import assembled

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
BOX_N, SANK_MM = 10.0 * 4.4482216, 0.00115 * 25.4  # ten pounds; a thousandth and a little
BOX_MM = 250.0  # of rim that such a box stands on


def test_every_rim_assumed_is_stiffer_than_the_one_that_was_pressed() -> None:
    least = BOX_N / SANK_MM / BOX_MM
    assert 1500.0 < BOX_N / SANK_MM < 1750.0
    for name in ("glued", "hinged", "clamped"):
        assert rim_support(name).vertical_N_mm2 > least


def test_the_softest_that_it_could_be_takes_no_more_than_woods_scatter() -> None:
    """Were all of that thousandth the rim's own give, the strings would take the bridge of this board down by up to a
    sixth more (of the sample grand by 0.70 of 3.94 mm): as much as wood's scatter does, and beyond the printed range
    from clamped to hinged, whose rims do not sink. docs/theory.md says so.
    """
    ready = prepared(read_board(SAMPLES / "lopsided_board").board)
    body, board = ready.board.needed_body("a test"), ready.board
    pins, line = board.needed_plan("a test").pins_mm, board.needed_strings("a test")
    force = np.concatenate(pin_forces_N(line, pull_N(board.needed_scale("a test"), line)))
    glued = rim_support("glued")
    soft = RimSupport(
        name="soft",
        vertical_N_mm2=BOX_N / SANK_MM / BOX_MM,
        inplane_N_mm2=glued.inplane_N_mm2,
        rotation_N=glued.rotation_N,
    )
    sinks = [
        assembled(replace(body, outline=body.outline.supported(rim)), cell_mm=36.0).compliance(pins) @ force
        for rim in (glued, soft)
    ]
    more = sinks[1] - sinks[0]
    assert np.all(more > 0.0)
    assert 0.1 < more.max() / sinks[0].max() < 0.2
