"""Scheme files: a rib table as CSV, or a TOML file with a rule or a table's name, and what a search may change."""

from __future__ import annotations

import math
from dataclasses import fields
from pathlib import Path
from typing import Any

from bellywork.board.body import Rib
from bellywork.board.scheme import Least, RibRule, Scheme, Wish
from bellywork.errors import UnusableInput
from bellywork.files.bodies import ribs_of
from bellywork.files.gather import Gathered, nearest
from bellywork.files.own_woods import wood_named
from bellywork.files.settings import Settings, document_of, read_section, settings_from
from bellywork.files.sources import Sources, csv_rows
from bellywork.files.tables import table_from
from bellywork.files.toml_keys import SCHEME_SECTIONS
from bellywork.findings import Level, Place

BOUNDED = {
    **{name: name for name in ("count", "angle_deg", "spacing_ratio", "end_height_mm", "feather_mm")},
    **{f"{end}_{size}_mm": f"{end}_{size}_mm" for end in ("treble", "bass") for size in ("margin", "width", "height")},
    "treble_radius_m": "treble_radius_mm",
    "bass_radius_m": "bass_radius_mm",
}
_USUAL = {"bass_width": "treble_width", "bass_height": "treble_height", "bass_radius": "treble_radius"}


def read_scheme(path: Path | str, board_folder: Path) -> Scheme:
    """A scheme from a rib table (CSV) or a scheme file (TOML).

    board_folder   the folder of the board that it is for: woods described there can be named

    Raises UnusableInput with every finding.
    """
    path, gathered = Path(path), Gathered()
    settings = settings_from(Sources(board_folder, Gathered()))
    if settings is None:
        raise UnusableInput(tuple(gathered.findings))
    if path.suffix not in (".csv", ".toml"):
        gathered.add("scheme-unknown", Place(file=path.name), f"'{path}'", "a rib table (.csv) or a scheme (.toml)",
                     "Save the ribs as a table like ribs.csv of a board, or write a scheme file (docs/ribs.md).",
                     level=Level.UNUSABLE)  # fmt: skip
        raise UnusableInput(tuple(gathered.findings))
    sources = Sources(path.parent, gathered)
    if path.suffix == ".csv":
        scheme: Scheme | None = None
        ribs = _ribs(path.name, sources, settings)
        if not gathered.grave:
            scheme = Scheme(name=path.stem.replace("_", " "), ribs=ribs)
    else:
        scheme = gathered.clean(lambda: _from_toml(path, sources, settings))
    if scheme is None:
        raise UnusableInput(tuple(gathered.findings))
    return scheme


def _ribs(name: str, sources: Sources, settings: Settings) -> tuple[Rib, ...]:
    raw = csv_rows(sources, name)
    return () if raw is None else ribs_of(table_from("ribs", raw, sources.gathered), settings, sources.gathered)


def _from_toml(path: Path, sources: Sources, settings: Settings) -> Scheme | None:
    document, gathered = document_of(sources, path.name), sources.gathered
    if document is None:
        return None
    names = [name for name in SCHEME_SECTIONS if name]

    def section(name: str, inner: tuple[str, ...] = ()) -> dict[str, Any]:
        rows = document if not name else document.get(name, {})
        return read_section(name, rows, gathered, inner=inner, sections=SCHEME_SECTIONS, file=path.name)

    top = section("", tuple(names))
    read = {name: section(name, ("bounds",) if name == "search" else ()) for name in names}
    if ("ribs" in top) == ("rule" in document):
        gathered.add("scheme-form", Place(file=path.name), "both ribs and [rule]" if "ribs" in top else "neither",
                     "either ribs = the name of a table, or a [rule]", "Give one of the two.")  # fmt: skip
        return None
    for name in ("rule", "search"):
        if name in document:
            _all_there(name, read[name], path.name, gathered)
    if gathered.grave:
        return None
    rule = _rule(read["rule"], path.name, settings, gathered) if "rule" in document else None
    return Scheme(
        name=top.get("name", path.stem.replace("_", " ")),
        ribs=_ribs(top["ribs"], sources, settings) if "ribs" in top else None,
        rule=rule,
        panel_factor=read["panel"].get("thickness_factor", 1.0),
        bridge_factor=read["bridges"].get("root_factor", 1.0),
        wish=_wish(read["search"], document["search"], path.name, gathered) if "search" in document else None,
    ) if rule is not None or "ribs" in top else None  # fmt: skip


def _all_there(name: str, read: dict[str, Any], file: str, gathered: Gathered) -> None:
    for column in SCHEME_SECTIONS[name]:
        if column.required and column.stem not in read:
            place = Place(file=file, column=f"{name}.{column.usual}")
            if not any(str(finding.place) == str(place) for finding in gathered.findings):
                gathered.add("key-missing", place, "no such key", column.meaning, f"Add it under [{name}].")


def _rule(read: dict[str, Any], file: str, settings: Settings, gathered: Gathered) -> RibRule | None:
    if read["count"] != int(read["count"]):
        gathered.add("not-a-number", Place(file=file, column="rule.count"), f"{read['count']:g}", "a whole number",
                     "Ribs come whole.")  # fmt: skip
        return None
    wood = wood_named(read["wood"], settings.woods, Place(file=file, column="rule.wood"), gathered)
    if wood is None:
        return None
    for stem, other in _USUAL.items():
        read.setdefault(stem, read.get(other, math.inf))
    least = min(read["treble_height"], read["bass_height"])
    end = read.get("end_height", least)
    if end > least:
        gathered.add("end-too-high", Place(file=file, column="rule.end_height_mm"), f"{end:g} mm at the ends",
                     f"at most the least full height, {least:g} mm", "Check height and end height.")  # fmt: skip
        return None
    return RibRule(
        count=int(read["count"]),
        angle_deg=read["angle"],
        treble_margin_mm=read["treble_margin"],
        bass_margin_mm=read["bass_margin"],
        spacing_ratio=read.get("spacing_ratio", 1.0),
        treble_width_mm=read["treble_width"],
        bass_width_mm=read["bass_width"],
        treble_height_mm=read["treble_height"],
        bass_height_mm=read["bass_height"],
        end_height_mm=end,
        feather_mm=read.get("feather", 0.0),
        treble_radius_mm=read.get("treble_radius", math.inf),
        bass_radius_mm=read["bass_radius"],
        wood=wood,
    )


def _wish(read: dict[str, Any], rows: dict[str, Any], file: str, gathered: Gathered) -> Wish | None:
    """The wish and its bounds: keys of the rule, each with a list of two numbers."""
    bounds = {}
    given = rows.get("bounds", {})
    if not isinstance(given, dict) or not given:
        gathered.add("key-missing", Place(file=file, column="search.bounds"), "no bounds",
                     "what of the rule may change, as treble_height_mm = [18, 30]",
                     "Add a section [search.bounds].")  # fmt: skip
        return None
    for key, pair in given.items():
        place = Place(file=file, column=f"search.bounds.{key}")
        if key not in BOUNDED:
            gathered.add("key-unknown", place, f"'{key}'", "a number of the rule", nearest(key, BOUNDED))
        elif not _lower_first(pair):
            gathered.add("limits-reversed", place, f"{pair}", "two numbers, the lower first, as [18, 30]",
                         "Write the lowest and the highest value.")  # fmt: skip
        else:
            factor = 1000.0 if key.endswith("_m") else 1.0
            bounds[BOUNDED[key]] = (float(pair[0]) * factor, float(pair[1]) * factor)
    assert set(BOUNDED.values()) <= {each.name for each in fields(RibRule)}
    return Wish(
        least=Least(read["least"]),
        sink_most_mm=read.get("sink_most", math.inf),
        unevenness_most=read.get("unevenness_most", math.inf),
        bending_share_most=read.get("bending_share_most", 1.0),
        crown_left_least_mm=read.get("crown_left_least", -math.inf),
        bounds=bounds,
    )


def _lower_first(pair: object) -> bool:
    if not (isinstance(pair, list) and len(pair) == 2 and all(type(value) in (int, float) for value in pair)):
        return False
    return math.isfinite(pair[0]) and math.isfinite(pair[1]) and pair[0] < pair[1]
