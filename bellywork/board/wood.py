"""Wood as data: nine elastic constants, density, shrinkage and strength, at one moisture content."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import cos, radians, sin


@dataclass(frozen=True, kw_only=True)
class WoodStrength:
    """Short-term strength of clear wood in N/mm² (means of small specimens); None where no figure is known.

    bending               modulus of rupture
    compression_parallel  crushing strength along the grain
    compression_across    proportional limit across the grain
    shear_parallel        along the grain
    tension_across        across the grain
    """

    bending: float | None = None
    compression_parallel: float | None = None
    compression_across: float | None = None
    shear_parallel: float | None = None
    tension_across: float | None = None


@dataclass(frozen=True, kw_only=True)
class Wood:
    """A wood at `moisture_percent`: moduli in N/mm², density in kg/m³ at that moisture, directions L, R, T.

    nu_LR is the contraction along R under stress along L; nu_RL = nu_LR · E_R / E_L follows and is not stored.
    Shrinkage is from green to oven-dry, in % of the green size, as handbooks print it.
    """

    name: str
    E_L: float
    E_R: float
    E_T: float
    G_LR: float
    G_LT: float
    G_RT: float
    nu_LR: float
    nu_LT: float
    nu_RT: float
    density_kg_m3: float
    moisture_percent: float = 12.0
    shrinkage_L_percent: float = 0.15
    shrinkage_R_percent: float | None = None
    shrinkage_T_percent: float | None = None
    strength: WoodStrength = WoodStrength()
    green: WoodStrength = WoodStrength()
    green_E_ratio: float | None = None
    intersection_percent: float = 25.0
    source: str = ""

    def with_rings_at(self, angle_deg: float) -> Wood:
        """The wood as a board's own directions feel it, whose rings stand at an angle to its face (90 = quarter-sawn).

        In the wood that comes back R is across the grain in the face and T through the thickness. Exact turning of the
        compliances about L (any text on anisotropic elasticity); what it couples between stretch or shear in the face
        and shear through the thickness, nought at 0 and 90°, is left out. Shrinkage turns with it, strength stays.

        >>> spruce = Wood(name="spruce", E_L=14e3, E_R=1176, E_T=650, G_LR=1300, G_LT=1500, G_RT=54, nu_LR=0.4,
        ...               nu_LT=0.4, nu_RT=0.5, density_kg_m3=430)
        >>> [round(spruce.with_rings_at(90 - off).E_R / spruce.E_R, 2) for off in (0, 10, 20, 45, 90)]
        [1.0, 0.65, 0.34, 0.17, 0.55]
        """
        off = radians(90.0 - angle_deg)
        c, s = cos(off) ** 2, sin(off) ** 2
        lr, lt, rt = -self.nu_LR / self.E_L, -self.nu_LT / self.E_L, -self.nu_RT / self.E_R
        radial, tangential, shear = 1.0 / self.E_R, 1.0 / self.E_T, 1.0 / self.G_RT
        mixed = c * s * (2.0 * rt + shear)
        across, through = c * c * radial + s * s * tangential + mixed, s * s * radial + c * c * tangential + mixed
        both = (c * c + s * s) * rt + c * s * (radial + tangential - shear)
        grown = [self.shrinkage_R_percent, self.shrinkage_T_percent]
        if grown[0] is not None and grown[1] is not None:
            grown = [c * grown[0] + s * grown[1], s * grown[0] + c * grown[1]]
        return replace(
            self,
            E_R=1.0 / across,
            E_T=1.0 / through,
            G_LR=1.0 / (c / self.G_LR + s / self.G_LT),
            G_LT=1.0 / (s / self.G_LR + c / self.G_LT),
            G_RT=1.0 / (4.0 * c * s * (radial + tangential - 2.0 * rt) + (c - s) ** 2 * shear),
            nu_LR=-self.E_L * (c * lr + s * lt),
            nu_LT=-self.E_L * (s * lr + c * lt),
            nu_RT=-both / across,
            shrinkage_R_percent=grown[0],
            shrinkage_T_percent=grown[1],
        )
