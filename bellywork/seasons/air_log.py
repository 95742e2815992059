"""A measured log of the air: a CSV of dates and relative humidities, as cheap loggers give it."""

from __future__ import annotations

import datetime
from itertools import pairwise
from pathlib import Path

import numpy as np

from bellywork.errors import UnusableInput
from bellywork.files.cell_text import number_in
from bellywork.files.gather import Gathered
from bellywork.files.sources import RawTable, Sources, csv_rows
from bellywork.findings import Place
from bellywork.seasons.history import DRIEST_RH_PERCENT, Air

LONGEST_GAP_DAYS = 14.0  # wood under varnish follows in about ten days: what is longer may hide a spell that it felt
DAY_SECONDS = 86400.0


def read_air_log(path: Path) -> tuple[Air, datetime.datetime]:
    """The air of a log, and the moment at which it begins; days count from there.

    The log has a column of dates, or of dates with times, whose header says "date" or "time", and one of relative
    humidities in % whose header says "rh" or "hum"; other columns are passed over. Dates are ISO 8601, or have the day
    or the month first where only one of the two can be meant. Nothing is made up for what is missing.

    Raises UnusableInput with every finding: an unreadable cell, a humidity outside 1 to 100 %, dates out of order, a
    gap of more than LONGEST_GAP_DAYS, records of one moment only.
    """
    gathered = Gathered()
    raw = csv_rows(Sources(path.parent, gathered), path.name)
    records = [] if raw is None else _records(raw, gathered)
    if not gathered.findings:
        _in_order(path.name, records, gathered)
    if not gathered.findings:
        _long_enough(path.name, records, gathered)
    if gathered.findings:
        raise UnusableInput(tuple(gathered.findings))
    begin = records[0][1]
    days = np.array([(moment - begin).total_seconds() / DAY_SECONDS for _, moment, _ in records])
    air = Air(name=path.name, days=days, rh_percent=np.array([rh for *_, rh in records]), returns=False)
    return air, begin


Record = tuple[int, datetime.datetime, float]


FAULTS = {  # of a cell: what was expected, and what to do
    "date-unreadable": (
        "a date, as 2026-05-01, or a date and a time, as 2026-05-01 14:30",
        "Write year-month-day; 5/1/2026 and 1.5.2026 are read where the whole log can be read one way only.",
    ),
    "not-a-number": ("a relative humidity in %", "Write the number alone."),
    "humidity-impossible": (
        f"above {DRIEST_RH_PERCENT:g} and at most 100 %",
        "Take the record out, or correct it: a logger that fails writes such values. 0.45 is written as 45.",
    ),
}


def _records(raw: RawTable, gathered: Gathered) -> list[Record]:
    places = _columns(raw, gathered)
    if places is None:
        return []
    dates, texts = ([cells[k] if k < len(cells) else "" for _, cells in raw.rows[1:]] for k in places)
    faults: dict[str, list[tuple[int, str]]] = {code: [] for code in FAULTS}
    out: list[Record] = []
    for (row, _), date, text, moment in zip(raw.rows[1:], dates, texts, _moments(dates)):
        rh = number_in(text.rstrip("% "))
        if moment is None:
            faults["date-unreadable"].append((row, f"'{date}'"))
        if rh is None:
            faults["not-a-number"].append((row, f"'{text}'"))
        elif not DRIEST_RH_PERCENT < rh <= 100.0:
            faults["humidity-impossible"].append((row, f"{rh:g} %"))
        elif moment is not None:
            out.append((row, moment, rh))
    for code, found_at in faults.items():
        if found_at:
            name = raw.rows[0][1][places[0 if code == "date-unreadable" else 1]]
            place = Place(file=raw.file, row=found_at[0][0], column=name)
            gathered.add(code, place, _all_of(found_at), *FAULTS[code])
    return out


def _columns(raw: RawTable, gathered: Gathered) -> tuple[int, int] | None:
    """Places of the dates and of the humidities."""
    head = raw.rows[0][1] if raw.rows else []
    header = [cell.lower() for cell in head]
    when = next((k for k, cell in enumerate(header) if "date" in cell or "time" in cell), None)
    what = next((k for k, cell in enumerate(header) if cell.startswith("rh") or "hum" in cell), None)
    named = f"the columns {', '.join(head)}" if head else "no such column"
    for column, found, meaning in (("date", when, "the date of each record"), ("rh", what, "relative humidity in %")):
        if found is None:
            place, remedy = Place(file=raw.file, row=1, column=column), f"Name that column {column}, or add it."
            gathered.add("column-missing", place, named, meaning, remedy)
    return None if when is None or what is None else (when, what)


def _all_of(found_at: list[tuple[int, str]]) -> str:
    """What was found at the first of some rows, and at how many others: a logger makes one mistake a thousand times."""
    rest = len(found_at) - 1
    return found_at[0][1] + (f" and {rest} more such row{'s' if rest > 1 else ''}" if rest else "")


def _in_order(file: str, records: list[Record], gathered: Gathered) -> None:
    """Dates go on, and nothing that the wood would have felt is missing."""
    back, gaps = [], []
    for (_, before, _), (row, moment, _) in pairwise(records):
        days = (moment - before).total_seconds() / DAY_SECONDS
        if days <= 0.0:
            back.append((row, f"{moment.isoformat(' ', 'minutes')} after {before.isoformat(' ', 'minutes')}"))
        elif days > LONGEST_GAP_DAYS:
            gaps.append((row, f"{days:.0f} days without a record"))
    if back:
        gathered.add(
            "log-out-of-order",
            Place(file=file, row=back[0][0]),
            _all_of(back),
            "a later moment in each row",
            "Sort the log by its dates, and keep each moment once.",
        )
    if gaps:
        gathered.add(
            "log-gap",
            Place(file=file, row=gaps[0][0]),
            _all_of(gaps),
            f"one every {LONGEST_GAP_DAYS:.0f} days or oftener",
            "Fill in what was read elsewhere, or use the part before or after the gap.",
        )


def _long_enough(file: str, records: list[Record], gathered: Gathered) -> None:
    if len(records) < 2:
        gathered.add(
            "log-too-short",
            Place(file=file),
            "no record" if not records else "one record",
            "two or more",
            "Give the whole log, or the humidity of each month of a year instead.",
        )


def _moments(texts: list[str]) -> list[datetime.datetime | None]:
    """Moments in ISO 8601; else with the day or the month first, where all rows can be read the one way and not the
    other, so that nothing is guessed.
    """
    known = [_iso(text) for text in texts]
    if any(known) or not texts:
        return known
    ways = [[_ordered(text, day_first) for text in texts] for day_first in (True, False)]
    whole = [moments for moments in ways if all(moments)]
    return whole[0] if len(whole) == 1 else known


def _iso(text: str) -> datetime.datetime | None:
    try:
        moment = datetime.datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return moment if moment.tzinfo is None else moment.astimezone(datetime.UTC).replace(tzinfo=None)


def _ordered(text: str, day_first: bool) -> datetime.datetime | None:
    """A moment as 31.12.2026 or 12/31/2026, alone or with 23:45, 23:45:10 or 11:45 PM behind it."""
    plain = " ".join(text.replace("/", ".").replace(",", " ").split())
    pattern = "%d.%m.%Y" if day_first else "%m.%d.%Y"
    for clock in ("", " %H:%M", " %H:%M:%S", " %I:%M %p", " %I:%M:%S %p"):
        try:
            return datetime.datetime.strptime(plain, pattern + clock)
        except ValueError:
            continue
    return None
