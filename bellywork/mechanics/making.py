"""The board from its making to the present: glued to its ribs, glued into the rim, swelling and shrinking since.

Wood is taken as elastic all the way: no creep, no compression set. Where the panel's compression across the grain goes
beyond the proportional limit, set must be expected, and the crown found will be less than the one computed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.body import Body, RimSupport
from bellywork.board.state import CrownMethod, Making
from bellywork.errors import BoardError
from bellywork.mechanics.discrete import HELD_ENDS, PANEL, RIM, Discrete, discretised
from bellywork.mechanics.energy import FIELDS, SLIP_VALUE, STIFFENER, TURN_VALUE, VALUE, W
from bellywork.mechanics.large import FreeStrains, LargeBoard, LargeState
from bellywork.mechanics.moisture import free_strain

# Springs that only keep a board on the bench from floating away: a thousandth of a newton per mm and mm of rim
ON_THE_BENCH = RimSupport(name="on the bench", vertical_N_mm2=1e-3, inplane_N_mm2=1e-3, rotation_N=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Belly:
    """A board glued into its rim, ready to be led to any moisture.

    board           on its rim, without any load
    making          how it was made
    rim_rest        where the rim's springs rest, as free strains: where the edge was when it was glued in
    plain           the board at rest, free of stress
    glued_in        the state just after that
    """

    board: LargeBoard
    making: Making
    rim_rest: FreeStrains
    plain: LargeState
    glued_in: LargeState

    def at_moisture(self, moisture_percent: float, start: LargeState | None = None) -> LargeState:
        """The bare board at another moisture of its wood, %, followed from `start` or from the gluing in.

        Raises BoardError outside 0 to 30 % moisture, SolveError where the board would snap through on the way.
        """
        begin = self.glued_in if start is None else start
        load = self.board.at_rest()
        return self.board.settled(load, free=self.free(moisture_percent), start=begin)

    def rise_mm(self, state: LargeState, points_mm: Floats) -> Floats:
        """Rise of the panel's mid-surface over its place on the rim, mm, up positive, at points in plan."""
        return rise_mm(self.board.discrete, state.fields, points_mm)

    def across_grain_MPa(self, state: LargeState) -> Floats:
        """Stress across the grain in the panel's middle plane at all Gauss points of whole cells, pull positive."""
        discrete = self.board.discrete
        across = _grain(discrete) @ np.array([[0.0, 1.0], [-1.0, 0.0]])
        n = state.inner.membrane_N_mm / discrete.whole.thickness[..., None]
        stress: Floats = n @ np.array([across[0] ** 2, across[1] ** 2, 2.0 * across[0] * across[1]])
        return stress

    def free(self, moisture_percent: float) -> FreeStrains:
        """Free strains of all parts at a moisture, and where the rim's springs rest."""
        return {**swelling(self.board.discrete, self.making, moisture_percent), **self.rim_rest}


def made(body: Body, making: Making, *, cell_mm: float) -> Belly:
    """Make a board: glue panel and ribs together, bring it to the rim's moisture, glue it in.

    Rib-crowned, it is free of stress with the crown of its ribs when it is glued together; compression-crowned it is
    so when flat. On the bench it follows its moisture freely; then its edge is pressed down onto the rim and held from
    there.

    Raises BoardError for a compression-crowned board whose panel was glued wetter than it was glued in, or a moisture
    outside 0 to 30 %; SolveError where no balance is found.
    """
    if making.method is CrownMethod.COMPRESSION:
        if making.panel_moisture_percent > making.glued_in_moisture_percent:
            raise BoardError(
                f"A compression-crowned panel is glued dry, so that it swells: it was glued at "
                f"{making.panel_moisture_percent:g} % moisture, and into the rim at "
                f"{making.glued_in_moisture_percent:g} %."
            )
        body = flattened(body)
    elif making.panel_moisture_percent == making.glued_in_moisture_percent:
        # nothing has swollen and the crown is the ribs' own: the board lies in its rim as it lay on the bench
        board = LargeBoard(discretised(body, cell_mm))
        plain = board.resting()
        edge = _edge(board.discrete, board.at_rest())
        return Belly(board=board, making=making, rim_rest=edge, plain=plain, glued_in=plain)
    board = LargeBoard(discretised(body, cell_mm))
    bench = LargeBoard(board.discrete.held_by(body.outline.supported(ON_THE_BENCH)), board.unheld)
    rest = bench.at_rest()
    free = swelling(bench.discrete, making, making.glued_in_moisture_percent)
    on_bench = bench.followed(bench.resting(), load=(rest, rest), free=({}, free))
    plain = board.resting()
    edge = _edge(board.discrete, on_bench.fields)
    pressed = {**edge, RIM: edge[RIM].copy()}
    pressed[RIM][:, W] = 0.0
    # with its springs at rest on the edge as that lies on the bench, the board is in balance as it was there
    laid = replace(plain, fields=on_bench.fields, exact=False)
    glued_in = board.followed(laid, load=(rest, rest), free=({**free, **edge}, {**free, **pressed}))
    return Belly(board=board, making=making, rim_rest=pressed, plain=plain, glued_in=glued_in)


def flattened(body: Body) -> Body:
    """The same body without any crown."""
    return replace(
        body,
        panel=replace(body.panel, crown_points_mm=np.empty((0, 3))),
        ribs=tuple(replace(rib, crown_radius_mm=float("inf")) for rib in body.ribs),
    )


def swelling(discrete: Discrete, making: Making, moisture_percent: float) -> FreeStrains:
    """Free strains of panel, ribs and bridges at a moisture, from the panel's moisture when it was glued."""
    body = discrete.body
    path = {"from_percent": making.panel_moisture_percent, "to_percent": moisture_percent}
    panel = free_strain(body.panel.wood, **path)
    c, s = _grain(discrete)
    strains = np.zeros(8)
    strains[:3] = (
        c * c * panel.L + s * s * panel.R,
        s * s * panel.L + c * c * panel.R,
        2.0 * c * s * (panel.L - panel.R),
    )
    out: dict[str, Floats] = {PANEL: strains}
    for stations in discrete.stations:
        out[stations.name] = np.zeros(len(STIFFENER))
        out[stations.name][0] = free_strain(stations.glue_wood, **path).L
    return out


def rise_mm(discrete: Discrete, fields: Floats, points_mm: Floats) -> Floats:
    """Rise of the mid-surface of a moved board over its place on the rim, mm, at points in plan."""
    at = discrete.evaluated(points_mm)
    rise: Floats = np.einsum("pn,pn->p", at.values[:, 0], (discrete.crown + fields[W])[at.nodes])
    return rise


def _grain(discrete: Discrete) -> Floats:
    """Direction of the grain in the grid's frame."""
    angle = np.radians(discrete.body.panel.grain_deg)
    return discrete.frame.inside(np.array([np.cos(angle), np.sin(angle)]))


def _edge(discrete: Discrete, fields: Floats) -> dict[str, Floats]:
    """Movement of the panel's edge at the rim's points, (points, 5); turn and slip of stiffeners' ends, (ends, 4)."""
    return {
        RIM: discrete.rim.values(fields).reshape(-1, FIELDS, 3)[:, :, VALUE],
        HELD_ENDS: discrete.held_ends.values(fields)[:, [TURN_VALUE, SLIP_VALUE]] @ np.eye(2, 4),
    }
