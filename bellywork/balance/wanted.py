"""What is wanted at every note: net bearing and front share, in one state, from the four ways of saying it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bellywork.board.arrays import Bools, Floats
from bellywork.board.state import State
from bellywork.board.strings import StringLine
from bellywork.board.targets import Target, TargetKind
from bellywork.errors import BoardError, MissingLayer, SolveError
from bellywork.geometry.naming import notes_in_words
from bellywork.geometry.string_line import bearing, heights_for, topped
from bellywork.geometry.thread import net_of_block_deg

USUAL = Target(kind=TargetKind.NET_DEG, value=1.0, front_share=0.5)


@dataclass(frozen=True, kw_only=True, eq=False)
class Wanted:
    """What every note should have in one state, notes as in the string line.

    state                   the state in which it is to hold
    net_deg, front_share    net bearing in degrees and its share at the front pins
    front_mm, rear_mm       heights of the bridge top at the pins, in mm, that give it exactly
    assumptions             what was taken for want of a target, in sentences
    """

    state: State
    net_deg: Floats
    front_share: Floats
    front_mm: Floats
    rear_mm: Floats
    assumptions: tuple[str, ...]


def wanted(line: StringLine, targets: Sequence[Target], pull_N: Floats | None = None) -> Wanted:
    """The targets of a board turned into net bearings, and into heights of the bridge top in the state they are for.

    pull_N   tension of all the strings of each note together, in N; needed by targets in newtons

    A section's own target holds at all of its notes. Where notes of the section are named instead, the value runs
    straight between them over the note numbers, and beyond them as at the nearest; where both are given, a named note
    stands alone in its section. A section without any target gets 1.0° net, half of it in front (common practice, no
    source). A block means the net bearing of a bridge flush with its thread, a force that of all the note's strings.

    Raises BoardError for a target that names nothing on the board, for two kinds of target between the notes of one
    section or for targets in two states, MissingLayer for a force without a scale, SolveError where no height gives
    the deflection or force.
    """
    states = {target.state for target in targets} or {State.STRUNG}
    if len(states) > 1:
        raise BoardError("Targets are for two states; a bridge is planed to one of them.")
    state = states.pop()
    each, untold = per_note(line, targets)
    value = np.array([target.value for target in each])
    share = np.array([target.front_share for target in each])
    net = np.zeros(len(each))
    for kind in TargetKind:
        here = np.array([target.kind is kind for target in each])
        if np.any(here):
            net = np.where(here, _net_deg(kind, line, value, share, here, pull_N), net)
    front, rear = heights_for(line, net, share)
    said = () if not untold else (_said(untold, len(targets), state),)
    return Wanted(state=state, net_deg=net, front_share=share, front_mm=front, rear_mm=rear, assumptions=said)


def per_note(line: StringLine, targets: Sequence[Target]) -> tuple[list[Target], list[str]]:
    """The target of each note of the line, and the sections for which none was given."""
    _check_names(line, targets)
    untold = []
    each: list[Target] = [USUAL] * len(line.note)
    for section in dict.fromkeys(line.section):
        at = [i for i, name in enumerate(line.section) if name == section]
        notes = line.note[at].tolist()
        named = {target.note: target for target in targets if target.note in notes}
        whole = [target for target in targets if target.section == section and target.note is None]
        if not named and not whole:
            untold.append(section)
        for i, note in zip(at, notes):
            if whole or not named:
                each[i] = named.get(note, whole[-1] if whole else USUAL)
            else:
                each[i] = _between(note, section, list(named.values()))
    return each, untold


def _between(note: int, section: str, named: list[Target]) -> Target:
    """The target of a note between named ones: value and share straight over the note numbers."""
    if len({target.kind for target in named}) > 1:
        kinds = ", ".join(sorted({target.kind.value for target in named}))
        raise BoardError(f"Section {section} has targets of several kinds between its notes ({kinds}); use one kind.")
    known = sorted(named, key=lambda target: target.note or 0)
    at = [float(target.note or 0) for target in known]
    return replace(
        known[0],
        note=note,
        value=float(np.interp(note, at, [target.value for target in known])),
        front_share=float(np.interp(note, at, [target.front_share for target in known])),
    )


def _net_deg(
    kind: TargetKind, line: StringLine, value: Floats, share: Floats, here: Bools, pull_N: Floats | None
) -> Floats:
    """Net bearing in degrees that a target of this kind means, at the notes marked in `here`."""
    if kind is TargetKind.NET_DEG:
        return value
    if kind is TargetKind.BLOCK_MM:
        return net_of_block_deg(line, value)
    if kind is TargetKind.DEFLECTION_MM:
        return _net_giving(lambda at: bearing(at).string_deflection_mm, line, value, share, here)
    if pull_N is None:
        raise MissingLayer("A target in N needs the scale: unisons and wire diameters per note, in scale.csv.")

    def force(at: StringLine) -> Floats:
        turned = bearing(at)
        return np.asarray(pull_N * (np.sin(turned.speaking_rad) - np.sin(turned.back_rad)))

    return _net_giving(force, line, value, share, here)


def _net_giving(
    gives: Callable[[StringLine], Floats], line: StringLine, value: Floats, share: Floats, here: Bools
) -> Floats:
    """Net bearing in degrees at which `gives` has this value, by the secant rule on all notes at once."""

    def missed(net: Floats) -> Floats:
        return np.where(here, gives(topped(line, *heights_for(line, net, share))) - value, 0.0)

    net, nearer = np.zeros(len(value)), np.ones(len(value))
    off, off_nearer = missed(net), missed(nearer)
    for _ in range(30):
        rate = (off_nearer - off) / np.where(nearer == net, 1.0, nearer - net)
        step = np.divide(off_nearer, rate, out=np.zeros(len(value)), where=rate != 0.0)
        net, nearer, off = nearer, np.clip(nearer - step, -60.0, 60.0), off_nearer
        off_nearer = missed(nearer)
        if np.all(np.abs(off_nearer) <= 1e-10 * np.maximum(1.0, np.abs(value))):
            return nearer
    lost = line.note[np.abs(off_nearer) > 1e-10 * np.maximum(1.0, np.abs(value))].tolist()
    raise SolveError(f"No height of the bridge gives the target at {notes_in_words(lost)}.")


def _check_names(line: StringLine, targets: Sequence[Target]) -> None:
    for target in targets:
        if target.note is None and target.section not in line.section:
            raise BoardError(f"A target is for section {target.section!r}, but no note of the board stands in it.")
        if target.note is not None and target.note not in line.note:
            raise BoardError(f"A target is for {notes_in_words([target.note])}, which the string line does not have.")


def _said(untold: list[str], targets: int, state: State) -> str:
    where = f"section {', '.join(untold)}" if targets else "all notes"
    return (
        f"No target was given for {where}: {USUAL.value:.1f}° net in the {state.value} state, half of it in front, is "
        "taken (common practice, no source)."
    )
