"""Thread and block: the shop's own way of setting a bridge to its bearing.

A thread runs from the front termination over the bridge to a block laid on the rear rest; a kerf is sawn into the
bridge top until the thread just touches cap and block together. Its floor lies on the straight line from F to the top
of the block, and a bridge planed flush with it has the net bearing that belongs to the block.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine
from bellywork.geometry.string_line import bearing, heights_for, run_mm, topped


@dataclass(frozen=True, kw_only=True, eq=False)
class Thread:
    """Block and kerf per note, in mm.

    block_mm   to be laid on the rear rest
    kerf_mm    depth of the kerf's floor under the present bridge top, where the floor meets the top that is wanted;
               negative where the thread passes above the present top: wood is lacking
    kerf_at    where that is, as a share of the way from the front to the rear pins
    """

    block_mm: Floats
    kerf_mm: Floats
    kerf_at: Floats


def net_of_block_deg(line: StringLine, block_mm: Floats) -> Floats:
    """Net bearing in degrees of a bridge that is flush with the thread to a block of this thickness.

    Where all heights are level it is near atan(block / back length), the rule of the trade (common practice):
    1.40 mm on a back length of 80 mm is 1°.

    >>> import numpy as np
    >>> from bellywork.geometry.one_string import one_string
    >>> print(f"{net_of_block_deg(one_string(back=80.0), np.array([1.40]))[0]:.3f}")
    1.003
    """
    flush = thread_heights(line, block_mm)
    return bearing(topped(line, *flush)).net_deg


def threaded(line: StringLine, wanted_front_mm: Floats, wanted_rear_mm: Floats) -> Thread:
    """Block and kerf for a line whose bridge top is to come down to these heights, all in one and the same state.

    The block is the one whose thread, lain flush in the bridge, makes the same net bearing as the top that is wanted:
    the thread knows only the net. The slope that parts it into front and rear turns the top about the point where the
    floor of the kerf and the wanted top cross, L_f/(L_f + L_r) of the way from front to rear pins: planing to the
    floor there, and to the wanted slope, gives both.
    """
    net = bearing(topped(line, wanted_front_mm, wanted_rear_mm)).net_deg
    floor_front, floor_rear = heights_for(line, net, np.zeros(len(line.note)))
    rise = (floor_front - line.front_height_mm) / line.speaking_mm
    block = line.front_height_mm + rise * run_mm(line) - line.rear_height_mm
    above_front, above_rear = wanted_front_mm - floor_front, wanted_rear_mm - floor_rear
    turn = above_front - above_rear
    crossing = np.divide(
        above_front, turn, out=line.speaking_mm / (line.speaking_mm + line.back_mm), where=np.abs(turn) > 1e-9
    )
    present = (1.0 - crossing) * line.bridge_front_mm + crossing * line.bridge_rear_mm
    floor = (1.0 - crossing) * floor_front + crossing * floor_rear
    return Thread(block_mm=block, kerf_mm=present - floor, kerf_at=crossing)


def thread_heights(line: StringLine, block_mm: Floats) -> tuple[Floats, Floats]:
    """Heights in mm, over the front and the rear pins, of the thread to a block of this thickness on the rear rest."""
    rise = (line.rear_height_mm + block_mm - line.front_height_mm) / run_mm(line)
    front = line.front_height_mm + rise * line.speaking_mm
    return front, front + rise * line.rows_mm
