"""`board.toml`: name, state and climate of the measurement, panel, rim, planing rules, and woods of one's own."""

from __future__ import annotations

import datetime
import math
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from bellywork.board.body import RimSupport
from bellywork.board.piano_kind import PianoKind
from bellywork.board.rims import rim_kinds
from bellywork.board.state import Climate, CrownMethod, Making, State
from bellywork.board.targets import PlaningRules
from bellywork.board.wood import Wood
from bellywork.files.cell_text import date_in, notes_in
from bellywork.files.checked import Value, checked, known_names, meant_by
from bellywork.files.columns import TOML, Column, Kind
from bellywork.files.gather import Gathered, nearest
from bellywork.files.own_woods import own_wood, wood_named
from bellywork.files.sources import Sources
from bellywork.files.toml_keys import SECTIONS
from bellywork.findings import Level, Place, printable

MOST_PARTS = 32
_PART = r"""(?:"[^"\n]*"|'[^'\n]*'|[\w-]++)[ \t]*+\.[ \t]*+"""
_DEEP = re.compile(rf"(?<![\w-])(?:{_PART}){{{MOST_PARTS}}}")


@dataclass(frozen=True, kw_only=True, eq=False)
class Settings:
    """What stands in board.toml.

    straightedge_mm   heights were read down from a straightedge so high over the level, NaN unknown; None: read up
    ribs              what ribs have in common, by the stems of [ribs]
    shop              name of the file with the shop's memory; empty: none
    part_strung       notes that are on in the part-strung state; none: that is not told
    gauge             music wire gauge of the scale's wire numbers; empty: not said

    The panel's wood, grain and thickness are None where not given, or not rightly; so is a wood that cannot be one.
    """

    name: str
    kind: PianoKind
    state: State
    part_strung: tuple[int, ...]
    climate: Climate
    making: Making | None
    pitch_Hz: float
    gauge: str
    straightedge_mm: float | None
    panel_wood: Wood | None
    grain_deg: float | None
    thickness_mm: float | None
    ribs: Mapping[str, Any]
    rim: RimSupport
    rims: dict[str, RimSupport]
    woods: dict[str, Wood | None]
    rules: PlaningRules
    shop: str


def settings_from(sources: Sources) -> Settings | None:
    """Read board.toml; None, with findings, where it is missing or is no TOML."""
    document = document_of(sources, TOML)
    return None if document is None else _settings(document, sources.gathered)


def document_of(sources: Sources, name: str) -> dict[str, Any] | None:
    """A TOML file as it stands; None, with findings, where it is missing or is no TOML."""
    text = sources.text(name, Level.UNUSABLE)
    if text is None:
        return None
    try:
        if _DEEP.search(text):  # the time to read such a key grows with the square of its parts
            raise ValueError(f"a key of more than {MOST_PARTS} parts")
        return {printable(key): _printable(value) for key, value in tomllib.loads(text).items()}
    except (ValueError, RecursionError) as error:  # ValueError: also a whole number of thousands of digits
        sources.gathered.add(
            "toml-unreadable", Place(file=name), f"a line that is no TOML ({error})", 'lines like name = "…"',
            "Mend that line: words stand in quotes, decimal numbers have a point.", level=Level.UNUSABLE,
        )  # fmt: skip
        return None


def _printable(value: Any) -> Any:
    """A value of a TOML file with its words and keys made printable."""
    if isinstance(value, dict):
        return {printable(key): _printable(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_printable(inner) for inner in value]
    return printable(value) if isinstance(value, str) else value


def _part_strung(measured: Mapping[str, Any], gathered: Gathered) -> tuple[int, ...]:
    """The notes that are on in the part-strung state; none where it is not spoken of, or wrongly, which is said."""
    text, state = measured.get("strung", ""), measured.get("state")
    notes = notes_in(text) if text else None
    if (text and notes is None) or (not text and state == State.PART.value):
        gathered.add("strung-notes", Place(file=TOML, column="measured.strung"),
                     f"'{text}'" if text else "a part-strung board without a word on which notes are on",
                     "notes in ranges as 1-44 or A0-E3, 60-88", "Say which notes have their strings on.")  # fmt: skip
    return notes or ()


def _settings(document: dict[str, Any], gathered: Gathered) -> Settings:
    names = [name for name in SECTIONS if name and "." not in name]
    top = read_section("", document, gathered, inner=(*names, "woods"))
    read = {
        name: read_section(name, document.get(name, {}), gathered, inner=("kinds",) if name == "rim" else ())
        for name in names
    }
    woods = {
        name: own_wood(name, read_section(f"woods.{name}", rows, gathered, "woods.NAME"), gathered)
        for name, rows in _inner("woods", document, gathered).items()
    }
    rims = dict(rim_kinds())
    for name, rows in _inner("rim.kinds", document.get("rim", {}), gathered).items():
        label = f"rim.kinds.{name}"
        rims[name] = _own_rim(name, read_section(label, rows, gathered, "rim.kinds.NAME"), label, gathered)
    measured, panel, support = read["measured"], read["panel"], read["rim"].get("support", "glued")
    if support not in rims:
        gathered.add("rim-unknown", Place(file=TOML, column="rim.support"), f"'{support}'", "a kind of rim support",
                     nearest(support, rims))  # fmt: skip
    return Settings(
        name=" ".join(top.get("name", "board").split()),  # one line: results carry it in theirs
        kind=PianoKind(top.get("kind", PianoKind.GRAND.value)),
        state=State(measured.get("state", State.BARE.value)),
        part_strung=_part_strung(measured, gathered),
        climate=Climate(
            rh_percent=measured.get("rh"),
            temperature_C=measured.get("temperature"),
            moisture_percent=measured.get("moisture"),
            date=measured.get("date", ""),
        ),
        making=_making(read["making"], document, gathered),
        pitch_Hz=read["scale"].get("pitch", 440.0),
        gauge=read["scale"].get("gauge", ""),
        straightedge_mm=measured.get("straightedge", math.nan) if measured.get("heights") == "down" else None,
        panel_wood=_panel_wood(panel, woods, gathered),
        grain_deg=panel.get("grain"),
        thickness_mm=panel.get("thickness"),
        ribs=read["ribs"],
        rim=rims.get(support, rims["glued"]),
        rims=rims,
        woods=woods,
        shop=read["shop"].get("file", ""),
        rules=PlaningRules(
            **{
                column.usual: read["planing"][column.stem]
                for column in SECTIONS["planing"]
                if column.stem in read["planing"]
            }
        ),
    )


def _making(making: dict[str, Any], document: dict[str, Any], gathered: Gathered) -> Making | None:
    """How the board was made; None where the section is not there, or not right."""
    if "making" not in document:
        return None
    missing = [column for column in SECTIONS["making"] if column.stem not in making]
    for column in missing:
        place = Place(file=TOML, column=f"making.{column.usual}")
        if not any(str(finding.place) == str(place) for finding in gathered.findings):
            gathered.add("key-missing", place, "no such key", column.meaning, "Add it under [making].")
    if missing:
        return None
    made = Making(
        method=CrownMethod(making["crown"]),
        panel_moisture_percent=making["panel_moisture"],
        glued_in_moisture_percent=making["glued_in_moisture"],
    )
    if made.method is CrownMethod.COMPRESSION and made.panel_moisture_percent > made.glued_in_moisture_percent:
        gathered.add(
            "panel-glued-wet",
            Place(file=TOML, column="making.panel_moisture_percent"),
            f"a compression-crowned panel glued at {made.panel_moisture_percent:g} % moisture",
            f"drier than when it was glued in, {made.glued_in_moisture_percent:g} %",
            "A compression crown grows as the dry panel swells: check the two moistures.",
        )
        return None
    return made


def read_section(
    label: str,
    rows: object,
    gathered: Gathered,
    form: str | None = None,
    inner: tuple[str, ...] = (),
    *,
    sections: Mapping[str, tuple[Column, ...]] = SECTIONS,
    file: str = TOML,
) -> dict[str, Any]:
    """A section by stems, numbers in bellywork's own units; what is wrong is said and left out.

    form             name of the section in `sections`, where it is not its label
    inner            names of the sections inside it, which are read apart
    sections, file   the keys of the file, and its name
    """
    columns = sections[label if form is None else form]
    if not isinstance(rows, dict):
        gathered.add("not-a-section", Place(file=file, column=label), f"'{rows}'", f"a section [{label}]",
                     f"Write [{label}] on a line of its own, and its keys below.")  # fmt: skip
        return {}
    known = known_names(columns)
    out: dict[str, Any] = {}
    for key, value in rows.items():
        if key in inner:
            continue
        place = Place(file=file, column=f"{label}.{key}" if label else key)
        if key not in known:
            meant_by(key, columns, place, gathered, kind="key", more=inner)
        elif known[key][0].stem in out:
            gathered.add("key-twice", place, f"{known[key][0].stem} a second time, in another unit", "each key once",
                         "Take one away.")  # fmt: skip
        else:
            column, unit = known[key]
            read = checked(_typed(value, column.kind), f"{value}", column, unit, place, gathered)
            if read is not None:
                out[column.stem] = read
    return out


def _typed(value: object, kind: Kind) -> Value | None:
    """A value of a TOML file where it is of the column's kind, else None."""
    if kind is Kind.NUMBER:
        return _number(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
    if kind is Kind.DATE and isinstance(value, datetime.date):
        return value.isoformat()[:10]
    return None if not isinstance(value, str) else date_in(value) if kind is Kind.DATE else value


def _number(value: float) -> float | None:
    try:
        return None if math.isnan(value) else float(value)
    except OverflowError:  # a whole number beyond all floats
        return None


def _inner(label: str, rows: object, gathered: Gathered) -> dict[str, Any]:
    """The sections [label.NAME] by name."""
    tables = rows.get(label.rpartition(".")[2], {}) if isinstance(rows, dict) else {}
    if isinstance(tables, dict):
        return tables
    gathered.add("not-a-section", Place(file=TOML, column=label), f"'{tables}'", f"sections [{label}.NAME]",
                 "Write one section for each name.")  # fmt: skip
    return {}


def _own_rim(name: str, kind: dict[str, float], label: str, gathered: Gathered) -> RimSupport:
    for column in SECTIONS["rim.kinds.NAME"]:
        if column.stem not in kind:
            gathered.add("key-missing", Place(file=TOML, column=f"{label}.{column.usual}"), "no such key",
                         f"{column.meaning}; inf is held fast, 0 is free", "Add the key.")  # fmt: skip
    return RimSupport(
        name=name,
        vertical_N_mm2=kind.get("vertical", math.inf),
        inplane_N_mm2=kind.get("inplane", math.inf),
        rotation_N=kind.get("rotation", math.inf),
    )


def _panel_wood(panel: dict[str, Any], woods: Mapping[str, Wood | None], gathered: Gathered) -> Wood | None:
    """The panel's wood as it is sawn; None where none is named, or none of that name is known, which is said."""
    if "wood" not in panel:
        return None
    found = wood_named(panel["wood"], woods, Place(file=TOML, column="panel.wood"), gathered)
    return found if found is None or "ring_angle" not in panel else found.with_rings_at(panel["ring_angle"])
