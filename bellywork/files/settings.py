"""`board.toml`: name, state and climate of the measurement, panel, rim, planing rules, and woods of one's own."""

from __future__ import annotations

import datetime
import math
import tomllib
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any

from bellywork.board.body import RimSupport
from bellywork.board.rims import rim_kinds
from bellywork.board.state import Climate, State
from bellywork.board.targets import PlaningRules
from bellywork.board.wood import Wood, WoodStrength
from bellywork.board.woods import wood, wood_names
from bellywork.conventions import UNITS, Dimension
from bellywork.errors import BoardError
from bellywork.files.gather import Gathered, nearest
from bellywork.files.sources import text_of
from bellywork.findings import Level, Place

FORMAT = "bellywork-board/1"
_L, _S, _D = Dimension.LENGTH, Dimension.STRESS, Dimension
_ELASTIC = ("E_L", "E_R", "E_T", "G_LR", "G_LT", "G_RT")
_STRENGTHS = tuple(each.name for each in fields(WoodStrength))
# every key of each section by its stem, with its dimension; None: a word, a date or a table
_KEYS: dict[str, dict[str, Dimension | None]] = {
    "": {"format": None, "name": None, "measured": None, "scale": None, "panel": None, "rim": None, "planing": None,
         "woods": None},
    "measured": {"state": None, "rh": _D.SHARE, "temperature": _D.TEMPERATURE, "date": None},
    "scale": {"pitch": _D.FREQUENCY},
    "panel": {"wood": None, "grain": _D.ANGLE, "thickness": _L},
    "rim": {"support": None, "kinds": None},
    "planing": {"fair_tolerance": _L, "bearing_tolerance": _D.ANGLE, "cap_least": _L, "notch": _L},
    "kinds": {"vertical": _D.LINE_STIFFNESS, "inplane": _D.LINE_STIFFNESS, "rotation": _D.FORCE},
    "woods": {"like": None, "source": None, **dict.fromkeys(_ELASTIC, _S), "nu_LR": _D.NUMBER, "nu_LT": _D.NUMBER,
              "nu_RT": _D.NUMBER, "density": _D.DENSITY, "moisture": _D.SHARE, "shrinkage_L": _D.SHARE,
              "shrinkage_R": _D.SHARE, "shrinkage_T": _D.SHARE, **dict.fromkeys(_STRENGTHS, _S)},
}  # fmt: skip
_ABOVE_ZERO = {*_ELASTIC, "density", "thickness", "pitch", "cap_least", "fair_tolerance", *_STRENGTHS}
_RANGES = {"rh": (0.0, 100.0), "temperature": (-30.0, 60.0), "moisture": (0.0, 30.0), "notch": (0.0, 20.0)}


@dataclass(frozen=True, kw_only=True, eq=False)
class Settings:
    """What stands in board.toml. The panel's wood is None, and its thickness, where they are not given there."""

    name: str
    state: State
    climate: Climate
    pitch_Hz: float
    panel_wood: Wood | None
    grain_deg: float
    thickness_mm: float | None
    rim: RimSupport
    rims: dict[str, RimSupport]
    woods: dict[str, Wood]
    rules: PlaningRules


def settings_from(path: Path, gathered: Gathered) -> Settings | None:
    """Read board.toml; None, with findings, where it is missing or is no TOML."""
    text = text_of(path, gathered)
    if text is None:
        return None
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        gathered.add(
            "toml-unreadable", Place(file=path.name), f"a line that is no TOML ({error})", 'lines like name = "…"',
            "Mend that line: words stand in quotes, decimal numbers have a point.", level=Level.UNUSABLE,
        )  # fmt: skip
        return None
    return _Reader(path.name, document, gathered).settings()


class _Reader:
    """One document on its way to settings."""

    def __init__(self, file: str, document: dict[str, Any], gathered: Gathered) -> None:
        self.file, self.document, self.gathered = file, document, gathered

    def settings(self) -> Settings:
        top = self._section("", self.document)
        if top.get("format", FORMAT) != FORMAT:
            self._add("format-unknown", "format", f"'{top['format']}'", f"'{FORMAT}'",
                      "Use a version of bellywork that reads this format.")  # fmt: skip
        measured = self._section("measured", top.get("measured", {}))
        panel = self._section("panel", top.get("panel", {}))
        rim = self._section("rim", top.get("rim", {}))
        planing = self._section("planing", top.get("planing", {}))
        scale = self._section("scale", top.get("scale", {}))
        woods = {name: made for name, rows in self._tables(top, "woods") if (made := self._own_wood(name, rows))}
        rims = {**rim_kinds(), **{name: self._own_rim(name, rows) for name, rows in self._tables(rim, "kinds")}}
        return Settings(
            name=str(top.get("name", Path(self.file).stem)),
            state=self._state(measured),
            climate=Climate(
                rh_percent=measured.get("rh"), temperature_C=measured.get("temperature"), date=self._date(measured)
            ),
            pitch_Hz=scale.get("pitch", 440.0),
            panel_wood=self.wood(panel["wood"], woods, "panel.wood") if "wood" in panel else None,
            grain_deg=panel.get("grain", math.nan),
            thickness_mm=panel.get("thickness"),
            rim=self._support(rim.get("support", "glued"), rims),
            rims=rims,
            woods=woods,
            rules=self._rules(planing),
        )

    def wood(self, name: object, own: dict[str, Wood], where: str) -> Wood | None:
        """A wood by name, own or built in; None with a finding where there is none of that name."""
        if str(name) in own:
            return own[str(name)]
        try:
            return wood(str(name))
        except BoardError:
            self._add("wood-unknown", where, f"'{name}'", "a wood built in or described under [woods]",
                      nearest(str(name), [*own, *wood_names()]))  # fmt: skip
            return None

    def _add(self, code: str, column: str, found: str, expected: str, remedy: str) -> None:
        self.gathered.add(code, Place(file=self.file, column=column), found, expected, remedy)

    def _tables(self, section: dict[str, Any], key: str) -> list[tuple[str, dict[str, Any]]]:
        tables = section.get(key, {})
        if not isinstance(tables, dict):
            self._add("not-a-table", key, f"'{tables}'", f"tables [{key}.NAME]", "Write one table for each name.")
            return []
        return [(name, rows) for name, rows in tables.items() if isinstance(rows, dict)]

    def _section(self, name: str, rows: object, label: str = "") -> dict[str, Any]:
        """The section by stems, numbers in bellywork's own units; what is wrong is said and left out."""
        where = label or name
        if not isinstance(rows, dict):
            self._add("not-a-table", where, f"'{rows}'", f"a table [{where}]", f"Write [{where}] on a line of its own.")
            return {}
        known, out = _KEYS[name], {}
        for key, value in rows.items():
            at = f"{where}.{key}" if where else key
            stem = next((s for s in sorted(known, key=len, reverse=True) if key == s or key.startswith(f"{s}_")), None)
            if stem is None or (known[stem] is None and key != stem):
                usual = [f"{s}_{_suffixes(d)[0]}".rstrip("_") if d else s for s, d in known.items()]
                self._add("key-unknown", at, f"'{key}'", "a key that bellywork knows", nearest(key, usual))
            elif known[stem] is None:
                out[stem] = value
            elif (number := self._number(at, key, stem, known[stem], value)) is not None:
                out[stem] = number
        return out

    def _number(self, at: str, key: str, stem: str, dimension: Dimension | None, value: object) -> float | None:
        suffixes = _suffixes(dimension)
        suffix = key[len(stem) + 1 :]
        if suffix not in suffixes:
            accepted = " or ".join(f"{stem}_{s}".rstrip("_") for s in suffixes)
            self._add("unit-wrong", at, f"'{key}'", accepted, "Write the unit behind the name.")
            return None
        fast = dimension in (Dimension.LINE_STIFFNESS, Dimension.FORCE)  # inf: held fast
        if isinstance(value, bool) or not isinstance(value, (int, float)) or math.isnan(value) or (
            math.isinf(value) and not fast
        ):  # fmt: skip
            self._add("not-a-number", at, f"'{value}'", "a number", "Write the number without quotes or unit.")
            return None
        inside = UNITS[suffix].inside(float(value))
        low, high = _RANGES.get(stem, (-math.inf, math.inf))
        if not low <= inside <= high or (stem in _ABOVE_ZERO and inside <= 0.0):
            bounds = f"{low:g} to {high:g} {suffixes[0]}" if stem in _RANGES else "a number above 0"
            self._add("out-of-range", at, f"{value} {suffix}".strip(), bounds, "Check the number.")
            return None
        return inside

    def _state(self, measured: dict[str, Any]) -> State:
        word = measured.get("state", State.BARE.value)
        states = {state.value: state for state in State}
        if word not in states:
            self._add("word-unknown", "measured.state", f"'{word}'", " or ".join(states), nearest(str(word), states))
        return states.get(word, State.BARE)

    def _date(self, measured: dict[str, Any]) -> str:
        date = measured.get("date", "")
        if isinstance(date, datetime.date):
            return date.isoformat()[:10]
        try:
            return datetime.date.fromisoformat(date).isoformat() if date else ""
        except (TypeError, ValueError):
            self._add("date-unreadable", "measured.date", f"'{date}'", "a date, as 2026-05-01", "Write year-month-day.")
            return ""

    def _support(self, name: object, rims: dict[str, RimSupport]) -> RimSupport:
        if str(name) not in rims:
            self._add("rim-unknown", "rim.support", f"'{name}'", "a kind of rim support", nearest(str(name), rims))
            return rims["glued"]
        return rims[str(name)]

    def _own_rim(self, name: str, rows: dict[str, Any]) -> RimSupport:
        kind = self._section("kinds", rows, f"rim.kinds.{name}")
        for stem, unit in (("vertical", "N_mm2"), ("inplane", "N_mm2"), ("rotation", "N")):
            if stem not in kind:
                self._add("key-missing", f"rim.kinds.{name}.{stem}_{unit}", "no such key", "a stiffness, inf or 0",
                          "Add the key.")  # fmt: skip
            elif kind[stem] < 0.0:
                self._add("out-of-range", f"rim.kinds.{name}.{stem}_{unit}", f"{kind[stem]:g}", "0 or more",
                          "A support pushes back: its stiffness is not negative.")  # fmt: skip
        values = {stem: max(kind.get(stem, math.inf), 0.0) for stem in ("vertical", "inplane", "rotation")}
        return RimSupport(name=name, vertical_N_mm2=values["vertical"], inplane_N_mm2=values["inplane"],
                          rotation_N=values["rotation"])  # fmt: skip

    def _own_wood(self, name: str, rows: dict[str, Any]) -> Wood | None:
        own = self._section("woods", rows, f"woods.{name}")
        given = {stem: own[stem] for stem in (*_ELASTIC, "nu_LR", "nu_LT", "nu_RT") if stem in own}
        strength = {stem: own[stem] for stem in _STRENGTHS if stem in own}
        other = {stem: own[key] for key, stem in (("density", "density_kg_m3"), ("moisture", "moisture_percent"),
                 ("shrinkage_L", "shrinkage_L_percent"), ("shrinkage_R", "shrinkage_R_percent"),
                 ("shrinkage_T", "shrinkage_T_percent"), ("source", "source")) if key in own}  # fmt: skip
        base = self.wood(own["like"], {}, f"woods.{name}.like") if "like" in own else None
        if base is not None:
            return replace(base, name=name, **given, **other, strength=replace(base.strength, **strength))
        missing = [s for s in (*_ELASTIC, "nu_LR", "nu_LT", "nu_RT", "density") if s not in own]
        if missing and "like" not in own:
            self._add("wood-incomplete", f"woods.{name}", f"a wood without {', '.join(missing)}",
                      "all nine elastic constants and the density, or like = a wood that is built in",
                      "Add what is missing.")  # fmt: skip
        if missing:
            return None
        made = Wood(name=name, **given, **other, strength=WoodStrength(**strength))
        if _impossible(made):
            self._add("wood-impossible", f"woods.{name}", "elastic constants that would give energy back when strained",
                      "nu_LR² < E_L/E_R, nu_LT² < E_L/E_T, nu_RT² < E_R/E_T, and all three together",
                      "Check the Poisson's ratios: nu_LR is the contraction along R under stress along L.")  # fmt: skip
            return None
        return made

    def _rules(self, planing: dict[str, Any]) -> PlaningRules:
        names = {"fair_tolerance": "fair_tolerance_mm", "bearing_tolerance": "bearing_tolerance_deg",
                 "cap_least": "cap_least_mm", "notch": "notch_mm"}  # fmt: skip
        return PlaningRules(**{names[stem]: value for stem, value in planing.items()})


def _suffixes(dimension: Dimension | None) -> list[str]:
    return [name for name, unit in UNITS.items() if unit.dimension is dimension]


def _impossible(made: Wood) -> bool:
    """Whether the compliance matrix of the wood is not positive definite."""
    import numpy as np

    lr, lt, rt = made.nu_LR / made.E_L, made.nu_LT / made.E_L, made.nu_RT / made.E_R
    compliance = np.array([[1 / made.E_L, -lr, -lt], [-lr, 1 / made.E_R, -rt], [-lt, -rt, 1 / made.E_T]])
    return bool(np.linalg.eigvalsh(compliance / np.sqrt(np.outer(np.diag(compliance), np.diag(compliance)))).min() <= 0)
