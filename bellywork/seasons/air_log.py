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

    The log has a column of dates, or of dates with times (ISO 8601), whose header says "date" or "time", and one of
    relative humidities in % whose header says "rh" or "hum"; other columns are passed over. Nothing is made up for
    what is missing.

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


def _records(raw: RawTable, gathered: Gathered) -> list[Record]:
    header = [cell.lower() for cell in raw.rows[0][1]] if raw.rows else []
    when = next((k for k, cell in enumerate(header) if "date" in cell or "time" in cell), None)
    what = next((k for k, cell in enumerate(header) if cell.startswith("rh") or "hum" in cell), None)
    for column, found, meaning in (("date", when, "the date of each record"), ("rh", what, "relative humidity in %")):
        if found is None:
            place = Place(file=raw.file, row=1, column=column)
            gathered.add("column-missing", place, "no such column", meaning, f"Add the column {column}.")
    if when is None or what is None:
        return []
    out = []
    for row, cells in raw.rows[1:]:
        texts = [cells[k] if k < len(cells) else "" for k in (when, what)]
        moment, rh = _moment(texts[0]), number_in(texts[1].rstrip("% "))
        place = Place(file=raw.file, row=row, column=raw.rows[0][1][when])
        if moment is None:
            gathered.add(
                "date-unreadable",
                place,
                f"'{texts[0]}'",
                "a date, as 2026-05-01, or a date and a time, as 2026-05-01 14:30",
                "Write year-month-day.",
            )
        place = Place(file=raw.file, row=row, column=raw.rows[0][1][what])
        if rh is None:
            gathered.add("not-a-number", place, f"'{texts[1]}'", "a relative humidity in %", "Write the number alone.")
        elif not DRIEST_RH_PERCENT < rh <= 100.0:
            gathered.add(
                "humidity-impossible",
                place,
                f"{rh:g} %",
                f"above {DRIEST_RH_PERCENT:g} and at most 100 %",
                "Take the record out, or correct it: a logger that fails writes such values. 0.45 is written as 45.",
            )
        elif moment is not None:
            out.append((row, moment, rh))
    return out


def _in_order(file: str, records: list[Record], gathered: Gathered) -> None:
    """Dates go on, and nothing that the wood would have felt is missing."""
    for (_, before, _), (row, moment, _) in pairwise(records):
        place, days = Place(file=file, row=row), (moment - before).total_seconds() / DAY_SECONDS
        if days <= 0.0:
            gathered.add(
                "log-out-of-order",
                place,
                f"{moment.isoformat(' ', 'minutes')} after {before.isoformat(' ', 'minutes')}",
                "a later moment in each row",
                "Sort the log by its dates, and keep each moment once.",
            )
        elif days > LONGEST_GAP_DAYS:
            gathered.add(
                "log-gap",
                place,
                f"{days:.0f} days without a record",
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


def _moment(text: str) -> datetime.datetime | None:
    try:
        moment = datetime.datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return moment if moment.tzinfo is None else moment.astimezone(datetime.UTC).replace(tzinfo=None)
