"""A page for the owner: two sentences, one picture, what could be done and what each would bring; no verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

import numpy as np

from bellywork.board.arrays import Floats
from bellywork.conventions import note_name
from bellywork.estimate.bands import Band
from bellywork.geometry.naming import runs_of
from bellywork.measures import MEASURES, METRIC, Units, are, counted
from bellywork.survey.loss import KILLER_OCTAVE, RibLoss, Survey, UnreadRib
from bellywork.survey.recovery import Best, PlateAdvice, short_now

SURE = (
    "95 times in 100 a number is off by no more than what stands behind its ±; for a bearing that holds what is not "
    "known of the board, not what the plate may give."
)
USUAL = (
    "Usual, by common practice and no standard: a dome of {} to {} without strings at the long ribs of a new board; "
    "a bearing of 0.7 to 1.5 degrees on new boards, and some old ones sound well with 0.2 to 0.6. Boards outside these "
    "ranges can sound well, boards inside them badly. Cracks are not crown: one that does not buzz takes nothing from "
    "it."
)
PICTURE = "The dome in {}, under the notes named: ring as made, dot as it is without strings, bar how sure that is."
CAUTION = (
    "Strings at tension and iron plates hurt people: leave them to those who are trained for it; local rules and "
    "licensed practice come first."
)
TO_FILL = ("Shop", "Instrument, number", "Date", "Signed")
NOTHING_DEG = 0.05  # what is said to be no change
WIDE, ROW, LEFT, RIGHT = 700, 24, 250, 30  # the picture, px


@dataclass(frozen=True, kw_only=True)
class CrownRow:
    """The dome at one rib, without strings, mm: as it was made, as it is and how sure that is (95 %)."""

    where: str
    made_mm: float
    now_mm: float
    sure_mm: float


@dataclass(frozen=True, kw_only=True)
class OwnerPage:
    """What the page says.

    first       two sentences for a customer
    measured    in which states, on which days, at which humidity
    rows        the dome, rib by rib from the bass, named by the notes above it
    could       what could be done, and what each would bring
    again       what should be measured again
    units       in which lengths are told
    """

    name: str
    first: tuple[str, str]
    measured: str
    rows: tuple[CrownRow, ...]
    could: tuple[str, ...]
    again: tuple[str, ...]
    units: Units

    @property
    def usual(self) -> str:
        """What is usual, by common practice."""
        return USUAL.format(_number(6.0, self.units), length(10.0, self.units))


def owner_told(survey: Survey, best: Best, units: Units = METRIC) -> OwnerPage:
    """The page of a survey."""
    killer = np.array([note in KILLER_OCTAVE for note in survey.note.tolist()])
    ribs = sorted(survey.surest.values(), key=lambda rib: min(rib.notes, default=99))
    when = sorted({f"{rib.state.value} on {rib.date or 'an unnoted day'}{_rh(rib)}" for rib in survey.ribs})
    return OwnerPage(
        name=survey.board.name,
        first=(_dome(ribs, units), _bearing(survey.net_deg, best.bands["net_deg_now"], killer)),
        measured=f"Measured {'; '.join(when)}. {SURE}",
        rows=tuple(
            CrownRow(
                where=_where(rib),
                made_mm=rib.as_made_mm,
                now_mm=rib.as_made_mm - rib.set_mm,
                sure_mm=rib.set_uncertainty_mm,
            )
            for rib in ribs
        ),
        could=(
            "Leaving it as it is changes nothing of this.",
            _plate(survey, best, killer, units),
            _cap(survey, best, killer),
            *_unread(survey),
            "Neither brings back the dome: only new crowned ribs or a new board do (common practice).",
        ),
        again=_again(survey),
        units=units,
    )


def owner_page(survey: Survey, best: Best, units: Units = METRIC) -> str:
    """The page as Markdown."""
    page = owner_told(survey, best, units)
    unit = MEASURES["dome"].unit(units)
    lines = [
        '<!-- name="generator" content="bellywork" -->',
        f"# {page.name}: the soundboard",
        "",
        *(line for sentence in page.first for line in (sentence, "")),
        page.measured,
        "",
        f"| dome under the notes | made with, {unit} | now, without strings, {unit} |",
        "|---|---|---|",
        *(
            f"| {row.where} | {_number(row.made_mm, units)} | {_number(row.now_mm, units)} ± "
            f"{_number(row.sure_mm, units)} |"
            for row in page.rows
        ),
        "",
        "## What could be done",
        "",
        *(f"- {sentence}" for sentence in page.could),
        "",
        *(["To be measured again:", "", *(f"- {sentence}" for sentence in page.again), ""] if page.again else []),
        page.usual,
        "",
        CAUTION,
        "",
        *(f"{words}: ______________" for words in TO_FILL),
        "",
    ]
    return "\n".join(lines)


def owner_html(survey: Survey, best: Best, units: Units = METRIC) -> str:
    """The page as one HTML file with its picture in it, to be printed on one sheet; marked as a result of bellywork."""
    page = owner_told(survey, best, units)
    again = f"<p>To be measured again:</p>\n{_listed(page.again)}" if page.again else ""
    fields = "".join(f"<p>{escape(words)}: <span class='line'></span></p>" for words in TO_FILL)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta name="generator" content="bellywork"><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(page.name)}: the soundboard</title><style>{STYLE}</style></head><body>\n"
        f"<h1>{escape(page.name)}: the soundboard</h1>\n"
        + "\n".join(f'<p class="first">{escape(sentence)}</p>' for sentence in page.first)
        + f"\n<p>{escape(page.measured)}</p>\n{owner_picture(page.rows, units)}\n"
        f"<h2>What could be done</h2>\n{_listed(page.could)}\n{again}\n<p>{escape(page.usual)}</p>\n"
        f'<p>{escape(CAUTION)}</p>\n<div class="fields">{fields}</div>\n</body></html>\n'
    )


STYLE = (
    "body{max-width:46em;margin:1.5em auto;padding:0 1em;font:16px/1.45 Georgia,serif;color:#18181c;background:#fff}"
    "h1{font-size:1.4em}h2{font-size:1.1em}.first{font-size:1.15em}svg{width:100%;height:auto}"
    ".fields{display:flex;flex-wrap:wrap;gap:0 2em}"
    ".line{display:inline-block;border-bottom:1px solid #18181c;width:12em}"
    "@media print{@page{margin:14mm}body{margin:0;max-width:none;font-size:10pt}svg{max-height:78mm}"
    "p,ul,h1,h2{margin:.35em 0}}"
)


def range_mm(rows: Sequence[CrownRow]) -> tuple[float, float]:
    """What the picture of these domes reaches from and to; 0 and 1 mm are always in it."""
    low = min(0.0, *(row.now_mm - row.sure_mm for row in rows))
    return low, max(1.0, *(max(row.made_mm, row.now_mm + row.sure_mm) for row in rows))


def owner_picture(rows: Sequence[CrownRow], units: Units = METRIC) -> str:
    """The dome as it is against as it was, rib by rib, as SVG: a ring as made, a dot as it is, a bar for how sure."""
    low, high = range_mm(rows)
    high_px = ROW * (len(rows) + 2)

    def x(mm: float) -> str:
        return f"{LEFT + (mm - low) / (high - low) * (WIDE - LEFT - RIGHT):.1f}"

    parts, end, told = [], high_px - ROW, PICTURE.format(MEASURES["dome"].unit(units))
    metric = units.decimal == "mm"
    step = (1.0 if metric else 0.04 * 25.4) * (1 if high - low < 8.0 else 2)
    for mm in step * np.arange(np.ceil(low / step), np.floor(high / step) + 1.0):
        words = domes(float(mm), 0) if metric else _number(float(mm), units)
        parts.append(
            f'<line x1="{x(mm)}" y1="6" x2="{x(mm)}" y2="{end}" stroke="{"#444" if mm == 0 else "#ccc"}"/>'
            f'<text x="{x(mm)}" y="{end + 18}" text-anchor="middle">{words}</text>'
        )
    for k, row in enumerate(rows):
        y = ROW * k + ROW // 2 + 6
        parts.append(
            f'<text x="{LEFT - 12}" y="{y + 5}" text-anchor="end">{escape(row.where)}</text>'
            f'<line x1="{x(row.now_mm - row.sure_mm)}" y1="{y}" x2="{x(row.now_mm + row.sure_mm)}" y2="{y}" '
            'stroke="#0b3d66" stroke-width="7" stroke-opacity="0.3"/>'
            f'<circle cx="{x(row.made_mm)}" cy="{y}" r="6" fill="none" stroke="#7a5a1e" stroke-width="2"/>'
            f'<circle cx="{x(row.now_mm)}" cy="{y}" r="5" fill="#0b3d66"/>'
        )
    return (
        f'<svg viewBox="0 0 {WIDE} {high_px}" role="img" font-family="sans-serif" font-size="13" fill="#18181c">'
        f"<title>{told}</title>{''.join(parts)}</svg><p>{told}</p>"
    )


def domes(value: float, digits: int = 1) -> str:
    """A number for the owner, with a true minus.

    >>> domes(-0.86)
    '−0.9'
    """
    return f"{round(value, digits) + 0.0:.{digits}f}".replace("-", "−")


def length(mm: float, units: Units) -> str:
    """A length for the owner, with its unit.

    >>> length(-0.86, METRIC), length(12.0, Units(length="in"))
    ('−0.9 mm', '0.47 in')
    """
    return f"{_number(mm, units)} {MEASURES['dome'].unit(units)}"


def _number(mm: float, units: Units) -> str:
    """The same without its unit."""
    measure = MEASURES["dome"]
    return domes(measure.outside(mm, units), units.of(measure)[1])


def _dome(ribs: Sequence[RibLoss], units: Units) -> str:
    """What is left at the longest rib, and where most is lost, if anything is."""
    longest = max(ribs, key=lambda rib: rib.read.span_mm)
    now, sure = longest.as_made_mm - longest.set_mm, longest.set_uncertainty_mm
    stands = (
        f"Without its strings the board's dome stands {length(now, units)} high at its longest rib (± "
        f"{_number(sure, units)}), where it was made with {length(longest.as_made_mm, units)}"
    )
    found = [rib for rib in ribs if rib.set_mm > rib.set_uncertainty_mm]
    if not found:
        return f"{stands}; nothing is found lost beyond what can be measured."
    worst = max(found, key=lambda rib: rib.set_mm)
    return (
        f"{stands}; most is lost for good {'under' if worst.notes else 'at'} {_where(worst)}: "
        f"{length(worst.set_mm, units)} (± {_number(worst.set_uncertainty_mm, units)}), from "
        f"{length(worst.as_made_mm, units)} as made to {_left(worst, units)}."
    )


def _left(rib: RibLoss, units: Units) -> str:
    """What is left of a rib's dome, in words that hold for a hollow too."""
    now = rib.as_made_mm - rib.set_mm
    return length(now, units) if now >= 0.0 else f"a hollow of {length(-now, units)}"


def _bearing(net: Floats, band: Band, killer: np.ndarray) -> str:
    every = np.ones(len(net), dtype=bool)
    return (
        f"Under the strings each presses on the bridge by an angle, the bearing: {_degrees(net, band, every)} over the "
        f"whole board, {_degrees(net, band, killer)} in octaves 5 and 6, where a loss is heard first."
    )


def _plate(survey: Survey, best: Best, killer: np.ndarray, units: Units) -> str:
    if best.advice is PlateAdvice.LEAVE:
        return "The iron plate is best left where it is: no string has less bearing than is wanted."
    if best.advice is PlateAdvice.NONE_HELPS:
        return "Moving the iron plate would gain nothing: neither its supports nor the dome allow a setting that helps."
    moves = best.move_mm if len(best.move_mm) else np.array([best.up_mm])
    low, high = float(moves.min()), float(moves.max())
    how = (
        f"lower, by {_number(-high, units)} to {length(-low, units)},"
        if high <= 0.0
        else f"higher, by {_number(low, units)} to {length(high, units)},"
        if low >= 0.0
        else f"between {length(-low, units)} lower at one support and {length(high, units)} higher at another"
    )
    now = len(short_now(survey, best))
    left = (
        f"; {counted(len(best.unreached), 'note')} would be below what is wanted, {now} {are(now)} now"
        if best.unreached
        else ""
    )
    return (
        f"Setting the iron plate {how} would bring octaves 5 and 6 to "
        f"{_degrees(best.net_deg, best.bands['net_deg_best'], killer)}, "
        f"{_change(best.net_deg[killer] - survey.net_deg[killer])}{left}."
    )


def _unread(survey: Survey) -> tuple[str, ...]:
    """Where nothing was read, so that what plate and cap do there is a guess."""
    if not survey.unread:
        return ()
    where = "; ".join(_where(rib) for rib in survey.unread)
    return (f"Not measured, so that what plate and cap do to the dome there is a guess: {where}.",)


def _cap(survey: Survey, best: Best, killer: np.ndarray) -> str:
    if best.recap_share >= 1.0 and np.all(best.recap_mm <= 0.0):
        return "A new bridge cap is not needed: the bridge as it stands is high enough."
    short = "" if best.recap_share >= 1.0 else f", {100.0 * best.recap_share:.0f} % of the way to what is wanted"
    gained = _change(best.recap_net_deg[killer] - survey.net_deg[killer])
    there = _degrees(best.recap_net_deg, best.bands["net_deg_recap"], killer)
    return f"A new bridge cap would bring octaves 5 and 6 to {there}, {gained}{short}."


def _change(gained: Floats) -> str:
    mean = float(np.mean(gained)) if len(gained) else 0.0
    if abs(mean) < NOTHING_DEG:
        return "which is no change on average"
    return f"{abs(mean):.1f} degrees {'more' if mean > 0.0 else 'less'} on average"


def _again(survey: Survey) -> tuple[str, ...]:
    """What was misread or did not agree, in words."""
    said = [f"all of it: the readings look as if taken {survey.field.written}"] if survey.field.written else []
    said += [
        f"{_where(rib)}, {rib.state.value}: {_readings(len(rib.read.outliers))} that the others contradict, left out"
        for rib in survey.ribs
        if len(rib.read.outliers)
    ]
    said += [
        f"the bearing gauge at {note_name(each.note)}, which does not agree with the heights"
        for each in survey.gauges
        if each.misread
    ]
    return tuple(said)


def _readings(count: int) -> str:
    return "one reading" if count == 1 else f"{count} readings"


def _where(rib: RibLoss | UnreadRib) -> str:
    """A rib by the notes above it, run by run: the owner knows keys, not ribs."""
    words = [
        note_name(first) + (f" to {note_name(last)}" if last > first else "")
        for first, last in runs_of(sorted(rib.notes))
    ]
    return ", ".join(words) or f"rib {rib.rib} (under no note)"


def _rh(rib: RibLoss) -> str:
    return "" if rib.rh_percent is None else f" at {rib.rh_percent:g} % relative humidity"


def _degrees(net: Floats, band: Band, those: np.ndarray) -> str:
    """Least and most of some notes, and how sure in the mean of them."""
    if not np.any(those):
        return "not known"
    sure = float(np.mean(band[1][those] - band[0][those]) / 2.0)
    return f"{domes(float(np.min(net[those])))} to {domes(float(np.max(net[those])))} degrees (± {domes(sure)})"


def _listed(sentences: Sequence[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(sentence)}</li>' for sentence in sentences)}</ul>"
