"""The JSON form of every command's answer."""

from __future__ import annotations

from typing import Any

from bellywork.answers.form import Part, Schema, many, one, schema_of
from bellywork.findings import Level

NOTE = "note name section bridge measured"
BEARING = (
    "front_deg rear_deg net_deg string_deflection_mm degrees_per_mm tension_N strength_share downforce_N "
    "target_net_deg deviation_deg sink_mm height_bare_mm height_strung_mm"
)
OUTER = "left_front_deg left_rear_deg right_front_deg right_rear_deg"
PLANING = (
    "set_up_net_deg plane_front_mm plane_rear_mm faired_front_mm faired_rear_mm fairing_cost_deg you_get_deg "
    "strung_net_deg block_mm kerf_mm kerf_at cap_left_mm short"
)
PLANED_RIMS = "planed_net_clamped_deg planed_net_hinged_deg"
PLANED = "planed_front_deg planed_rear_deg planed_net_deg planed_downforce_N planed_sink_mm"
RIB_LOSS = (
    "rib state date rh_percent killer_octave span_mm rise_mm rise_uncertainty_mm radius_mm shape misread as_made_mm "
    "rib.sink_mm moisture_mm expected_rise_mm set_mm set_uncertainty_mm rib.notes"
)
NOTE_LOSS = "note name set_mm set_uncertainty_mm target_net_deg net_deg_now net_deg_best net_deg_recap recap_mm"
RIB_RESULT = (
    "rib span_mm rib.mass_kg rib.load_N rib.most_sink_mm crown_mm crown_left_mm bending_MPa bending_share shear_MPa "
    "shear_share nearest_N bare_sag_mm"
)
SCHEME_NOTE = "note name compliance_mm_per_N scheme.sink_mm front_deg rear_deg net_deg scheme.force_N"
STANDING = "ribs_kg most_sink_mm unevenness bending_share crown_left_mm missed"

VERSIONS = {"crown": 3}  # of the forms that have changed since the others
EACH_NOTE = "one entry per note, ascending"
_TOTALS = one("totals", "forces of the whole board", "total.downforce_N downforce_by_section_N")
_SUPPORTS = many("supports", "the plate's supports", "support move_mm")

_BEARING = one(
    "bearing",
    "the bearing at every note",
    "state sink_source worst_note",
    many(
        "notes",
        EACH_NOTE,
        NOTE,
        BEARING,
        optional=f"{OUTER} against_net_deg net_change_deg net_clamped_deg net_hinged_deg",
    ),
    _TOTALS,
)
_PLANE = one(
    "plane",
    "the planing schedule; the bearing of a note is that of the bridge before planing, in the working state",
    "working aimed depth_known sink_source worst_note",
    many(
        "notes",
        EACH_NOTE,
        NOTE,
        BEARING,
        PLANING,
        PLANED,
        optional=f"leave_mm {PLANED_RIMS}",
    ),
    _TOTALS,
    many(
        "cures",
        "for each section with short notes what would mend it; one is enough, and what is null does not mend it",
        "section notes worst_note short_mm cap_mm plate_down_mm rest_down_mm back_mm front_share reachable_deg",
    ),
    many("struts", "clearance under the plate's struts after planing", "strut bridge notes clearance_mm least_mm"),
    one(
        "plate",
        "how the plate is set first; null where it is left as it is",
        "up_mm tilt_x_mm_per_m tilt_y_mm_per_m short_mm binding",
        _SUPPORTS,
        nullable=True,
    ),
)
_PRESS = one(
    "press",
    "the sink of the board under pushes",
    "rim",
    many("pushes", "what presses", "at x_mm y_mm force_N push.sink_mm"),
    many("read", "the points read", "at x_mm y_mm push.sink_mm sink_clamped_mm sink_hinged_mm"),
    one(
        "balance",
        "how well the solution holds",
        "applied_N reaction_N force_error moment_error energy_error residual",
    ),
)
_WHERE = one(
    "where",
    "where to press the bare board and read a dial next, the most telling place first (press --where)",
    "now_deg",
    many("places", "the places, in order", "at x_mm y_mm force_N where.sink_mm where.band_deg"),
)
_LEARN = one(
    "learn",
    "what a shop's finished boards have in common",
    many(
        "unknowns",
        "what of a board is meant, as the shop's next one",
        "learn.what shift_share book_share_low book_share_high",
    ),
    many("boards", "the boards that were pooled", "learn.board dials came_back sink_share"),
)
_SEASON = one(
    "season",
    "the board through damp and dry",
    "season.rh_percent moisture_percent reference_rh_percent across_grain_MPa limit_MPa warnings",
    many(
        "notes",
        EACH_NOTE,
        "note name season.height_change_mm season.net_bare_deg season.net_deg season.along_mm "
        "season.held_cents season.slipping_cents",
    ),
    many("ribs", "crown of each rib", "rib span_mm season.rise_mm"),
    one("totals", "forces of the whole board", "season.downforce_N"),
    one(
        "first_lost",
        "first note whose strung bearing is not above 0, and the humidity; null where none is",
        "note rh_percent",
        nullable=True,
    ),
)
_YEARS_TIMES = many(
    "times",
    "the whole board at each time",
    "years.time years.day years.moisture_percent years.downforce_N across_MPa set_permille",
)
_YEARS_NOTES = many("notes", "one entry per time and note", "years.day note name years.net_deg years.height_mm")
_YEARS = one(
    "years",
    "a strung board through its years, from the moment when it is strung on",
    _YEARS_TIMES,
    _YEARS_NOTES,
    many("last_year", EACH_NOTE, "note name net_least_deg net_most_deg"),
    many("ribs", "one entry per time and rib", "years.day rib span_mm years.rise_mm"),
    one(
        "against",
        "another board through the same years; null where none was asked for",
        "years.against",
        _YEARS_TIMES,
        _YEARS_NOTES,
        nullable=True,
    ),
)
_STAGE = "date state years.day note name"
_HISTORY = one(
    "history",
    "what was read at each stage of the work beside its prediction (bearing --history)",
    many("heights", "heights of the bridge top", _STAGE, "history.read_mm history.predicted_mm history.off_mm"),
    many("angles", "net bearing by an angle gauge", _STAGE, "history.read_deg history.predicted_deg history.off_deg"),
)
_CROWN = one(
    "crown",
    "crown of an old board, its loss, and what can still be got",
    many("ribs", "each rib in each state; those under octaves 5 and 6 first", RIB_LOSS),
    many(
        "unread",
        "ribs that nobody read, as those that were read let them be guessed",
        "rib killer_octave as_made_mm set_mm set_uncertainty_mm rib.notes",
    ),
    many("notes", EACH_NOTE, NOTE_LOSS),
    many("curvature", "of the surface as read, at the bridge", "note greater_per_m lesser_per_m direction_deg"),
    one(
        "softness",
        "the board's compliance against the model's",
        "factor uncertainty softness.measured loose",
        many(
            "spring_back",
            "what came back when the strings came off",
            "what measured_mm uncertainty_mm predicted_mm",
        ),
    ),
    many("plate_rise_mm", "how the plate moved when the strings came off", "place mm uncertainty_mm"),
    many("gauges", "bearing gauges against heights", "note state gauge.net_deg by_heights_deg gauge.misread"),
    one(
        "best",
        "the best that a plate setting and that a new cap can give",
        "advice plate_up_mm plate_tilt_x_mm_per_m plate_tilt_y_mm_per_m held_by best.crown_left_mm unreached "
        "recap_share recap_sure recap_held",
        _SUPPORTS,
    ),
    many("aged", "each rib's set against an ordinary life; empty where no years were asked for", "rib set_mm normal_mm "
         "beyond_mm"),
    many(
        "again",
        "what to read next, or again: all that was misread, then the most telling first",
        "rib again.at_mm again.state why again.note again.now_mm again.then_mm",
    ),
    "written looser to_look_at",
)  # fmt: skip
_SCHEME = many(
    "schemes",
    "the ribs of the board folder first, then the schemes as given, then what a search found",
    "scheme.name ribs_kg mass_kg load_N panel_load_N bridges_load_N rim_load_N unevenness_by_bridge modes_hz "
    "modal_density_per_Hz",
    many("ribs", "its ribs under the strings", RIB_RESULT),
    many("notes", EACH_NOTE, SCHEME_NOTE),
    many("jumps", "where the compliance jumps", "bridge where notes percent"),
    one(
        "damp",
        "what 60 % RH does against 30 %; null where the board's making is not described",
        "change.net_deg change.crown_mm",
        nullable=True,
    ),
    one(
        "difference",
        "this scheme less the first",
        "ribs_kg mass_kg worst_sink_mm bending_share compliance_percent change.net_deg modes_hz",
    ),
)
_SEARCH = one(
    "search",
    "what a search found; null where none was asked for",
    "search.name least tried stopped",
    one("best", "the best rule", STANDING, "rule"),
    one("best_given", "the best of the other schemes that meet the wish", "scheme.name", STANDING, nullable=True),
    many("pareto", "rules that no other beats in mass, sink and unevenness at once", STANDING, "rule"),
    nullable=True,
)
_RIBS = one("ribs", "rib schemes side by side", _SCHEME, _SEARCH)
_SHEET = one("sheet", "what was written", many("written", "each file", "sheet format pages file"))
_CHECK = one("check", "what is wrong or missing in a board folder")

FORMS: dict[str, Part] = {
    f"bellywork-{form.key}/{VERSIONS.get(form.key, 2)}": form
    for form in (_BEARING, _PLANE, _PRESS, _WHERE, _LEARN, _SEASON, _YEARS, _HISTORY, _CROWN, _RIBS, _SHEET, _CHECK)
}

_TEXTS: Schema = {"type": "array", "items": {"type": "string"}}
_FINDING: Schema = {
    "type": "object",
    "properties": {
        "code": {"type": "string", "description": "stable name, see findings.md"},
        "level": {"enum": [level.value for level in Level], "description": "how grave"},
        "file": {"type": "string", "description": "file of the board folder, where it is about one"},
        "row": {"type": ["integer", "null"], "description": "row as a spreadsheet counts, the header is 1"},
        "column": {"type": "string", "description": "column, where it is about one"},
        "note": {"type": ["integer", "null"], "description": "note, where it is about one"},
        "found": {"type": "string", "description": "what was found"},
        "expected": {"type": "string", "description": "what was expected"},
        "remedy": {"type": "string", "description": "how to mend it"},
    },
    "required": ["code", "level", "file", "row", "column", "note", "found", "expected", "remedy"],
    "additionalProperties": False,
}
ENVELOPE: dict[str, Any] = {
    "schema": {"type": "string", "description": "name and version of this form"},
    "bellywork": {"type": "string", "description": "version of the program"},
    "board": {"type": "string", "description": "name of the board"},
    "fingerprint": {
        "type": "string",
        "pattern": "^[0-9a-f]{64}$",
        "description": "SHA-256 over the input files: answers with one fingerprint come from the same measurements",
    },
    "headline": {
        **_TEXTS,
        "description": "what to do, where, how sure and what stands in the way, in the user's units",
    },
    "findings": {"type": "array", "items": _FINDING, "description": "what to look at"},
    "assumptions": {**_TEXTS, "description": "what the numbers stand on, in sentences"},
}


def answer_schema(name: str) -> Schema:
    """The JSON Schema of the answer of this name."""
    form = schema_of(FORMS[name])
    properties = {**ENVELOPE, "schema": {**ENVELOPE["schema"], "const": name}, **form["properties"]}
    # findings of a folder that cannot be read have no board to name
    always = ["schema", "findings"] if FORMS[name] is _CHECK else list(ENVELOPE)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": name,
        "description": FORMS[name].meaning,
        "type": "object",
        "properties": properties,
        "required": [*always, *form["required"]],
        "additionalProperties": False,
    }
