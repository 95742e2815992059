"""The boards as solids: 20-node bricks of scikit-fem, every part of its own wood, and the sinks under their loads.

The library gives mesh, element, mapping and quadrature; nothing of the project's mechanics is used. Every column line
of the mesh runs along a rib's edge or a bridge's end and every row line along a bridge's edge or a feather's start, so
that all steps in thickness are exact. The mesh is a tensor grid of such lines whose crossings are moved into place,
straight in each block; an oblique bridge's end is cut square by moving the two crossings at its corners.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial

import numpy as np
import pyamg
import skfem
from mesh_lines import lines, refined
from moduli import stiffness_LRT, strain_turn
from scipy.sparse import bsr_array, coo_array, csr_array, kron
from scipy.sparse.linalg import SuperLU, splu
from shapes import Patch, TestBoard, Timber

CHUNK = 400
DIRECT = 2  # finest mesh that is solved directly
TOLERANCE, STEPS = 1e-5, 200


@dataclass
class Solid:
    """A board meshed, assembled and ready to be pressed."""

    board: TestBoard
    fineness: int
    basis: skfem.Basis = field(init=False)
    stiffness: csr_array = field(init=False)
    free: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        mesh, parts = self._mesh()
        self.basis = skfem.Basis(mesh, skfem.ElementHexS2(), intorder=4)
        self._assemble(parts)
        at = self.basis.doflocs
        edge = np.isclose(at[0], 0.0) | np.isclose(at[0], self.board.length)
        edge |= np.isclose(at[1], 0.0) | np.isclose(at[1], self.board.breadth)
        self.free = np.flatnonzero(np.repeat(~edge, 3))

    def _mesh(self) -> tuple[skfem.MeshHex, list[tuple[np.ndarray, Timber, float]]]:
        """The mesh, and for each part its bricks, its wood and the turn of its L against x."""
        board, n = self.board, self.fineness
        of = lines(board, n)
        x, y = (refined(refined(each, of.columns, 0), of.rows, 1) for each in (of.x, of.y))
        self.plan = np.stack([x, y], axis=-1)
        below = (n + 1) if board.ribs else 0
        layers = {"rib": below, "panel": n, "root": n + 1 if board.bridges else 0, "cap": n if board.bridges else 0}
        cuts = n if any(beam.notch for beam in board.bridges) else 0
        layers["notch"] = cuts
        start = dict(zip(layers, np.append(0, np.cumsum(list(layers.values())))))
        nz = sum(layers.values())
        box = skfem.MeshHex.init_tensor(*(np.arange(float(k)) for k in (*x.shape, nz + 1)))
        centre = box.p[:, box.t].mean(axis=1)
        i, j, k = np.floor(centre).astype(int)
        middle = (self.plan[:-1, :-1] + self.plan[1:, :-1] + self.plan[:-1, 1:] + self.plan[1:, 1:])[i, j] / 4.0
        layer = np.searchsorted(np.cumsum(list(layers.values())), k, side="right")
        names = np.array(list(layers))[layer]
        parts: list[tuple[np.ndarray, Timber, float]] = [(names == "panel", board.wood, np.radians(board.grain_deg))]
        for rib in board.ribs:
            inside = (np.abs(middle[:, 0] - rib.x) < rib.width / 2.0) & (middle[:, 1] > rib.span[0])
            parts.append(((names == "rib") & inside & (middle[:, 1] < rib.span[1]), rib.wood, np.pi / 2.0))
        for beam in board.bridges:
            run = middle - beam.start
            along = run @ [np.cos(beam.turn), np.sin(beam.turn)]
            aside = run @ [-np.sin(beam.turn), np.cos(beam.turn)]
            inside = (along > 0.0) & (along < beam.length) & (np.abs(aside) < beam.width / 2.0)
            first, pitch, length = beam.kerfs
            kerf = inside & (np.mod(along - first, pitch or 1.0) < length) & (along > first)
            parts.append(((names == "root") & inside, beam.root_wood, beam.turn))
            parts.append(((names == "cap") & inside, beam.cap_wood, beam.turn))
            parts.append(((names == "notch") & inside & ~kerf, beam.cap_wood, beam.turn))
        wooden = np.any([inside for inside, *_ in parts], axis=0)
        here = np.round(box.p).astype(int)
        plan = self.plan[here[0], here[1]].T
        z = self._height(box.p[2], plan, layers, start)
        z += board.crown_mm(*plan)
        mesh = skfem.MeshHex(np.vstack([plan, z]), box.t).restrict(np.flatnonzero(wooden))
        number = np.cumsum(wooden) - 1
        self.box, self.counts = box.restrict(np.flatnonzero(wooden)), (of.columns, of.rows, list(layers.values()))
        self.cell = np.stack([i, j], axis=-1)[wooden]
        self.layer = k[wooden]
        self.middle_layer = start["panel"] + (n - 1) // 2
        return mesh, [(number[inside], wood, turn) for inside, wood, turn in parts if inside.any()]

    def _height(self, k: np.ndarray, plan: np.ndarray, layers: dict[str, int], start: dict[str, int]) -> np.ndarray:
        """Height of nodes over the mid-surface by their layer."""
        board = self.board
        t0, t1 = board.thickness
        half = (t0 + (t1 - t0) * plan[0] / board.length) / 2.0
        rib = np.full(plan.shape[1], 20.0)
        for each in board.ribs:
            near = np.abs(plan[0] - each.x) <= each.width / 2.0 + 1e-6
            rib[near] = each.height_at(plan[1][near])
        root, cap, notch = np.full(plan.shape[1], 20.0), np.full(plan.shape[1], 8.0), np.full(plan.shape[1], 4.0)
        for beam in board.bridges:
            run = plan.T - beam.start
            aside = run @ [-np.sin(beam.turn), np.cos(beam.turn)]
            near = np.abs(aside) <= beam.width / 2.0 + 1e-6
            root[near], cap[near], notch[near] = beam.root, beam.cap - beam.notch, beam.notch
        levels, heights = [0], [-half - rib]
        for name, thick in (("rib", rib), ("panel", 2.0 * half), ("root", root), ("cap", cap), ("notch", notch)):
            if layers[name]:
                levels.append(start[name] + layers[name])
                heights.append(heights[-1] + thick)
        if not layers["rib"]:
            heights = [each + rib for each in heights]
        heights = np.array(heights)
        lower = np.clip(np.searchsorted(levels, k, side="right") - 1, 0, len(levels) - 2)
        each = np.arange(len(k))
        low, high = np.array(levels)[lower], np.array(levels)[lower + 1]
        share = (k - low) / (high - low)
        return heights[lower, each] * (1.0 - share) + heights[lower + 1, each] * share

    def _assemble(self, parts: list[tuple[np.ndarray, Timber, float]]) -> None:
        """Stiffness: ∫ Bᵀ C B over the bricks, B from the library's gradients."""
        mesh, element, size = self.basis.mesh, skfem.ElementHexS2(), 3 * self.basis.N
        total = csr_array((size, size))
        for bricks, wood, turn in parts:
            for some in np.array_split(bricks, max(1, len(bricks) // CHUNK)):
                basis = skfem.Basis(mesh, element, intorder=4, elements=some)
                grad = np.stack([f[0].grad for f in basis.basis])  # (20, 3, bricks, points)
                C = self._moduli(wood, turn, np.asarray(basis.global_coordinates()))
                B = np.zeros((*grad.shape[2:], 6, 60))
                g = grad.transpose(2, 3, 1, 0)
                for a in range(3):
                    B[:, :, a, a::3] = g[:, :, a]
                for row, (a, b) in ((3, (1, 2)), (4, (0, 2)), (5, (0, 1))):
                    B[:, :, row, a::3], B[:, :, row, b::3] = g[:, :, b], g[:, :, a]
                CB = np.matmul(C, B) * np.asarray(basis.dx)[..., None, None]
                local = np.matmul(B.reshape(len(some), -1, 60).transpose(0, 2, 1), CB.reshape(len(some), -1, 60))
                dofs = (3 * self.basis.element_dofs[:, some].T[:, :, None] + np.arange(3)).reshape(len(some), 60)
                row = np.repeat(dofs, 60, axis=1).ravel()
                column = np.tile(dofs, (1, 60)).ravel()
                total = total + coo_array((local.ravel(), (row, column)), shape=(size, size)).tocsr()
        self.stiffness = total

    def _moduli(self, wood: Timber, turn: float, at: np.ndarray) -> np.ndarray:
        """Stiffness (bricks, points, 6, 6) in the board's axes: L lies in the crowned surface, T stands on it."""
        board, step = self.board, 1e-3
        x, y = at[0], at[1]
        slope = [
            (board.crown_mm(x + dx, y + dy) - board.crown_mm(x - dx, y - dy)) / (2.0 * step)
            for dx, dy in ((step, 0.0), (0.0, step))
        ]
        n = np.stack([-slope[0], -slope[1], np.ones_like(x)], axis=-1)
        n /= np.linalg.norm(n, axis=-1, keepdims=True)
        c, s = np.cos(turn), np.sin(turn)
        lie = np.stack([np.full_like(x, c), np.full_like(x, s), c * slope[0] + s * slope[1]], axis=-1)
        lie /= np.linalg.norm(lie, axis=-1, keepdims=True)
        axes = np.stack([lie, np.cross(n, lie), n], axis=-2)  # rows L, R, T
        T = strain_turn(axes)
        return np.matmul(T.swapaxes(-1, -2), np.matmul(stiffness_LRT(wood), T))

    def rows(self, places: np.ndarray, top: bool) -> csr_array:
        """What the bricks' freedoms give the downward movement at places (n, 2): on top of what lies there, or in the
        panel's middle; shape (n, freedoms).
        """
        entries = []
        for number, place in enumerate(places):
            i, j, a, b = self._found(place)
            here = np.flatnonzero((self.cell == [i, j]).all(axis=1))
            if top:
                brick, share = here[self.layer[here].argmax()], 1.0
            else:
                brick = here[self.layer[here] == self.middle_layer][0]
                share = 1.0 if self.fineness % 2 == 0 else 0.5
            point = self._point(brick, i, j, a, b, share)
            local = self.basis.mapping.invF(point[:, None, None], tind=np.array([brick]))[:, 0]
            for f in range(20):
                value = self.basis.elem.lbasis(local, f)[0]
                entries.append((number, 3 * self.basis.element_dofs[f, brick] + 2, -float(np.ravel(value)[0])))
        n, dof, value = map(np.array, zip(*entries))
        return coo_array((value, (n, dof)), shape=(len(places), 3 * self.basis.N)).tocsr()

    def _point(self, brick: int, i: int, j: int, a: float, b: float, share: float) -> np.ndarray:
        """The point at shares a, b of cell (i, j) and at this share of the brick's height."""
        corners = self.basis.mesh.p[:, self.basis.mesh.t[:, brick]]
        low, high = np.zeros(3), np.zeros(3)
        for di, dj in ((0, 0), (0, 1), (1, 0), (1, 1)):
            weight = (a if di else 1.0 - a) * (b if dj else 1.0 - b)
            away = np.hypot(*(corners[:2].T - self.plan[i + di, j + dj]).T)
            pair = np.argsort(away)[:2]
            bottom, top = sorted(pair, key=lambda c: corners[2, c])
            low += weight * corners[:, bottom]
            high += weight * corners[:, top]
        return low + share * (high - low)

    def _found(self, place: np.ndarray) -> tuple[int, int, float, float]:
        """The cell of the plan that holds a place, and the place's shares in it."""
        P = self.plan
        ring = np.stack([P[:-1, :-1], P[1:, :-1], P[1:, 1:], P[:-1, 1:]])
        side, to = np.roll(ring, -1, axis=0) - ring, place - ring
        left = (side[..., 0] * to[..., 1] - side[..., 1] * to[..., 0]) / np.hypot(side[..., 0], side[..., 1])
        i, j = np.unravel_index(left.min(axis=0).argmax(), left.shape[1:])
        assert left[:, i, j].min() > -1e-6, place
        p00, p10, p11, p01 = ring[:, i, j]
        at = np.array([0.5, 0.5])
        for _ in range(12):
            a, b = at
            here = (1 - a) * ((1 - b) * p00 + b * p01) + a * ((1 - b) * p10 + b * p11)
            slope = np.column_stack([(1 - b) * (p10 - p00) + b * (p11 - p01), (1 - a) * (p01 - p00) + a * (p11 - p10)])
            at = at + np.linalg.solve(slope, place - here)
        a, b = np.clip(at, 0.0, 1.0)
        return int(i), int(j), float(a), float(b)

    def load(self, patch: Patch) -> np.ndarray:
        """Nodal forces of 1 N over a patch."""
        places, shares = patch.pushes()
        return self.rows(places, top=True).T @ shares

    def influence(self, patches: tuple[Patch, ...], reads: np.ndarray) -> np.ndarray:
        """Sink of the panel's middle at reads (n, 2) for 1 N on each patch: (n, patches), mm/N."""
        right = np.column_stack([self.load(patch) for patch in patches])[self.free]
        matrix = self.stiffness[self.free][:, self.free].tocsr()
        moved = np.zeros((3 * self.basis.N, len(patches)))
        moved[self.free] = self._solved(matrix, right)
        return self.rows(np.asarray(reads, dtype=float), top=False) @ moved

    def _solved(self, matrix: csr_array, right: np.ndarray) -> np.ndarray:
        """Directly where it is small; else by conjugate gradients on two grids, the coarser one solved directly."""
        if self.fineness <= DIRECT:
            return _factor(matrix).solve(right)
        coarse = Solid(self.board, DIRECT)
        to_fine = self._from(coarse)[self.free][:, coarse.free].tocsr()
        base = _factor((to_fine.T @ matrix @ to_fine).tocsr())
        blocks = matrix.tobsr((3, 3))
        sweep = partial(pyamg.relaxation.relaxation.gauss_seidel, blocks)

        def better(residual: np.ndarray) -> np.ndarray:
            moved = np.zeros_like(residual)
            for k in range(residual.shape[1]):
                column = np.zeros(len(residual))
                sweep(column, np.ascontiguousarray(residual[:, k]), sweep="forward")
                moved[:, k] = column
            moved += to_fine @ base.solve(to_fine.T @ (residual - blocks @ moved))
            for k in range(residual.shape[1]):
                column = np.ascontiguousarray(moved[:, k])
                sweep(column, np.ascontiguousarray(residual[:, k]), sweep="backward")
                moved[:, k] = column
            return moved

        return _conjugate_gradients(blocks, right, better, to_fine @ base.solve(to_fine.T @ right))

    def _from(self, coarse: Solid) -> csr_array:
        """A coarser mesh's movement at this one's freedoms (freedoms, coarse freedoms)."""
        flat = skfem.Basis(self.box, skfem.ElementHexS2(), intorder=1)
        dofs, first = np.unique(flat.element_dofs, return_index=True)
        brick = np.unravel_index(first, flat.element_dofs.shape)[1]
        middle = self.box.p[:, self.box.t].mean(axis=1)[:, brick]
        at = flat.doflocs[:, dofs]
        near = at + 1e-6 * (middle - at)
        at, near = (
            np.stack([_rescaled(v, fine, rough) for v, fine, rough in zip(each, self.counts, coarse.counts)])
            for each in (at, near)
        )
        number = {cell: k for k, cell in enumerate(map(tuple, coarse.box.p[:, coarse.box.t].min(axis=1).T))}
        holder = np.array([number[cell] for cell in map(tuple, np.floor(near).T)])
        basis = skfem.Basis(coarse.box, skfem.ElementHexS2(), intorder=1)
        local = basis.mapping.invF(at[:, :, None], tind=holder)[:, :, 0]
        value = np.array([basis.elem.lbasis(local, f)[0] for f in range(20)])
        column = basis.element_dofs[:, holder]
        P = coo_array((value.ravel(), (np.tile(dofs, 20), column.ravel())), shape=(self.basis.N, coarse.basis.N))
        return csr_array(kron(P, np.eye(3)))


def _conjugate_gradients(
    matrix: bsr_array, right: np.ndarray, better: Callable[[np.ndarray], np.ndarray], start: np.ndarray
) -> np.ndarray:
    """Many right sides (freedoms, loads) at once, each by its own preconditioned conjugate gradients."""
    moved, residual = start, right - matrix @ start
    way = improved = better(residual)
    size = (residual * improved).sum(axis=0)
    for _ in range(STEPS):
        pushed = matrix @ way
        step = size / (way * pushed).sum(axis=0)
        moved, residual = moved + step * way, residual - step * pushed
        if np.all(np.linalg.norm(residual, axis=0) <= TOLERANCE * np.linalg.norm(right, axis=0)):
            return moved
        improved = better(residual)
        size, before = (residual * improved).sum(axis=0), size
        way = improved + size / before * way
    raise ArithmeticError(f"not solved in {STEPS} steps")


def _rescaled(at: np.ndarray, fine: list[int], rough: list[int]) -> np.ndarray:
    """Places along an axis counted in coarse bricks instead of fine ones."""
    return np.interp(at, np.append(0, np.cumsum(fine)), np.append(0, np.cumsum(rough)))


def _factor(matrix: csr_array) -> SuperLU:
    return splu(matrix.tocsc(), permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
