"""A page for the owner: plain words, each figure with its span, date and basis; no verdict."""

from __future__ import annotations

from html import escape

import numpy as np

from bellywork.conventions import note_name
from bellywork.survey.loss import KILLER_OCTAVE, RibLoss, Survey
from bellywork.survey.recovery import Best
from bellywork.survey.rib_fit import Shape

BANDS = (
    ("Crown of a new board, no strings on, at the long ribs", "6 to 10 mm"),
    ("Crown under the strings, long ribs", "usually under 6 mm; 3 mm is little but can do where the bearing is good"),
    ("Net bearing under the strings", "0.7 to 1.5 degrees on new boards; some old ones sound well with 0.2 to 0.6"),
)
SHAPES = {
    Shape.CROWNED: "crowned",
    Shape.FLAT: "flat within what a thread can tell",
    Shape.REVERSED: "hollow instead of crowned",
    Shape.S: "up on one side and down on the other",
}


def owner_page(survey: Survey, best: Best) -> str:
    """The page as Markdown."""
    when = sorted({f"{rib.state.value} on {rib.date or 'an unnoted day'}{_rh(rib)}" for rib in survey.ribs})
    killer = np.array([note in KILLER_OCTAVE for note in survey.note.tolist()])
    lines = [
        '<!-- name="generator" content="bellywork" -->',
        f"# {survey.board.name}: crown and bearing",
        "",
        "A soundboard is a thin wooden panel pulled into a slight dome, the *crown*. The strings press it down "
        "through the "
        "bridge; how much each string turns down over the bridge is the *bearing*. Over the years some of the "
        "dome is lost "
        "for good: that is the *set*. This page says what was measured, what of it is the strings' load, and "
        "what is set.",
        "",
        f"Measured: {'; '.join(when)}.",
        "",
        "## What was found",
        "",
        "| rib | span, mm | crown read, mm | shape | made with, mm | taken by the strings, mm | set, mm |",
        "|---|---|---|---|---|---|---|",
        *(_row(rib) for rib in survey.surest.values()),
        "",
        "Crown is the rise of a rib's middle over a thread held to its ends; the ± is what reading a thread "
        "leaves open, "
        "and, for the set, how well the load is known. The first ribs stand under octaves 5 and 6, where loss is heard "
        "first: tone that dies away quickly.",
        "",
        f"Bearing under the strings now: {_degrees(survey.net_deg)} over the whole board, "
        f"{_degrees(survey.net_deg[killer])} "
        "in octaves 5 and 6.",
        "",
        *_wrong(survey),
        "## What could be done",
        "",
        _plate_words(survey, best, killer),
        "",
        f"A new bridge cap, planed to the targets, would give {_degrees(best.recap_net_deg[killer])} in octaves 5 and 6"
        + (
            "."
            if best.recap_share >= 1.0
            else f": {100.0 * best.recap_share:.0f} % of the way to the targets; more would press a rib flat."
        ),
        "",
        "Neither brings back crown: only new crowned ribs or a new board do (common practice).",
        "",
        "## What is usual",
        "",
        "| what | usual | basis |",
        "|---|---|---|",
        *(f"| {what} | {usual} | common practice, no standard |" for what, usual in BANDS),
        "",
        "These are ranges, not verdicts. Boards outside them can sound well, boards inside them badly; crown, "
        "bearing and "
        "stiffness are three things. Cracks are not crown: a crack that does not buzz takes nothing from it. In "
        "damp weather "
        "a board stands higher, so date and humidity belong to every figure.",
        "",
        "## What was assumed",
        "",
        *(f"- {sentence}" for sentence in survey.assumptions),
        "",
        "Strings at tension and iron plates hurt people: leave them to those who are trained for it; local "
        "rules and licensed "
        "practice come first.",
        "",
    ]
    return "\n".join(lines)


def owner_html(survey: Survey, best: Best) -> str:
    """The same page as plain HTML, marked as a result of bellywork."""
    body, table = [], False
    for line in owner_page(survey, best).split("\n"):
        if line.startswith("<!--"):
            continue
        if line.startswith("|"):
            cells = [cell.strip() for cell in line.strip("|").split("|")]
            if set("".join(cells)) <= {"-"}:
                continue
            tag = "td" if table else "th"
            row = "".join(f"<{tag}>{_text(cell)}</{tag}>" for cell in cells)
            body.append(f"{'' if table else '<table>'}<tr>{row}</tr>")
            table = True
            continue
        if table:
            body.append("</table>")
            table = False
        if line.startswith("#"):
            level = len(line) - len(line.lstrip("#"))
            body.append(f"<h{level}>{_text(line.lstrip('# '))}</h{level}>")
        elif line.startswith("- "):
            body.append(f"<li>{_text(line[2:])}</li>")
        elif line:
            body.append(f"<p>{_text(line)}</p>")
    style = (
        "body{max-width:46em;margin:2em auto;padding:0 1em;font:16px/1.5 Georgia,serif;color:#18181c}"
        "table{border-collapse:collapse;margin:1em 0}"
        "td,th{border-bottom:1px solid #bbb;padding:.25em .6em;text-align:left}"
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta name="generator" content="bellywork"><meta charset="utf-8">'
        f"<title>{escape(survey.board.name)}</title><style>{style}</style></head><body>\n" + "\n".join(body)
        + "\n</body></html>\n"
    )  # fmt: skip


def _text(words: str) -> str:
    parts = escape(words, quote=False).split("*")
    return "".join(part if k % 2 == 0 else f"<em>{part}</em>" for k, part in enumerate(parts))


def _rh(rib: RibLoss) -> str:
    return "" if rib.rh_percent is None else f" at {rib.rh_percent:g} % relative humidity"


def _row(rib: RibLoss) -> str:
    fit = rib.fit
    return (
        f"| {rib.rib} ({rib.state.value}) | {fit.span_mm:.0f} | {fit.rise_mm:.1f} ± {fit.rise_uncertainty_mm:.1f} | "
        f"{SHAPES[fit.shape]} | {rib.as_made_mm:.1f} | {rib.sink_mm:.1f} | {rib.set_mm:.1f} ± "
        f"{rib.set_uncertainty_mm:.1f} |"
    )


def _degrees(net: np.ndarray) -> str:
    return f"{np.min(net):.1f} to {np.max(net):.1f} degrees" if len(net) else "not known"


def _wrong(survey: Survey) -> list[str]:
    """What was misread or did not agree, in words."""
    said = [
        f"- rib {rib.rib}, {rib.state.value}: {len(rib.fit.outliers)} reading(s) that the others contradict, left out"
        for rib in survey.ribs
        if len(rib.fit.outliers)
    ]
    said += [
        f"- the bearing gauge at note {each.note} ({note_name(each.note)}) does not agree with the heights"
        for each in survey.gauges
        if each.misread
    ]
    return ["To be measured again:", "", *said, ""] if said else []


def _plate_words(survey: Survey, best: Best, killer: np.ndarray) -> str:
    if np.allclose([best.up_mm, best.tilt_x_mm_per_m, best.tilt_y_mm_per_m], 0.0, atol=0.01):
        return "Moving the plate would gain nothing: a rib that is read would be pressed flat."
    move = best.move_mm
    how = f"by {move.min():+.1f} to {move.max():+.1f} mm at its supports" if len(move) else f"by {best.up_mm:+.1f} mm"
    gained = best.net_deg[killer] - survey.net_deg[killer]
    left = f" {len(best.unreached)} notes stay below their target." if best.unreached else ""
    return (
        f"Setting the iron plate lower ({how}) would bring the bearing in octaves 5 and 6 to "
        f"{_degrees(best.net_deg[killer])}, {np.mean(gained):.1f} degrees more on the average, without pressing "
        f"any rib "
        f"flat that is not flat now.{left}"
    )
