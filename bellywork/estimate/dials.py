"""Press trials against the board: what each dial would read on a board whose unknowns have given values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body
from bellywork.board.state import PressTrial, State
from bellywork.board.wood import Wood
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.places import FINE_OVER_COARSE, Places
from bellywork.estimate.sensitivity import Sensitivity
from bellywork.estimate.unknowns import Unknown
from bellywork.instrument import Instrument
from bellywork.mechanics.moisture import at_moisture

USUAL_DIAL_MM = 0.03  # 95 % half width of a dial gauge on a stand, set to zero before the load (common practice)
LARGE = 0.1  # of the greatest: a smaller sink is not put right by its own ratio


@dataclass(frozen=True, kw_only=True, eq=False)
class Dials:
    """The dials of all trials that can be used.

    names                of each dial: trial and row
    load_N, read_at      (dials, points): what presses on the points while the dial is read, and where that is
    read_mm, scatter_mm  what it read, and one standard deviation of that
    fine_mm, coarse_mm   what the board as described would have it read, on the default grid and on coarse cells
    wetter_percent       by how much wetter than at the description the wood is reckoned to be on its day, % MC
    soft_mm_N            change of the compliance (points, points) for wood wetter by 1 % MC
    moisture             which unknown the doubt about that is, hysteresis and lag; None: all were read in the air of
                         the description, and the wood that is asked is the wood that was pressed
    """

    names: tuple[str, ...]
    load_N: Floats
    read_at: Floats
    read_mm: Floats
    scatter_mm: Floats
    fine_mm: Floats
    coarse_mm: Floats
    wetter_percent: Floats
    soft_mm_N: Floats
    moisture: int | None

    @property
    def depends_on(self) -> tuple[Floats, ...]:
        """What a kept estimate hangs on."""
        return (self.load_N, self.read_at, self.read_mm, self.scatter_mm, self.wetter_percent)

    def sink_mm(self, compliance_mm_N: Floats) -> Floats:
        """What the dials read with this compliance of the points, the last two axes (points, points)."""
        return np.asarray(np.einsum("di,...ij,dj->...d", self.read_at, compliance_mm_N, self.load_N, optimize=True))

    @property
    def ratio(self) -> Floats:
        """Fine over coarse at each dial: cells make a board too stiff by nearly the same share whatever its wood."""
        large = np.abs(self.coarse_mm) > LARGE * np.max(np.abs(self.coarse_mm))
        ratio = self.fine_mm / np.where(large, self.coarse_mm, 1.0)
        return np.where(large, np.clip(ratio, *FINE_OVER_COARSE), 1.0)

    def predicted_mm(self, moved_mm_N: Floats, values: Floats) -> Floats:
        """What the dials would read with the points' compliance so much other than described."""
        damp = self.soft_mm * self.wetter_percent
        if self.moisture is not None:
            damp = damp + self.unsure_mm * values[self.moisture]
        return np.asarray(self.fine_mm + self.ratio * self.sink_mm(moved_mm_N) + damp)

    @cached_property
    def soft_mm(self) -> Floats:
        """What each would read more were the wood wetter by 1 % MC."""
        return self.ratio * self.sink_mm(self.soft_mm_N)

    @property
    def unsure_mm(self) -> Floats:
        """What each would read more were the wood wetter by 1 % MC than reckoned: it may lag by all that the air has
        changed, and by its hysteresis.
        """
        return self.soft_mm * np.minimum(np.abs(self.wetter_percent), 1.0)

    def slopes_mm(self, moved_mm_N: Floats, slope_mm_N: Floats, values: Floats) -> Floats:
        """Change of that for each unit of an unknown, (dials, unknowns); slopes are (unknowns, points, points)."""
        out = np.asarray((self.ratio * self.sink_mm(slope_mm_N)).T)
        if self.moisture is not None:
            out[:, self.moisture] = self.unsure_mm
        return out


def dials_of(
    ready: Instrument,
    trials: Sequence[PressTrial],
    places: Places,
    unknowns: Sequence[Unknown],
    slopes: Sensitivity,
) -> Dials:
    """The dials of trials on the bare board, at least one; a strung board is held by its strings as well.

    Wood is softer where it is wetter: each trial is reckoned at the moisture that its humidity leads to, one without a
    humidity at that of the description.

    Raises BoardError for a place off the board, SolveError where the bare board finds no balance.
    """
    here, points = ready.moisture_percent, places.points_mm
    small = ready.kept_on_disk(
        "press trials",
        points,
        lambda: {"small_mm_N": ready.response(points, moisture_percent=here).small_mm_N},
        of_strings=False,
    )["small_mm_N"]
    each = [(trial, dial) for trial in trials for dial in range(len(trial.sink_mm))]
    load = np.array([trial.forces_N @ [places.shares(place) for place in trial.places_mm] for trial, _ in each])
    at = np.array([places.shares(trial.read_mm[dial]) for trial, dial in each])
    told = np.array([trial.uncertainty_mm[dial] for trial, dial in each])
    keys = [unknown.key for unknown in unknowns]
    return Dials(
        names=tuple(f"trial {trial.name}, row {trial.rows[dial]}" for trial, dial in each),
        load_N=load,
        read_at=at,
        read_mm=np.array([trial.sink_mm[dial] for trial, dial in each]),
        scatter_mm=np.where(np.isnan(told), USUAL_DIAL_MM, told) / SIGMAS,
        fine_mm=np.einsum("di,ij,dj->d", at, small, load),
        coarse_mm=np.einsum("di,ij,dj->d", at, slopes.compliance_mm_N, load),
        wetter_percent=np.array([wetter_percent(ready, trial) for trial, _ in each]),
        soft_mm_N=softened_by_damp(ready.board.needed_body("A press trial"), unknowns, slopes),
        moisture=keys.index("moisture_percent") if "moisture_percent" in keys else None,
    )


def softened_by_damp(body: Body, unknowns: Sequence[Unknown], slopes: Sensitivity) -> Floats:
    """Change of the compliance (points, points) for wood wetter by 1 % MC: what its moduli lose, by the slopes of each.

    Of ribs and bridges, which work along their grain, E_L tells; of the panel each of its moduli.
    """
    keys, out = [unknown.key for unknown in unknowns], np.zeros_like(slopes.compliance_mm_N)

    def add(key: str, wood: Wood, modulus: str) -> None:
        wetter = at_moisture(wood, wood.moisture_percent + 1.0)
        out[:] += np.log(getattr(wetter, modulus) / getattr(wood, modulus)) * slopes.slope_mm_N[keys.index(key)]

    for key, modulus in (("panel_along", "E_L"), ("panel_across", "E_R"), ("panel_shear", "G_LR")):
        add(key, body.panel.wood, modulus)
    if body.ribs:
        add("ribs", body.ribs[0].wood, "E_L")
    if body.bridges:
        add("bridges", body.bridges[0].root_wood, "E_L")
    return out


def wetter_percent(ready: Instrument, trial: PressTrial) -> float:
    """By how much wetter than at the description the wood is reckoned to be in a trial's air, % MC; 0 where that is not
    noted.
    """
    air, here = trial.climate, ready.moisture_percent
    if air.moisture_percent is not None:
        return air.moisture_percent - here
    return 0.0 if air.rh_percent is None else ready.moisture_at(air.rh_percent, air.temperature_C) - here


def usable(ready: Instrument) -> tuple[PressTrial, ...]:
    """The trials on the bare board."""
    return tuple(trial for trial in ready.board.trials if trial.state is State.BARE)
