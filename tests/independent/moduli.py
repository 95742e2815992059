"""Nine constants of a wood as a stiffness, and strains turned into its axes."""

from __future__ import annotations

import numpy as np
from shapes import Timber


def strain_turn(axes: np.ndarray) -> np.ndarray:
    """Turns strains (xx, yy, zz, yz, xz, xy; shears doubled) into those along the rows of `axes` (…, 3, 3)."""
    pairs = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))
    T = np.empty((*axes.shape[:-2], 6, 6))
    for r, (i, j) in enumerate(pairs):
        for c, (k, m) in enumerate(pairs):
            product = axes[..., i, k] * axes[..., j, m]
            if k != m:
                product = (product + axes[..., i, m] * axes[..., j, k]) / 2.0
            T[..., r, c] = product * (2.0 if i != j else 1.0)
    return T


def stiffness_LRT(wood: Timber) -> np.ndarray:
    """The nine constants as a stiffness (6, 6) in the order LL, RR, TT, RT, LT, LR."""
    S = np.zeros((6, 6))
    S[:3, :3] = [
        [1.0 / wood.E_L, -wood.nu_LR / wood.E_L, -wood.nu_LT / wood.E_L],
        [-wood.nu_LR / wood.E_L, 1.0 / wood.E_R, -wood.nu_RT / wood.E_R],
        [-wood.nu_LT / wood.E_L, -wood.nu_RT / wood.E_R, 1.0 / wood.E_T],
    ]
    S[3, 3], S[4, 4], S[5, 5] = 1.0 / wood.G_RT, 1.0 / wood.G_LT, 1.0 / wood.G_LR
    return np.linalg.inv(S)
