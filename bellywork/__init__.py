"""Crown and bearing of piano soundboards: geometry, mechanics, balance of the strings, planing.

What a notebook needs is here by name, and loaded when it is first asked for:

    board = bellywork.read_board("sample_boards/seven_foot_grand").board
    ready = bellywork.prepared(board)
    bellywork.plane(ready).faired_front_mm
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bellywork.balance.bearing_table import bearing as bearing
    from bellywork.balance.planing import plane as plane
    from bellywork.balance.pressing import press as press
    from bellywork.balance.what_if import Change as Change
    from bellywork.balance.what_if import what_if as what_if
    from bellywork.board.plate import PlateMove as PlateMove
    from bellywork.board.state import State as State
    from bellywork.files.read import read_board as read_board
    from bellywork.files.scheme_files import read_scheme as read_scheme
    from bellywork.instrument import Instrument as Instrument
    from bellywork.instrument import prepared as prepared
    from bellywork.schemes.assessed import base_of as base_of
    from bellywork.schemes.compared import compared as compared
    from bellywork.seasons.at_climate import bearing_at as bearing_at
    from bellywork.seasons.at_climate import plane_at as plane_at
    from bellywork.seasons.bearing_after import bearing_after as bearing_after
    from bellywork.seasons.life import life_of as life_of
    from bellywork.seasons.outlook import outlook as outlook
    from bellywork.seasons.plane_after import plane_after as plane_after
    from bellywork.seasons.stages import stages as stages
    from bellywork.seasons.year import season as season
    from bellywork.survey.loss import surveyed as surveyed
    from bellywork.survey.recovery import best as best

    __version__: str

PLACES = {
    "Change": "bellywork.balance.what_if",
    "Instrument": "bellywork.instrument",
    "PlateMove": "bellywork.board.plate",
    "State": "bellywork.board.state",
    "base_of": "bellywork.schemes.assessed",
    "bearing": "bellywork.balance.bearing_table",
    "bearing_after": "bellywork.seasons.bearing_after",
    "bearing_at": "bellywork.seasons.at_climate",
    "best": "bellywork.survey.recovery",
    "compared": "bellywork.schemes.compared",
    "life_of": "bellywork.seasons.life",
    "outlook": "bellywork.seasons.outlook",
    "plane": "bellywork.balance.planing",
    "plane_after": "bellywork.seasons.plane_after",
    "plane_at": "bellywork.seasons.at_climate",
    "prepared": "bellywork.instrument",
    "press": "bellywork.balance.pressing",
    "read_board": "bellywork.files.read",
    "read_scheme": "bellywork.files.scheme_files",
    "season": "bellywork.seasons.year",
    "stages": "bellywork.seasons.stages",
    "surveyed": "bellywork.survey.loss",
    "what_if": "bellywork.balance.what_if",
}
__all__ = ["__version__", *PLACES]


def __getattr__(name: str) -> Any:
    """A public name, from the room where it stands."""
    if name == "__version__":
        from importlib.metadata import version

        return version("bellywork")
    if name not in PLACES:
        raise AttributeError(f"bellywork has no '{name}'; it has {', '.join(sorted(PLACES))}.")
    return getattr(import_module(PLACES[name]), name)


def __dir__() -> list[str]:
    """The public names."""
    return sorted(__all__)
