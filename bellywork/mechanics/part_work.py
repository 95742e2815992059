"""How a compliance changes with the stiffness of single parts, without another factorisation.

With K S = L, S the movements under unit loads L and C = Lᵀ S, a change dK of the stiffness changes the compliance by

    dC = −Sᵀ dK S,

and Sᵀ dK S is the work that two movements do on what dK adds, summed over the part that changes: Σ (G q)ᵀ dC (G q') at
its points. (Differentiate K K⁻¹ = 1.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from bellywork.board.arrays import Floats, Ints
from bellywork.board.body import Body
from bellywork.board.wood import Wood
from bellywork.mechanics.assembly import Matrix
from bellywork.mechanics.discrete import Discrete, discretised
from bellywork.mechanics.energy import FIELDS, OWN, OWN_FIELDS, Q
from bellywork.mechanics.grid import NODES
from bellywork.mechanics.model import BoardModel, on_rim
from bellywork.mechanics.panel import plane_stiffness, section_stiffness
from bellywork.mechanics.panel_set import PanelSet
from bellywork.mechanics.points import PAIRS, PointSet
from bellywork.mechanics.unheld import without_rim

BLOCK = 2_000_000  # numbers that are worked on at a time


@dataclass(frozen=True, kw_only=True, eq=False)
class PartWork:
    """A board at points, ready to tell what each of its parts does to the compliance there.

    body, points_mm   the board, and the points (points, 2)
    discrete, unheld  it on cells, and its stiffness without its rim
    model             its stiffness, factored
    """

    body: Body
    points_mm: Floats
    discrete: Discrete
    unheld: Matrix
    model: BoardModel

    @classmethod
    def of(cls, body: Body, points_mm: Floats, cell_mm: float) -> PartWork:
        """Assemble and factor a board. Raises as `assembled` does."""
        discrete = discretised(body, cell_mm)
        unheld = without_rim(discrete)
        return cls(body=body, points_mm=points_mm, discrete=discrete, unheld=unheld, model=on_rim(unheld, discrete))

    @cached_property
    def compliance_mm_N(self) -> Floats:
        """Sink at points for forces at points, (points, points). Raises BoardError for a point off the board."""
        return self.model.influence(self.points_mm, self.points_mm)

    @cached_property
    def _columns(self) -> Floats:
        """The movements under a unit push at each point as columns, (nodes, 5 · points)."""
        movements = self.model.movements(self.points_mm)
        m, fields, nodes = movements.shape
        return np.ascontiguousarray(movements.transpose(2, 1, 0).reshape(nodes, fields * m))

    def on_rim_of(self, body: Body) -> Floats:
        """The compliance of the same board held as another body's outline tells."""
        model = on_rim(self.unheld, self.discrete.held_by(body.outline))
        return model.influence(self.points_mm, self.points_mm)

    def of_stiffeners(self) -> dict[str, Floats]:
        """Change of the compliance for a change of all moduli of a rib ("rib 1") or bridge ("bridge long") by a share,
        per share, for each of them: their stiffness is linear in these.
        """
        out: dict[str, Floats] = {}
        for each in self.discrete.strips:
            (work,) = self._work(each, (each.stiffness,))
            out[each.part] = out.get(each.part, 0.0) - work
        return out

    def of_panel(self, woods: Sequence[Wood]) -> list[Floats]:
        """Change of the compliance by each of other woods for the panel, to first order."""
        angle = self.discrete.frame.angle(self.body.panel.grain_deg)
        here = plane_stiffness(self.body.panel.wood, angle)
        there = [plane_stiffness(wood, angle) for wood in woods]
        laws = [(plane - here[0], shear - here[1]) for plane, shear in there]
        out = [-work for work in self._work_of_cells(laws)]
        for each in self.discrete.cut:
            held = [section_stiffness(*law, each.thickness) * each.area[:, None, None] for law in laws]
            out = [so_far - work for so_far, work in zip(out, self._work(each, held))]
        return out

    def _work(self, each: PointSet | PanelSet, held: Sequence[Floats]) -> list[Floats]:
        """Work of each two movements on points with each of these stiffnesses (points, strains, strains)."""
        m = len(self.points_mm)
        out = [np.zeros((m, m)) for _ in held]
        step = max(1, BLOCK // (m * (Q if each.own is None else Q + OWN)))
        for start in range(0, len(each.points), step):
            rows = slice(start, start + step)
            values = self._values(each.at.nodes[rows], each.at.values[rows], FIELDS)
            if each.own is not None:
                own = self._values(each.own.nodes[rows], each.own.functions[rows], OWN_FIELDS)
                values = np.concatenate([values, own], axis=1)
            strains = np.matmul(each.strains_at(rows), values)
            flat = strains.reshape(-1, m).T
            for work, stiffness in zip(out, held):
                work += flat @ np.matmul(stiffness[rows], strains).reshape(-1, m)
        return out

    def _values(self, nodes: Ints, functions: Floats, fields: int) -> Floats:
        """Values (points, fields · kinds, movements), field by field, by functions (points, kinds, k) of nodes."""
        from scipy.sparse import csr_array

        points, kinds, k = functions.shape
        m, count = len(self.points_mm), len(self._columns)
        columns = np.broadcast_to(nodes[:, None], functions.shape).ravel()
        table = csr_array(
            (functions.ravel(), columns, np.arange(0, functions.size + 1, k)), shape=(points * kinds, count)
        )
        values = table @ self._columns[:, : fields * m]
        return np.asarray(values.reshape(points, kinds, fields, m).transpose(0, 2, 1, 3).reshape(points, -1, m))

    def _work_of_cells(self, laws: Sequence[tuple[Floats, Floats]]) -> list[Floats]:
        """Work of each two movements on the panel's whole cells, were its wood's stiffness each of these."""
        whole, m = self.discrete.whole, len(self.points_mm)
        blocks = [replace(whole, plane=plane, shear=shear) for plane, shear in laws]
        tables = [{(f, g): block.stiffness(f, g) for f, g in PAIRS} for block in blocks]
        nodes, out = whole.grid.nodes(whole.cells), [np.zeros((m, m)) for _ in laws]
        step = max(1, BLOCK // (m * NODES))
        for start in range(0, len(nodes), step):
            rows = slice(start, start + step)
            local = self._columns[nodes[rows]].reshape(-1, NODES, FIELDS, m).transpose(2, 0, 1, 3)
            flat = [np.ascontiguousarray(each).reshape(-1, m) for each in local]
            for work, table in zip(out, tables):
                for f in range(FIELDS):
                    forces = np.zeros_like(flat[f])
                    for g in range(FIELDS):
                        stiffness = table[min(f, g), max(f, g)]
                        if stiffness is not None:
                            matrix = stiffness[:, rows].reshape(NODES, NODES, -1)
                            matrix = matrix.transpose((2, 0, 1) if f <= g else (2, 1, 0))
                            forces += np.matmul(matrix, local[g]).reshape(-1, m)
                    work += flat[f].T @ forces
        return out
