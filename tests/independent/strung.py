"""Strings over a board: the balance by hand on the solid's compliance, and the same board for the project's balance.

Invented strings, three to a note, a semitone apart, over the first bridge; heights of the bare board for 3° of net
bearing. By hand: the sink u at all pins is C p(u); each string is straight from its front rest over both pins to its
rear rest, pulls with its tension at pitch, and so presses T (sin of the slope before the pin − sin of that behind it).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from compare import solids
from scipy.optimize import fsolve
from shapes import TestBoard
from solve_boards import pins_of, settled

from bellywork.balance.bearing_table import bearing
from bellywork.board import Board, Scale, State, StringLine, StringPlan

FIRST_NOTE, BARE_NET_DEG = 46, 3.0
STEEL_KG_M3, WIRE_MM, UNISONS = 7850.0, 1.6, 3  # heavy: a note stands for the three it takes the place of
GOAL_DEG = 0.03


@dataclass(frozen=True)
class Strings:
    """Lengths, mm, heights over the rim of the bare board, mm, and pull of all strings of each note, N."""

    note: np.ndarray
    speaking: np.ndarray
    rows: float
    back: np.ndarray
    front_height: np.ndarray
    front_pin: np.ndarray
    rear_pin: np.ndarray
    rear_height: np.ndarray
    pull: np.ndarray


def strings(board: TestBoard) -> Strings:
    """The strings of a board, from the bridge's start with rising notes."""
    count, _, _, rows = board.strings
    k = np.arange(count)
    speaking, back = 430.0 * 2.0 ** (-0.93 * k / 12.0), 95.0 - 3.0 * k
    frequency = 440.0 * 2.0 ** ((FIRST_NOTE + k - 49.0) / 12.0)
    mass = STEEL_KG_M3 * np.pi / 4.0 * (WIRE_MM / 1000.0) ** 2
    top = np.full(count, 60.0)
    half = np.tan(np.radians(BARE_NET_DEG / 2.0))  # level over the bridge, falling alike before and behind it
    return Strings(
        note=FIRST_NOTE + k,
        speaking=speaking,
        rows=rows,
        back=back,
        front_height=top - half * speaking,
        front_pin=top,
        rear_pin=top,
        rear_height=top - half * back,
        pull=UNISONS * 4.0 * (speaking / 1000.0 * frequency) ** 2 * mass,
    )


def slopes(s: Strings, sink: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Slope angles before, over and behind the bridge, rising to the rear, radians, after a sink at all pins."""
    front, rear = s.front_pin - sink[: len(s.note)], s.rear_pin - sink[len(s.note) :]
    return (
        np.arctan((front - s.front_height) / s.speaking),
        np.arctan((rear - front) / s.rows),
        np.arctan((s.rear_height - rear) / s.back),
    )


def compliance_at_pins(board: TestBoard) -> np.ndarray:
    """The solid's, mm/N."""
    return settled([mesh for mesh in solids(board.name)["meshes"] if "pins_nm_per_N" in mesh], pins_of)


def by_hand(board: TestBoard, compliance: np.ndarray | None = None) -> np.ndarray:
    """Net bearing in degrees at every note in balance on the solid (or on another compliance at the pins)."""
    s = strings(board)
    C = compliance_at_pins(board) if compliance is None else compliance

    def missing(sink: np.ndarray) -> np.ndarray:
        before, over, behind = slopes(s, sink)
        press = np.append(s.pull * (np.sin(before) - np.sin(over)), s.pull * (np.sin(over) - np.sin(behind)))
        return C @ press - sink

    sink, _, found, why = fsolve(missing, np.zeros(2 * len(s.note)), full_output=True, xtol=1e-12)
    assert found == 1, why
    assert np.abs(missing(sink)).max() < 1e-9
    before, _, behind = slopes(s, sink)
    return np.degrees(before - behind)


def as_board(board: TestBoard) -> Board:
    """Body, strings, scale and plan for the project."""
    s, n = strings(board), len(board.pins()) // 2
    at = np.array([(pin.x, pin.y) for pin in board.pins()])
    front, rear = at[:n], at[n:]
    way = (rear - front) / s.rows
    return Board(
        name=board.name,
        body=board.body(),
        strings=StringLine(
            note=s.note,
            section=("all",) * n,
            bridge=("1",) * n,
            speaking_mm=s.speaking,
            rows_mm=np.full(n, s.rows),
            back_mm=s.back,
            front_height_mm=s.front_height,
            bridge_front_mm=s.front_pin,
            bridge_rear_mm=s.rear_pin,
            rear_height_mm=s.rear_height,
            cap_mm=np.full(n, np.nan),
            measured=np.full(n, True),
        ),
        scale=Scale(
            note=s.note,
            unisons=np.full(n, UNISONS),
            wire_mm=np.full(n, WIRE_MM),
            outer_mm=np.full(n, WIRE_MM),
            wrap=("",) * n,
        ),
        plan=StringPlan(
            note=s.note,
            front_mm=front - s.speaking[:, None] * way,
            front_pin_mm=front,
            rear_pin_mm=rear,
            rear_mm=rear + s.back[:, None] * way,
        ),
    )


def ours(board: TestBoard) -> np.ndarray:
    """Net bearing in degrees at every note by the project's strung state, with its default cells."""
    return bearing(as_board(board), state=State.STRUNG).net_deg
