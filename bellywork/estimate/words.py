"""What was learned of a board, in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bellywork.board.state import State, nets_read
from bellywork.estimate.inference import SIGMAS
from bellywork.estimate.pairs import PairKind
from bellywork.estimate.unknowns import OF_READINGS, Unknown, scatter, shared
from bellywork.measures import counted

if TYPE_CHECKING:
    from bellywork.board.shop import Shop
    from bellywork.estimate.estimate import Estimate, Learned

TELLING = 0.5  # of its scatter before: an unknown that has moved less was hardly learned
SHOP_TELLING = 0.2  # likewise: what several boards say is surer
MOST_TOLD = 3


def learned_words(estimate: Estimate) -> str:
    """What was read of a board and its shop's other boards taught, in a sentence each; empty where there is nothing."""
    shop = "" if estimate.shop is None else shop_words(estimate.shop)
    if estimate.learned is None:
        return shop
    than = "described" if estimate.shop is None else "this shop's boards usually are"
    soft, wide = 100.0 * (softness(estimate)[0] - 1.0), 100.0 * softness(estimate)[1]
    whole = f"as soft as {than}" if abs(soft) < 1.0 else f"{abs(soft):.0f} % {'softer' if soft > 0 else 'stiffer'}"
    whole += f" than {than}" * (abs(soft) >= 1.0)
    parts = "".join(f"; {part}" for part in (", ".join(_moved(estimate)),) if part)
    return f"{shop} ".lstrip() + (
        f"Learned from {_sources(estimate.learned)}: under the bridges the board is {whole}, ± {wide:.0f} %{parts}."
    )


def _sources(learned: Learned) -> str:
    """What was read, counted, in words."""
    out, dials, back = [], learned.observed.dials, learned.observed.came_back
    if dials is not None:
        out.append(f"{counted(len(dials.names), 'dial')} of press trials")
    if back is not None:
        names = {kind: {pair.name for pair in back.pairs if pair.kind is kind} for kind in PairKind}
        twice = [counted(len(names[kind]), kind.value) for kind in (PairKind.RIB, PairKind.HEIGHT) if names[kind]]
        out.extend([f"{' and '.join(twice)} read bare and under load"] * bool(twice))
        alone = [kind for kind in (PairKind.SINK, PairKind.BEARING) if names[kind]]
        out.extend(counted(len(names[kind]), kind.value) for kind in alone)
    return f"{', from '.join(out[:-1])}, and from {out[-1]}" if len(out) > 1 else "".join(out)


def shop_words(shop: Shop) -> str:
    """What a shop's memory let expect of its next board, in one sentence."""
    count, shift = len(shop.boards), shop.mean / np.sqrt([scatter()[key] ** 2 for key in shop.keys])
    told = [k for k in np.argsort(-np.abs(shift)) if abs(shift[k]) >= SHOP_TELLING][:MOST_TOLD]
    parts = ", ".join(_word(shared(shop.keys[k]), float(shop.mean[k])) for k in told)
    woods = " and ".join(wood.replace("_", " ") for wood in shop.woods)
    return (
        f"From the shop's memory of {counted(count, 'board')} ({woods}): "
        f"{parts or 'its boards are as the book has them'}."
    )


def doubts(estimate: Estimate) -> tuple[str, ...]:
    """What to look at among the readings."""
    left_out = [each.name for each in estimate.described.board.trials if each.state is not State.BARE]
    out = []
    if estimate.learned is not None and estimate.learned.misread:
        out.append(
            f"{_listed(estimate.learned.misread)}: no likely board reads so; it counted little. Read it again, or look "
            "for a rib that is loose there."
        )
    if estimate.learned is not None and estimate.learned.loose:
        out.append(
            "What came back when the load was taken off scatters more than its uncertainty allows: look for loose ribs "
            "or a state that was misread. It counts for less, and the bands are wider."
        )
    if alone := _unmatched(estimate):
        out.append(
            f"What was gauged under the strings at note {_listed(alone)} teaches nothing of the board's softness: the "
            "bare bearing is not known there. Gauge it bare too, or read the bare heights."
        )
    if left_out:
        out.append(f"Trial {_listed(left_out)} was read on a board that was not bare, and was left out.")
    return tuple(out)


def _unmatched(estimate: Estimate) -> tuple[str, ...]:
    """Notes whose bearing was gauged under strings and is not known of the bare board."""
    back = None if estimate.learned is None else estimate.learned.observed.came_back
    line = estimate.described.board.strings
    if back is None or line is None:
        return ()
    known = {int(line.note[pair.note]) for pair in back.pairs if pair.kind is PairKind.BEARING}
    read = {each.note for each in nets_read(estimate.described.board.readings) if each.state.under_strings}
    return tuple(str(note) for note in sorted(read - known))


def softness(estimate: Estimate) -> tuple[float, float]:
    """How many times as much the places sink under a load on all of them as on the board as described, and the 95 %
    half width of that.
    """
    before = estimate.slopes if estimate.learned is None else estimate.learned.observed.slopes
    count = estimate.places.pins or len(estimate.places.points_mm)
    now, then = (each.compliance_mm_N[:count, :count].sum() for each in (estimate.slopes, before))
    slope = estimate.slopes.slope_mm_N[:, :count, :count].sum(axis=(1, 2)) / then
    return float(now / then), float(SIGMAS * np.sqrt(slope @ estimate.covariance @ slope))


def _moved(estimate: Estimate) -> list[str]:
    """The unknowns that moved most, in words, the most telling first."""
    shift = estimate.value / [unknown.sigma for unknown in estimate.unknowns]
    order = np.argsort(-np.abs(shift))
    told = [
        k
        for k in order
        if abs(shift[k]) >= TELLING and not (estimate.unknowns[k].waves or estimate.unknowns[k].key in OF_READINGS)
    ]
    return [_word(estimate.unknowns[k], float(estimate.value[k])) for k in told[:MOST_TOLD]]


def _word(unknown: Unknown, value: float) -> str:
    if unknown.key == "rim_rotation":
        return f"rim nearer {'clamped' if value > 0.0 else 'hinged'}"
    if unknown.key == "thickness":
        return f"panel {abs(value):.1f} mm {'thicker' if value > 0.0 else 'thinner'} than read"
    percent = 100.0 * abs(np.expm1(value))
    return f"{unknown.words} {percent:.0f} % {'stiffer' if value > 0.0 else 'softer'}"


def _listed(names: tuple[str, ...] | list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
