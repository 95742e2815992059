"""The keys of `board.toml`, section by section: the one place that reader and file reference go by."""

from __future__ import annotations

import math

from bellywork.board.piano_kind import PianoKind
from bellywork.board.scheme import Least
from bellywork.board.state import CrownMethod, State
from bellywork.conventions import Dimension
from bellywork.files.columns import Column, Kind

_L, _S = Dimension.LENGTH, Dimension.STRESS


def _word(stem: str, meaning: str, *, required: bool = False, choices: tuple[str, ...] = ()) -> Column:
    return Column(stem=stem, meaning=meaning, kind=Kind.WORD, required=required, choices=choices)


def _number(
    stem: str, meaning: str, dimension: Dimension, least: float, most: float, *, required: bool = False
) -> Column:
    return Column(stem=stem, meaning=meaning, dimension=dimension, required=required, least=least, most=most)


ELASTIC = ("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT", "nu_LR", "nu_LT", "nu_RT")
SHRINKAGE = ("shrinkage_R", "shrinkage_T", "shrinkage_L")
STRENGTHS = {
    "bending": "modulus of rupture",
    "compression_parallel": "crushing strength along the grain",
    "compression_across": "proportional limit across the grain",
    "shear_parallel": "shear strength along the grain",
    "tension_across": "tensile strength across the grain",
}
# Under the lightest wood, balsa, and over what a number in GPa gives under a header in MPa. Common practice, no source
LEAST_MPA = {
    "E_L": 1000, "E_R": 30, "E_T": 20, "G_LR": 30, "G_LT": 30, "G_RT": 3,
    "bending": 2, "compression_parallel": 1, "compression_across": 0.2, "shear_parallel": 0.2, "tension_across": 0.1,
}  # fmt: skip

SECTIONS: dict[str, tuple[Column, ...]] = {
    "": (
        _word("format", 'format of the folder: "bellywork-board/1"', choices=("bellywork-board/1",)),
        _word("name", "name of the instrument; stands over every result"),
        _word("kind", "grand or upright: sheets and answers name its parts so; else grand",
              choices=tuple(kind.value for kind in PianoKind)),
    ),
    "measured": (
        _word("state", "state in which the heights were measured; else bare", choices=tuple(s.value for s in State)),
        _word("strung", "which notes are on in the part-strung state, in ranges as 1-44 or A0-E3, 60-88"),
        _word("heights", "how heights were read: up from a level below, or down from a straightedge above; else up",
              choices=("up", "down")),
        _number("straightedge", "height of that straightedge over the rim's glue line, where the board is described",
                _L, 0, 1000),
        _number("rh", "relative humidity then", Dimension.SHARE, 5, 100),
        _number("temperature", "temperature then", Dimension.TEMPERATURE, -30, 60),
        _number("moisture", "moisture of the wood then, where it was measured; else it follows from humidity and "
                "temperature", Dimension.SHARE, 0, 30),
        Column(stem="date", meaning="date, as 2026-05-01", kind=Kind.DATE, required=False),
    ),
    "making": (
        _word("crown", "how the crown was made: ribs machined to a radius, or a dry panel swelling on flat ribs",
              required=True, choices=tuple(method.value for method in CrownMethod)),
        _number("panel_moisture", "moisture of the panel when it was glued to the ribs", Dimension.SHARE, 0, 30,
                required=True),
        _number("glued_in_moisture", "moisture of the ribbed panel when it was glued into the rim", Dimension.SHARE, 0,
                30, required=True),
    ),
    "scale": (
        _number("pitch", "frequency of A4; else 440 Hz", Dimension.FREQUENCY, 350, 500),
        _word("gauge", "which music wire gauge the numbers of the scale are of: a number means another size in each",
              choices=("inch", "metric")),
    ),
    "panel": (
        _word("wood", "wood of the panel", required=True),
        _number("grain", "direction of the grain, counter-clockwise from x", Dimension.ANGLE, -360, 360, required=True),
        _number("ring_angle", "angle of the rings to the panel's face, seen on its end grain; else 90: quarter-sawn",
                Dimension.ANGLE, 0, 90),
        _number("thickness", "thickness of the panel, where it is the same everywhere", _L, 1, 50),
    ),
    "ribs": (
        _number("angle", "direction of the ribs whose other end is not given, counter-clockwise from x",
                Dimension.ANGLE, -360, 360),
        _number("width", "width of ribs that give none", _L, 2, 200),
        _number("end_height", "height left at both ends of ribs that give none; else full", _L, 0.5, 150),
        _number("feather", "length of the feathers of ribs that give none; else none", _L, 0, 2000),
        _word("wood", "wood of ribs that give none"),
    ),
    "rim": (_word("support", 'how the rim holds the panel; else "glued"'),),
    "rim.kinds.NAME": (
        _number("vertical", "stiffness against sink, per mm of rim", Dimension.LINE_STIFFNESS, 0, math.inf,
                required=True),
        _number("inplane", "stiffness in the panel's plane, per mm of rim", Dimension.LINE_STIFFNESS, 0, math.inf,
                required=True),
        _number("rotation", "stiffness against turning: moment per mm of rim and radian", Dimension.FORCE, 0, math.inf,
                required=True),
    ),
    "shop": (_word("file", "what 'bellywork learn' made of the shop's finished boards, counted from this folder"),),
    "planing": (
        _number("fair_tolerance", "how far the faired bridge top may leave the exact one; else 0.1 mm", _L, 0.001, 10),
        _number("bearing_tolerance", "net this near its target counts as met; else 0.1°", Dimension.ANGLE, 0.001, 5),
        _number("cap_least", "cap to be left under the notches; else 6 mm", _L, 0, 50),
        _number("notch", "depth of the notches still to be cut; else 2.5 mm", _L, 0, 30),
    ),
    "woods.NAME": (
        _word("like", "a wood that is built in, for all that is not given here"),
        *(_number(stem, "Young's modulus" if stem[0] == "E" else "shear modulus", _S, LEAST_MPA[stem], 1e5)
          for stem in ELASTIC[:6]),
        *(_number(stem, f"contraction along {stem[-1]} under stress along {stem[-2]}", Dimension.NUMBER, -1, 5)
          for stem in ELASTIC[6:]),
        _number("density", "density at this moisture", Dimension.DENSITY, 50, 1500),
        _number("moisture", "moisture content that these numbers belong to; else 12 %", Dimension.SHARE, 0, 30),
        *(_number(stem, "shrinkage from green to oven-dry", Dimension.SHARE, 0, 20) for stem in SHRINKAGE),
        *(_number(stem, meaning, _S, LEAST_MPA[stem], 1000) for stem, meaning in STRENGTHS.items()),
        _word("source", "where the numbers come from"),
    ),
}  # fmt: skip

SCHEME_SECTIONS: dict[str, tuple[Column, ...]] = {
    "": (
        _word("format", 'format of the file: "bellywork-scheme/1"', choices=("bellywork-scheme/1",)),
        _word("name", "name of the scheme; else the file's"),
        _word("ribs", "table of ribs beside this file, as ribs.csv of a board; or give [rule]"),
    ),
    "rule": (
        _number("count", "number of ribs", Dimension.NUMBER, 1, 40, required=True),
        _number("angle", "direction of the ribs, counter-clockwise from x", Dimension.ANGLE, -360, 360, required=True),
        _number("treble_margin", "from the outline's end on the treble side to the first rib, across the ribs", _L, 1,
                1000, required=True),
        _number("bass_margin", "from the last rib to the outline's end on the bass side", _L, 1, 1000, required=True),
        _number("spacing_ratio", "each gap to the one before it, towards the bass; else 1", Dimension.NUMBER, 0.5, 2),
        _number("treble_width", "width of the first rib", _L, 2, 200, required=True),
        _number("bass_width", "width of the last rib, straight between; else as the first", _L, 2, 200),
        _number("treble_height", "full height of the first rib", _L, 2, 150, required=True),
        _number("bass_height", "full height of the last rib; else as the first", _L, 2, 150),
        _number("end_height", "height left at both ends; else full", _L, 0.5, 150),
        _number("feather", "length of the feathers; else none", _L, 0, 2000),
        _number("treble_radius", "radius of the crown of the first rib; else flat", _L, 500, 1e6),
        _number("bass_radius", "radius of the crown of the last rib; else as the first", _L, 500, 1e6),
        _word("wood", "wood of the ribs", required=True),
    ),
    "panel": (_number("thickness_factor", "the panel's thickness times this; else 1", Dimension.NUMBER, 0.3, 3),),
    "bridges": (_number("root_factor", "height of the bridges' roots times this; else 1", Dimension.NUMBER, 0.3, 3),),
    "search": (
        _word("least", "what is to be as small as it can be", required=True,
              choices=tuple(each.value for each in Least)),
        _number("sink_most", "sink allowed at every note, strung", _L, 0.01, 50),
        _number("unevenness_most", "scatter of the compliance along the longest bridge allowed (standard deviation of "
                "its logarithm)", Dimension.NUMBER, 0.001, 10),
        _number("bending_share_most", "share of the lasting bending strength that a rib may use; else 1",
                Dimension.NUMBER, 0.01, 10),
        _number("crown_left_least", "crown to be left over every rib, strung", _L, -50, 50),
    ),
}  # fmt: skip
