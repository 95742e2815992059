"""What a board answers at the moment: schedule, headline and findings, worked out beside the typing.

A reading moves heights by little: the first answer takes the board's response as it was met before, in a fraction of a
second. When the typing rests, the response is made anew at the present heights, and every number is that of `plane`.
"""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from bellywork.answers.answer import Answer
from bellywork.answers.answer_table import AnswerColumn
from bellywork.answers.plane_answer import BANDED, SHOWN, plane_answer, schedule_table
from bellywork.answers.sureness import Sureness, sureness_of
from bellywork.balance.plane_table import PlaneTable
from bellywork.balance.planing import plane
from bellywork.balance.sink import PredictedSink, Sink, SinkSource, sink_of
from bellywork.bench.read_next import Next, in_doubt, narrowing
from bellywork.errors import BellyworkError, UnusableInput
from bellywork.estimate.bands import plane_bands
from bellywork.estimate.estimate import learned_of
from bellywork.findings import Finding, to_mend
from bellywork.instrument import Instrument, prepared
from bellywork.measures import METRIC, Units
from bellywork.review.board_review import read_and_reviewed

REST_S = 4.0  # without a reading, before the response is made anew
QUIET_S, LONGEST_S = 0.2, 2.0  # readings that follow each other closer are answered together, but no later than this
MOVES_LITTLE = ("notes.csv", "targets.csv", "bench_journal.jsonl")  # files that leave the board's response as it was
WORDS = ("note", "name")


@dataclass(frozen=True, kw_only=True)
class Answered:
    """An answer as a page shows it, each number as the terminal prints it.

    headline, findings   sentences; stopped: the findings must be mended before anything is answered
    notes                by note, then by quantity, its text
    reach                by note, in degrees: what one gets, the ends of its band and what is wanted, to be drawn; only
                         where a band is told
    legend               by quantity: label, unit and meaning
    read_next            notes to read again, and why; reference: the reference notes
    exact                False: the board's response is that of earlier heights
    described, ready     the instrument as its folder describes it, and as learned, where it was: what was asked
    table                the schedule
    fingerprint          of the files
    """

    title: str = ""
    headline: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    stopped: bool = False
    notes: Mapping[int, Mapping[str, str]] = field(default_factory=dict)
    reach: Mapping[int, tuple[float, ...]] = field(default_factory=dict)
    legend: Mapping[str, tuple[str, str, str]] = field(default_factory=dict)
    read_next: tuple[Next, ...] = ()
    reference: frozenset[int] = frozenset()
    exact: bool = True
    described: Instrument | None = None
    ready: Instrument | None = None
    table: PlaneTable | None = None
    fingerprint: str = ""

    def told(self) -> dict[str, Any]:
        """What goes to a page."""
        return {
            "title": self.title,
            "headline": list(self.headline),
            "findings": list(self.findings),
            "stopped": self.stopped,
            "legend": {name: list(words) for name, words in self.legend.items()},
            "exact": self.exact,
        }


class Answerer:
    """Works out answers of a folder in a thread of its own; the last one stands until the next is there."""

    def __init__(self, folder: Path, units: Units = METRIC) -> None:
        self.folder, self.units = folder, units
        self.last, self.number, self.busy = Answered(), 0, False
        self._asked = threading.Event()
        self._ended = False
        self._seen: dict[str, str] = {}
        self._met: tuple[str, Instrument, PredictedSink] | None = None
        self._thread = threading.Thread(target=self._work, daemon=True)

    def ask(self) -> None:
        """Have the folder answered as it now stands; returns at once."""
        if not self._thread.is_alive() and not self._ended:
            self._thread.start()
        self.busy = True
        self._seen = _files(self.folder)
        self._asked.set()

    def outdated(self) -> bool:
        """Whether a file of the folder was changed since it was last asked."""
        return bool(self._seen) and _files(self.folder) != self._seen

    def close(self) -> None:
        """End the thread, after what it is working on."""
        self._ended = True
        self._asked.set()

    def _work(self) -> None:
        while True:
            rested = self._asked.wait(None if self.last.exact else REST_S)
            if rested:
                self._gathered()
            if self._ended:
                return
            try:
                self.last = answered(self.folder, self.units, self._kept if rested else None)
            except Exception as error:  # a thread that ends would leave the bench without answers and without a word
                told = (
                    f"bellywork itself has failed here ({type(error).__name__}: {error}); 'bellywork plane' says more."
                )
                self.last = Answered(title="No answer", headline=(told,), stopped=True)
            if self.last.exact and self.last.table is not None and self.last.ready is not None:
                sink = sink_of(self.last.ready)
                self._met = (_body(self.folder), self.last.ready, sink) if isinstance(sink, PredictedSink) else None
            self.busy = self._asked.is_set() or not self.last.exact
            self.number += 1

    def _gathered(self) -> None:
        """Wait until no more is asked for the moment: what answers would hold up those who are typing."""
        end = time.monotonic() + LONGEST_S
        while self._asked.is_set() and not self._ended and time.monotonic() < end:
            self._asked.clear()
            self._asked.wait(QUIET_S)
        self._asked.clear()

    def _kept(self, described: Instrument) -> tuple[Instrument, Sink] | None:
        """The board as it was learned before and its sink, where nothing was changed since but heights and targets."""
        if self._met is None or self._met[0] != _body(self.folder):
            return None
        _, ready, sink = self._met
        board = replace(described.board, body=ready.board.body)
        return replace(ready, board=board, _kept={}), replace(sink, pull_N=described.pull_N)


def answered(folder: Path, units: Units = METRIC, kept: Any = None) -> Answered:
    """The answer of `bellywork plane` on a folder, or what stands in its way.

    kept   gives the learned board and the sink met before in place of new ones, or None
    """
    try:
        found = read_and_reviewed(folder)
        described = prepared(found.board)
        met = None if kept is None else kept(described)
        estimate = learned_of(described) if met is None else None
        if met is None:
            ready = described if estimate is None else estimate.ready
            sink = sink_of(ready)
        else:
            ready, sink = met
        table = plane(ready, sink=sink)
        known = estimate is not None and table.faired.sink_source is SinkSource.PREDICTED
        sureness = sureness_of(estimate, partial(plane_bands, table=table)) if known and estimate is not None else None
        answer = plane_answer(found.board, table, spread=None, units=units, sureness=sureness)
    except UnusableInput as error:
        return _stopped(error.findings)
    except BellyworkError as error:
        return Answered(title="No answer", headline=(str(error),), stopped=True)
    told = _told(answer, table, found.findings, units, sureness)
    return replace(told, described=described, ready=ready, fingerprint=found.fingerprint, exact=met is None)


def _told(
    answer: Answer, table: PlaneTable, findings: tuple[Finding, ...], units: Units, sureness: Sureness | None
) -> Answered:
    whole = schedule_table(table, None, sureness)
    had = {column.quantity for column in whole.columns}
    names = (name for name in (*SHOWN.split(), "degrees_per_mm") if name in had and name not in WORDS)
    shown = whole.only(*names, bands=BANDED)
    notes = {
        int(note): {column.quantity: column.cell(row, units) for column in shown.columns}
        for row, note in enumerate(table.now.note.tolist())
    }
    return Answered(
        title=answer.title,
        headline=answer.headline,
        findings=(*answer.to_look_at, *map(str, (*findings, *answer.findings))),
        notes=notes,
        reach={} if sureness is None else _reach(table, sureness),
        legend={
            column.quantity: (_head(column, table), column.registered.unit(units), column.registered.meaning)
            for column in shown.columns
        },
        read_next=_read_next(table, findings, sureness),
        reference=frozenset(table.now.note[table.now.reference].tolist()),
        table=table,
    )


def _head(column: AnswerColumn, table: PlaneTable) -> str:
    """What stands over a number at a note; the bearing before planing says of which board it is."""
    return f"{column.label}, {table.now.state.value}" if column.quantity == "net_deg" else column.label


def _read_next(table: PlaneTable, findings: tuple[Finding, ...], sureness: Sureness | None) -> tuple[Next, ...]:
    doubted = in_doubt(findings)
    seen = {each.note for each in doubted}
    return (*doubted, *(each for each in narrowing(table, sureness) if each.note not in seen))


def _reach(table: PlaneTable, sureness: Sureness) -> dict[int, tuple[float, ...]]:
    low, high = sureness.bands.bands["you_get_deg"]
    rows = np.column_stack([table.faired.net_deg, low, high, table.faired.target_net_deg])
    return {note: tuple(row) for note, row in zip(table.now.note.tolist(), rows.tolist()) if np.isfinite(row).all()}


def _stopped(findings: tuple[Finding, ...]) -> Answered:
    wrong = [str(finding) for finding in to_mend(findings)]
    return Answered(
        title="No answer yet",
        headline=(f"{len(wrong)} to mend before anything can be answered.",),
        findings=tuple(wrong),
        stopped=True,
    )


def _files(folder: Path) -> dict[str, str]:
    """Name, size and time of every file of a folder that can be looked at."""
    out = {}
    for path in sorted(folder.iterdir()):
        try:
            about = path.stat()
        except OSError:
            continue
        if path.is_file() and not path.name.startswith(".") and path.name != MOVES_LITTLE[-1]:
            out[path.name] = f"{about.st_size} {about.st_mtime_ns}"
    return out


def _body(folder: Path) -> str:
    """Fingerprint of the files that the board's response hangs on."""
    digest = hashlib.sha256()
    for name in _files(folder):
        if name not in MOVES_LITTLE:
            digest.update(name.encode() + (folder / name).read_bytes())
    return digest.hexdigest()


def waited(answerer: Answerer, seconds: float) -> Answered:
    """The last answer, once nothing is being worked on or so much time has gone."""
    end = time.monotonic() + seconds
    while answerer.busy and time.monotonic() < end:
        time.sleep(0.02)
    return answerer.last
