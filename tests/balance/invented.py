"""An invented grand of 88 notes for the tests of the balance: string line, scale and plan, and a made-up compliance."""

from __future__ import annotations

import numpy as np

from bellywork.balance.sink import EnteredSink, SinkSource
from bellywork.board import Board, Scale, StringLine, StringPlan
from bellywork.geometry.string_line import heights_for, topped
from bellywork.mechanics.response import Response

NOTES = np.arange(1, 89)
BASS = 26


def sections() -> tuple[str, ...]:
    breaks = ((BASS, "bass"), (43, "tenor"), (60, "middle"), (72, "treble"), (88, "top"))
    return tuple(next(name for last, name in breaks if note <= last) for note in NOTES)


def line(over_mm: float = 1.5, net_deg: float = 1.0) -> StringLine:
    """Heights for a net bearing of so many degrees, half in front, with `over_mm` of wood left on the bridge top."""
    n = NOTES.astype(float)
    bass = NOTES <= BASS
    speaking = np.where(bass, 1520.0 - 22.0 * (n - 1.0), 52.0 * 2.0 ** ((88.0 - n) / 12.0 * 0.93))
    speaking = np.where(bass, speaking, np.minimum(speaking, 1500.0 - 4.0 * n))
    flat = StringLine(
        note=NOTES,
        section=sections(),
        bridge=tuple("bass" if low else "long" for low in bass),
        speaking_mm=speaking,
        rows_mm=np.where(bass, 20.0, np.linspace(18.0, 11.0, 88)),
        back_mm=np.where(bass, 130.0 - n, np.linspace(110.0, 45.0, 88)),
        front_height_mm=np.linspace(62.0, 55.0, 88) + np.where(bass, 22.0, 0.0),
        bridge_front_mm=np.zeros(88),
        bridge_rear_mm=np.zeros(88),
        rear_height_mm=np.linspace(60.0, 54.0, 88) + np.where(bass, 22.0, 0.0),
        cap_mm=np.full(88, 14.0),
        measured=np.full(88, True),
    )
    front, rear = heights_for(flat, np.full(88, net_deg), np.full(88, 0.5))
    return topped(flat, front + over_mm, rear + over_mm)


def scale() -> Scale:
    """Cores of 1.4 to 0.95 mm under copper wound to 1150 N (singles) and 850 N (doubles); then plain triples."""
    n = NOTES.astype(float)
    bass = NOTES <= BASS
    wire = np.where(bass, 1.42 - 0.018 * n, 1.05 - 0.27 * (n - BASS) / 62.0)
    frequency = 440.0 * 2.0 ** ((n - 49.0) / 12.0)
    mass = np.where(NOTES <= 8, 1150.0, 850.0) / (4.0 * (line().speaking_mm / 1000.0 * frequency) ** 2)
    wound = np.sqrt(wire**2 + (mass - 7850.0e-6 * np.pi / 4.0 * wire**2) / (8960.0e-6 * np.pi**2 / 16.0))
    return Scale(
        note=NOTES,
        unisons=np.where(NOTES <= 8, 1, np.where(bass, 2, 3)),
        wire_mm=wire,
        outer_mm=np.where(bass, wound, wire),
        wrap=tuple("copper" if low else "" for low in bass),
    )


def plan() -> StringPlan:
    given = line()
    x = 30.0 + 14.5 * NOTES + np.where(NOTES <= BASS, 260.0, 0.0)
    front = np.column_stack([x, np.full(88, 150.0)])

    def back_by(distance):
        return front + np.column_stack([np.zeros(88), distance])

    at_rear = given.speaking_mm + given.rows_mm
    return StringPlan(
        note=NOTES,
        front_mm=front,
        front_pin_mm=back_by(given.speaking_mm),
        rear_pin_mm=back_by(at_rear),
        rear_mm=back_by(at_rear + given.back_mm),
    )


def board(**parts: object) -> Board:
    return Board(**{"name": "invented", "strings": line(), "scale": scale(), "plan": plan(), **parts})


def response(seed: int = 1) -> Response:
    """A board that answers in proportion, by `compliance`."""
    return Response(small_mm_N=compliance(seed))


def compliance(seed: int = 1, at_most_mm_N: float = 1e-3) -> np.ndarray:
    """A symmetric positive definite compliance at all front and rear pins, smooth in plan, up to so many mm/N."""
    random = np.random.default_rng(seed)
    points = np.vstack([plan().front_pin_mm, plan().rear_pin_mm])
    apart = np.hypot(*(points[:, None, :] - points[None, :, :]).T)
    stiff = random.uniform(0.5, 1.0, 88)
    amplitude = np.sqrt(at_most_mm_N * np.concatenate([stiff, stiff]))
    smooth = 0.8 * np.exp(-((apart / 300.0) ** 2)) + 0.2 * np.exp(-((apart / 40.0) ** 2))
    return amplitude[:, None] * smooth * amplitude[None, :] + 1e-7 * np.eye(176)


def rigid() -> EnteredSink:
    """A board of which it is known that it does not sink."""
    none = np.zeros(88)
    return EnteredSink(source=SinkSource.MEASURED, preloaded_mm=none, strung_mm=none, assumptions=())
