"""Boards planted by another road than the estimate's: their own wood, ribs and rim, finer cells, large deflection."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from bellywork.balance.wanted import wanted
from bellywork.board import Board, Body, CrownMethod, Making, Outline, PressTrial, RimSupport, State
from bellywork.board.strings import StringLine
from bellywork.board.wood import Wood
from bellywork.geometry.scale import pull_N
from bellywork.geometry.string_line import bearing, pin_forces_N, topped
from bellywork.instrument import prepared
from bellywork.mechanics.making import made

ROUNDS = 40


@dataclass(frozen=True, kw_only=True, eq=False)
class Truth:
    """A real board: large deflection all through, no small model, no linear answer."""

    board: Board
    body: Body
    cell_mm: float

    def __post_init__(self) -> None:
        here = prepared(self.board).moisture_percent
        free = Making(method=CrownMethod.RIB, panel_moisture_percent=here, glued_in_moisture_percent=here)
        belly = made(self.body, self.board.making or free, cell_mm=self.cell_mm)
        object.__setattr__(self, "belly", belly)
        object.__setattr__(self, "bare", belly.at_moisture(here, None))
        object.__setattr__(self, "free", belly.free(here))

    def sunk_mm(self, places, forces, read) -> np.ndarray:
        """Sink at read points under forces at places, from the bare board."""
        large = self.belly.board
        there = large.settled(large.pushes(places, np.asarray(forces, float)), free=self.free, start=self.bare)
        return large.sink_mm(there.fields, read) - large.sink_mm(self.bare.fields, read)

    def net_deg(self) -> np.ndarray:
        """Net bearing of the strung board, from the bare heights of its string line."""
        return bearing(self.strung()).net_deg

    def strung(self) -> StringLine:
        """The string line of the strung board, from its bare heights."""
        large, line = self.belly.board, self.board.needed_strings("it")
        pins, pull = self.board.needed_plan("it").pins_mm, pull_N(self.board.needed_scale("it"), line)
        top, n = np.concatenate([line.bridge_front_mm, line.bridge_rear_mm]), len(line.note)

        def force(sink: np.ndarray) -> np.ndarray:
            return np.concatenate(pin_forces_N(topped(line, *np.split(top - sink, 2)), pull))

        # the notes' strings know nothing of each other, so two moves give their whole stiffness, by differences
        stiff = np.zeros((2 * n, 2 * n))
        for side in (0, n):
            move = np.zeros(2 * n)
            move[side : side + n] = 0.01
            less = (force(np.zeros(2 * n)) - force(move)) / 0.01
            for row in (0, n):
                stiff[np.arange(n) + row, np.arange(n) + side] = less[row : row + n]
        step = np.linalg.inv(np.eye(2 * n) + large.compliance(self.bare, pins) @ stiff)
        sink, state = np.zeros(2 * n), self.bare
        for _ in range(ROUNDS):
            state = large.settled(large.pushes(pins, force(sink)), free=self.free, start=state)
            missed = large.sink_mm(state.fields, pins) - large.sink_mm(self.bare.fields, pins) - sink
            if np.abs(missed).max() < 1e-3:
                return topped(line, *np.split(top - sink, 2))
            sink = sink + step @ missed
        raise ArithmeticError("the planted board does not settle")

    def depth_mm(self) -> np.ndarray:
        """What must come off at all front pins, then all rear pins, for the targets to hold once strung.

        The target fixes every force, so the board is settled once under those, with no estimate of its own sink.
        """
        line = self.board.needed_strings("it")
        pins, pull = self.board.needed_plan("it").pins_mm, pull_N(self.board.needed_scale("it"), line)
        want = wanted(line, self.board.targets, pull)
        assert want.state is State.STRUNG is not self.board.measured_in
        force = np.concatenate(pin_forces_N(topped(line, want.front_mm, want.rear_mm), pull))
        sink = self.sunk_mm(pins, force, pins)
        now = np.concatenate([line.bridge_front_mm, line.bridge_rear_mm])
        return now - (np.concatenate([want.front_mm, want.rear_mm]) + sink)

    def trial(self, name: str, places, forces, read, noise: np.ndarray, uncertainty_mm: float) -> PressTrial:
        """A press trial as dials with this error read it, to a hundredth of a mm."""
        sink = (self.sunk_mm(places, forces, read) + noise).round(2)
        return PressTrial(
            name=name, places_mm=places, forces_N=forces, read_mm=read, sink_mm=sink,
            uncertainty_mm=np.full(len(sink), uncertainty_mm), rows=tuple(range(2, 2 + len(sink))), state=State.BARE,
        )  # fmt: skip


def stiffened(wood: Wood, along: float, across: float, shear: float) -> Wood:
    """A wood with other moduli."""
    return replace(
        wood, E_L=along * wood.E_L, E_R=across * wood.E_R, E_T=across * wood.E_T, G_LR=shear * wood.G_LR,
        G_LT=shear * wood.G_LT, G_RT=shear * wood.G_RT,
    )  # fmt: skip


def drawn(body: Body, random: np.random.Generator) -> Body:
    """A body drawn from published scatter, outside the estimate's own family in most of its parts.

    The three shear moduli scatter apart; each rib has its own modulus and its own height along its feathers; thickness
    is off by a plane and an offset; root and cap scatter apart; each stretch of the rim has its own stiffness beside
    the common one.
    """
    gauss = random.normal

    def factor(sigma: float) -> float:
        return float(np.exp(sigma * gauss()))

    panel = body.panel
    points = panel.thickness_points_mm.copy()
    middle, size = points[:, :2].mean(axis=0), np.ptp(points[:, :2], axis=0)
    points[:, 2] += 0.2 * gauss() + (points[:, :2] - middle) / size @ (0.15 * gauss(size=2))
    wood = replace(
        stiffened(panel.wood, factor(0.15), factor(0.20), 1.0),
        G_LR=panel.wood.G_LR * factor(0.15), G_LT=panel.wood.G_LT * factor(0.15), G_RT=panel.wood.G_RT * factor(0.15),
    )  # fmt: skip
    common = factor(0.12)
    ribs = []
    for rib in body.ribs:
        own, taller = common * factor(0.08), 0.3 * gauss()
        ends = tuple(max(end + 0.5 * gauss(), 2.0) for end in rib.end_height_mm)
        ribs.append(
            replace(rib, wood=stiffened(rib.wood, own, own, own), height_mm=rib.height_mm + taller, end_height_mm=ends)
        )
    bridges = tuple(
        replace(
            bridge,
            root_wood=stiffened(bridge.root_wood, *[factor(0.12)] * 3),
            cap_wood=stiffened(bridge.cap_wood, *[factor(0.12)] * 3),
        )
        for bridge in body.bridges
    )
    turning, plane, down = factor(np.log(3.3)), factor(np.log(2.0)), factor(np.log(2.0))
    sides = len(body.outline.support)
    stretch = np.exp(np.repeat(0.3 * gauss(size=4), -(-sides // 4))[:sides])
    support = tuple(
        RimSupport(
            name=each.name, vertical_N_mm2=each.vertical_N_mm2 * down * s, inplane_N_mm2=each.inplane_N_mm2 * plane * s,
            rotation_N=each.rotation_N * turning * s,
        )
        for each, s in zip(body.outline.support, stretch)
    )  # fmt: skip
    return Body(
        outline=Outline(points_mm=body.outline.points_mm, support=support),
        panel=replace(panel, wood=wood, thickness_points_mm=points), ribs=tuple(ribs), bridges=bridges,
    )  # fmt: skip
