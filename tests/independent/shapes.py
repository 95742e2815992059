"""How a board is described once, for the project's own Body and for a mesh of solids alike.

Panel over 0 … length along x and 0 … breadth along y, its edges held fast, ribs along y under it, straight bridges with
free ends on top. Wood is orthotropic: the panel L along its grain and R in its plane, a rib L along itself and R across
it in plan, a bridge L along itself and R across it in plan; T always stands upright.
"""

from __future__ import annotations

import hashlib
from dataclasses import asdict, dataclass
from math import atan2, cos, hypot, sin

import numpy as np

from bellywork.board import Body, Bridge, Outline, Panel, Rib, RimSupport, Wood

FAST = RimSupport(name="clamped", vertical_N_mm2=np.inf, inplane_N_mm2=np.inf, rotation_N=np.inf)


@dataclass(frozen=True)
class Timber:
    """A wood's nine constants, N/mm²."""

    name: str
    E_L: float
    E_R: float
    E_T: float
    G_LR: float
    G_LT: float
    G_RT: float
    nu_LR: float = 0.37
    nu_LT: float = 0.45
    nu_RT: float = 0.46

    def wood(self) -> Wood:
        """The same as the project's wood; its density plays no part."""
        return Wood(**asdict(self), density_kg_m3=400.0)


# invented, of the size of handbook woods
SPRUCE = Timber("spruce", 11_400.0, 880.0, 500.0, 740.0, 710.0, 36.0)
SOFT_SPRUCE = Timber("soft spruce", 9_600.0, 760.0, 430.0, 640.0, 600.0, 30.0)
PINE = Timber("pine", 9_000.0, 1_150.0, 760.0, 1_080.0, 990.0, 160.0)
MAPLE = Timber("maple", 13_600.0, 1_800.0, 900.0, 1_500.0, 880.0, 350.0)
BEECH = Timber("beech", 12_500.0, 2_000.0, 1_050.0, 1_450.0, 1_000.0, 430.0)


@dataclass(frozen=True)
class Bar:
    """A rib along y at x: what it is, where it starts and ends, and how high it is left at the ends of its feathers."""

    x: float
    width: float
    height: float
    span: tuple[float, float]
    ends: tuple[float, float] | None = None
    feathers: tuple[float, float] = (0.0, 0.0)
    wood: Timber = SPRUCE

    def height_at(self, y: np.ndarray) -> np.ndarray:
        """Height at places along y."""
        height = np.full(np.shape(y), self.height)
        for end, feather, away in zip(self.left, self.feathers, (y - self.span[0], self.span[1] - y)):
            if feather > 0.0:
                height = np.minimum(height, end + (self.height - end) * np.clip(away / feather, 0.0, 1.0))
        return height

    @property
    def left(self) -> tuple[float, float]:
        """Heights at its two ends."""
        return self.ends or (self.height, self.height)


@dataclass(frozen=True)
class Beam:
    """A bridge in a straight line, its ends cut square; kerfs cut its whole breadth down to `notch` below the top.

    kerfs   (first, pitch, length): kerfs start at `first` along it and every `pitch` on, each so long
    """

    start: tuple[float, float]
    end: tuple[float, float]
    width: float
    root: float
    cap: float
    notch: float = 0.0
    kerfs: tuple[float, float, float] = (0.0, 0.0, 0.0)
    root_wood: Timber = MAPLE
    cap_wood: Timber = MAPLE

    @property
    def length(self) -> float:
        """Its length."""
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def turn(self) -> float:
        """Angle of its line against x, radians."""
        return atan2(self.end[1] - self.start[1], self.end[0] - self.start[0])

    def at(self, along: float, aside: float = 0.0) -> tuple[float, float]:
        """A point so far along it and so far aside, to the left of its way."""
        c, s = cos(self.turn), sin(self.turn)
        return self.start[0] + along * c - aside * s, self.start[1] + along * s + aside * c


@dataclass(frozen=True)
class Patch:
    """1 N spread evenly over a rectangle about (x, y), turned by `turn` radians."""

    name: str
    x: float
    y: float
    long: float
    broad: float
    turn: float = 0.0

    def pushes(self, points: int = 6) -> tuple[np.ndarray, np.ndarray]:
        """Gauss points (points², 2) of the patch and their shares."""
        at, weight = np.polynomial.legendre.leggauss(points)
        u, v = (each.ravel() for each in np.meshgrid(at * self.long / 2.0, at * self.broad / 2.0, indexing="ij"))
        c, s = np.cos(self.turn), np.sin(self.turn)
        places = np.column_stack([self.x + u * c - v * s, self.y + u * s + v * c])
        return places, np.outer(weight, weight).ravel() / 4.0


@dataclass(frozen=True)
class TestBoard:
    """A board with its loads and read points.

    thickness   at x = 0 and x = length, straight between
    rise        of the crown's top; the crown is a product of parabolas, zero at the edges
    strings     None, or (notes, gap from the bridge's start, pitch, pin rows apart) on the first bridge
    """

    __test__ = False
    name: str
    length: float
    breadth: float
    thickness: tuple[float, float]
    ribs: tuple[Bar, ...]
    bridges: tuple[Beam, ...]
    loads: tuple[Patch, ...]
    reads: tuple[tuple[float, float], ...]
    grain_deg: float = 0.0
    rise: float = 0.0
    wood: Timber = SPRUCE
    strings: tuple[int, float, float, float] | None = None

    def crown_mm(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Rise of the mid-surface."""
        a, b = x / self.length, y / self.breadth
        return self.rise * 16.0 * a * (1.0 - a) * b * (1.0 - b)

    def pins(self) -> tuple[Patch, ...]:
        """Where the strings press: all front pins, then all rear pins, each over 6 × 6 mm; none without strings."""
        if self.strings is None:
            return ()
        notes, gap, pitch, rows = self.strings
        beam = self.bridges[0]
        return tuple(
            Patch(f"pin {k}", *beam.at(gap + k * pitch, aside), 6.0, 6.0, beam.turn)
            for aside in (rows / 2.0, -rows / 2.0)
            for k in range(notes)
        )

    def fingerprint(self) -> str:
        """Changes with anything in the description."""
        return hashlib.sha256(repr(self).encode()).hexdigest()[:16]

    def body(self) -> Body:
        """The board as the project describes it."""
        L, B = self.length, self.breadth
        t0, t1 = self.thickness
        crown = np.empty((0, 3))
        if self.rise:
            x, y = (g.ravel() for g in np.meshgrid(np.linspace(0, L, 16)[1:-1], np.linspace(0, B, 12)[1:-1]))
            crown = np.column_stack([x, y, self.crown_mm(x, y)])
        x, y = (g.ravel() for g in np.meshgrid(np.linspace(0.0, L, 9), np.linspace(0.0, B, 5)))
        thick = [(0.0, 0.0, t0)] if t0 == t1 else np.column_stack([x, y, t0 + (t1 - t0) * x / L])
        return Body(
            outline=Outline(points_mm=[(0.0, 0.0), (L, 0.0), (L, B), (0.0, B)], support=(FAST,) * 4),
            panel=Panel(
                wood=self.wood.wood(), grain_deg=self.grain_deg, thickness_points_mm=thick, crown_points_mm=crown
            ),
            ribs=tuple(
                Rib(
                    name=f"{k + 1}",
                    wood=rib.wood.wood(),
                    start_mm=(rib.x, rib.span[0]),
                    end_mm=(rib.x, rib.span[1]),
                    width_mm=rib.width,
                    height_mm=rib.height,
                    end_height_mm=rib.left,
                    feather_mm=rib.feathers,
                )
                for k, rib in enumerate(self.ribs)
            ),
            bridges=tuple(
                Bridge(
                    name=f"{k + 1}",
                    root_wood=beam.root_wood.wood(),
                    cap_wood=beam.cap_wood.wood(),
                    line_mm=[beam.start, beam.end],
                    width_mm=[beam.width] * 2,
                    root_mm=[beam.root] * 2,
                    cap_mm=[beam.cap] * 2,
                    notch_mm=[beam.notch] * 2,
                )
                for k, beam in enumerate(self.bridges)
            ),
        )
