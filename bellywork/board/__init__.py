"""The instrument as plain frozen data."""

from bellywork.board.board import Board
from bellywork.board.body import Body, Bridge, Outline, Panel, Rib, RimSupport
from bellywork.board.piano_kind import PianoKind
from bellywork.board.plate import Plate, PlateSupport, Strut
from bellywork.board.state import (
    Climate,
    CrownMethod,
    Making,
    MeasuredSink,
    PressTrial,
    Push,
    Reading,
    ScanPoint,
    State,
)
from bellywork.board.strings import Scale, StringLine, StringPlan
from bellywork.board.targets import PlaningRules, Target, TargetKind
from bellywork.board.wood import Wood, WoodStrength

__all__ = [
    "Board", "Body", "Bridge", "Climate", "CrownMethod", "Making", "MeasuredSink", "Outline", "Panel", "PianoKind",
    "PlaningRules", "Plate", "PlateSupport", "PressTrial", "Push", "Reading", "Rib", "RimSupport", "Scale", "ScanPoint",
    "State", "StringLine", "StringPlan", "Strut", "Target", "TargetKind", "Wood", "WoodStrength",
]  # fmt: skip
