"""Strings over a bridge that moves through the years: kept at pitch by the tuner, or left alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.board.strings import StringLine
from bellywork.geometry.string_line import bearing, pin_forces_N, run_stiffness_N_mm, slant_mm, sunk

FINER_ROUNDS = 3  # each brings the forces ten times nearer to those under which the finer board stands
LEAVING_DEG = 0.02  # net bearing, a fifth of what is told apart on a bridge


@dataclass(frozen=True, kw_only=True, eq=False)
class LeftAlone:
    """Strings that nobody tunes, as they were when they were brought to pitch: from then on they pull as they stretch.

    line      the string line then
    along_mm  how far the bridge top then stood along each string, towards the rear (notes,); None: strings slip freely
              over their pins, each one length with one tension; else pins hold, speaking and back length by themselves
    wire_N    E A of all the strings of each note
    """

    line: StringLine
    along_mm: Floats | None
    wire_N: Floats

    def more_N(self, line: StringLine, along_mm: Floats) -> Floats:
        """How much more each run pulls where the bridge top stands now, (3, notes), N."""
        before = slant_mm(self.line)
        longer = slant_mm(line) - before
        if self.along_mm is None:
            return np.tile(self.wire_N * longer.sum(axis=0) / before.sum(axis=0), (3, 1))
        gone = along_mm - self.along_mm
        longer = longer + np.stack([gone, -longer[1], -gone])  # the pins hold the run between them as it was
        return np.asarray(self.wire_N * longer / before)

    def stretching(self, line: StringLine) -> list[tuple[Floats, Floats]]:
        """What stretches by itself: its stiffness, N/mm (notes,), and how much longer it gets for 1 mm of front pin,
        rear pin and bridge top, up, up and towards the rear, (3, notes).
        """
        turned, before = bearing(line), slant_mm(self.line)
        front, over, rear = np.sin(np.stack([turned.speaking_rad, turned.bridge_rad, turned.back_rad]))
        none, whole = np.zeros_like(front), np.ones_like(front)
        if self.along_mm is None:
            return [(self.wire_N / before.sum(axis=0), np.stack([front - over, over - rear, none]))]
        return [
            (self.wire_N / before[0], np.stack([front, none, whole])),
            (self.wire_N / before[2], np.stack([none, -rear, -whole])),
        ]


@dataclass(frozen=True, kw_only=True, eq=False)
class Strings:
    """Strings over a bridge top: what they press at the pins, front pins first.

    line       the string line where the bridge top stands at `rest_mm`
    pull_N     tension of all the strings of each note, at pitch
    rest_mm    rise of the panel under the pins (2 · notes,) less what the wood over it has grown
    grown_mm   how much thicker panel, root and cap have become since then (notes,)
    steady     True: the strings press as they do on `line`, wherever the bridge is
    finer_mm_N what a finer grid would add to the board's compliance at the pins; None: the strings do not press
    left       strings left alone; None: kept at pitch

    Moves are the rises of the panel under the pins (2 · notes,), and where the board is asked for it, behind them how
    far the bridge top stands along each string towards the rear (notes,); mm.
    """

    line: StringLine
    pull_N: Floats
    rest_mm: Floats
    grown_mm: Floats
    steady: bool = False
    finer_mm_N: Floats | None = None
    left: LeftAlone | None = None

    def at(self, moves_mm: Floats) -> StringLine:
        """The line at these moves."""
        if self.steady:
            return self.line
        rise, along = self._parted(moves_mm)
        line = self._raised(rise)
        if self.finer_mm_N is not None:
            for _ in range(FINER_ROUNDS):
                more = self.finer_mm_N @ np.concatenate(pin_forces_N(line, self._bears_N(line, along)))
                line = self._raised(rise - more)
        return line

    def pulls_N(self, moves_mm: Floats) -> Floats:
        """Tension of all the strings of each note at these moves, of their three runs: (3, notes)."""
        return self._pulls_N(self.at(moves_mm), self._parted(moves_mm)[1])

    def pressed(self, moves_mm: Floats) -> tuple[Floats, Floats]:
        """Forces against these moves, N: at the pins, down positive, and along each string towards the front; and their
        growth with the moves, N/mm.
        """
        line, along = self.at(moves_mm), self._parted(moves_mm)[1]
        n, count = len(self.pull_N), len(moves_mm)
        pull = self._bears_N(line, along)
        front, over, rear = run_stiffness_N_mm(line, pull)
        k, growth = np.arange(n), np.zeros((3 * n, 3 * n))
        if not self.steady:
            growth[k, k], growth[k + n, k + n] = front + over, over + rear
            growth[k, k + n] = growth[k + n, k] = -over
        if self.left is not None:
            for stiffness, longer in self.left.stretching(line):
                for i, one in enumerate(longer):
                    for j, other in enumerate(longer):
                        growth[k + i * n, k + j * n] += stiffness * one * other
        forces = np.concatenate([*pin_forces_N(line, pull), pull[0] - pull[2]])
        return forces[:count], growth[:count, :count]

    def _parted(self, moves_mm: Floats) -> tuple[Floats, Floats]:
        n = len(self.pull_N)
        return moves_mm[: 2 * n], moves_mm[2 * n :]

    def _raised(self, rise_mm: Floats) -> StringLine:
        front, rear = np.split(rise_mm - self.rest_mm, 2)
        return sunk(self.line, -front - self.grown_mm, -rear - self.grown_mm)

    def _pulls_N(self, line: StringLine, along_mm: Floats) -> Floats:
        pull = np.tile(self.pull_N, (3, 1))
        return pull if self.left is None else pull + self.left.more_N(line, along_mm)

    def _bears_N(self, line: StringLine, along_mm: Floats) -> Floats:
        """Tension that bears on the pins. A string that comes off still turns one way in front and the other behind, so
        that its forces would end at once, and no balance could lie just there: here they end within LEAVING_DEG.
        """
        return self._pulls_N(line, along_mm) * np.clip(bearing(line).net_deg / LEAVING_DEG, 0.0, 1.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Fitting:
    """The strings of a board and when they came on; days count from the beginning of the history.

    line                  the string line as it was measured
    pull_N                tension of all the strings of each note, at pitch
    measured_day          when: bare up to and at the day of stringing, strung after it
    strung_day            when the strings are brought to pitch; None: never
    grown_per_percent_mm  how much thicker panel, root and cap grow under each note for 1 % of moisture
    finer_mm_N            what a finer grid adds to the board's compliance at the pins; None: nothing
    left_alone_N          E A of all the strings of each note, where nobody tunes them again; None: kept at pitch
    """

    line: StringLine
    pull_N: Floats
    measured_day: float
    strung_day: float | None
    grown_per_percent_mm: Floats
    finer_mm_N: Floats | None = None
    left_alone_N: Floats | None = None

    def rest_mm(self, rise_mm: Floats, *, strung: bool) -> Floats:
        """The rise at which the board has the heights measured, where it has this one on the coarser grid."""
        if not strung or self.finer_mm_N is None:
            return rise_mm
        return np.asarray(rise_mm - self.finer_mm_N @ np.concatenate(pin_forces_N(self.line, self.pull_N)))

    def strings(
        self,
        rest_mm: Floats | None,
        moisture_gone_percent: float,
        *,
        pressing: bool = True,
        left: LeftAlone | None = None,
    ) -> Strings:
        """The strings where the wood has so much more moisture than when it was measured; None: not yet measured."""
        return Strings(
            line=self.line,
            pull_N=self.pull_N,
            rest_mm=np.zeros(2 * len(self.pull_N)) if rest_mm is None else rest_mm,
            grown_mm=self.grown_per_percent_mm * moisture_gone_percent,
            steady=rest_mm is None,
            finer_mm_N=self.finer_mm_N if pressing else None,
            left=left,
        )

    def left(self, line: StringLine, moves_mm: Floats) -> LeftAlone | None:
        """The strings left alone from now on, at pitch on this line; None where the tuner keeps them there. Pins hold
        where the moves tell how far the bridge top stands along its strings.
        """
        if self.left_alone_N is None:
            return None
        along = moves_mm[2 * len(self.pull_N) :]
        return LeftAlone(line=line, along_mm=along if len(along) else None, wire_N=self.left_alone_N)
