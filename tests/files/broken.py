"""The boards broken on purpose, one per kind of finding: python tests/files/broken.py makes their folders afresh.

Each is the small invented board, or as much of it as is needed, with one mistake put into one of its texts.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from pathlib import Path

from small import BODY, STRINGS, TEXTS

HOME = Path(__file__).resolve().parents[2] / "sample_boards" / "broken"
STARTERS = HOME.parents[1] / "bellywork" / "files" / "starters" / "strings"
ALL_STRINGS = (*STRINGS, "scale.csv", "string_plan.csv")
DENSE = (
    "note,section,bridge,speaking_mm,rows_mm,back_mm,front_height_mm,bridge_front_mm,bridge_rear_mm,rear_height_mm\n"
)
RUN = DENSE + "".join(
    f"{n},middle,long,{640 * 0.945 ** (n - 40):.1f},16,90,{36 + 0.2 * (n - 40):.2f},"
    f"{42 + (n == 45)}.0,{42 + (n == 45)}.0,{40.8}\n"
    for n in range(40, 52)
)
SCAN_POINTS = """scan_x,scan_y,scan_z,x_mm,y_mm
1,2,3,100,100
2,3,4,500,100
3,4,4,300,300
"""
TRIALS = "trial,at_x_mm,at_y_mm,force_N,read_x_mm,read_y_mm,sink_mm\n1,300,200,100,300,200,0.2\n"
DENSE += "".join(f"{n},middle,long,{640 - 28 * (n - 40)}.0,16,90,34,42,42,40.8\n" for n in (40, 41, 42, 44, 45))


@dataclass(frozen=True, kw_only=True)
class Broken:
    """One mistake: what it is in words, the file and column that the finding names, and how it is put in.

    edits   (file, old, new): the old piece of the file's text, which must be there, replaced by the new one
    also    further findings that the same mistake brings about
    """

    what: str
    file: str
    column: str = ""
    row: int | None = None
    files: tuple[str, ...] = STRINGS
    edits: tuple[tuple[str, str, str], ...] = ()
    texts: dict[str, str] = field(default_factory=dict)
    without: tuple[str, ...] = ()
    also: tuple[str, ...] = ()


def notes(old: str, new: str) -> tuple[tuple[str, str, str], ...]:
    """One edit of the notes table."""
    return (("notes.csv", old, new),)


def toml(old: str, new: str) -> tuple[tuple[str, str, str], ...]:
    """One edit of board.toml."""
    return (("board.toml", old, new),)


WITH = {name: (*STRINGS, f"{name}.csv") for name in ("scale", "targets", "sink", "readings", "supports", "struts")}
BROKEN: dict[str, Broken] = {
    # the folder and its files
    "toml-missing": Broken(what="There is no board.toml.", file="board.toml", without=("board.toml",)),
    "toml-unreadable": Broken(what="A word in board.toml has lost its closing quote.", file="board.toml",
                              edits=toml('"bare"', '"bare')),
    "nothing-described": Broken(what="There is board.toml and nothing else.", file="", without=("notes.csv",)),
    "not-a-file": Broken(what="scale.csv is a folder.", file="scale.csv",
                         texts={"scale.csv/README.md": "A folder where a table should be.\n"}),
    "not-text": Broken(what="scale.csv was saved as UTF-16.", file="scale.csv",
                       texts={"scale.csv": "n\0o\0t\0e\0,\0w\0i\0r\0e\0\n\0"}),
    "not-a-workbook": Broken(what="scale.xlsx is a CSV under another name.", file="scale.xlsx",
                             texts={"scale.xlsx": TEXTS["scale.csv"]}),
    "formula-without-value": Broken(what="A cell of scale.xlsx holds a formula that no spreadsheet has worked out.",
                                    file="scale.xlsx", column="C", row=2, also=("wire-form",)),
    "table-twice": Broken(what="The scale stands in scale.csv and in scale.xlsx.", file="scale.xlsx",
                          files=WITH["scale"], texts={"scale.xlsx": ""}),
    "file-unknown": Broken(what="scales.csv is no table of a board.", file="scales.csv",
                           texts={"scales.csv": TEXTS["scale.csv"]}),
    "empty-table": Broken(what="notes.csv has a header and no rows.", file="notes.csv", files=(*BODY, "notes.csv"),
                          texts={"notes.csv": DENSE.splitlines()[0] + "\n"}),
    "cell-far-out": Broken(what="A cell of scale.xlsx is filled a million rows down.", file="scale.xlsx", column="A",
                           row=1048576),
    # headers and cells
    "column-missing": Broken(what="The back lengths are missing.", file="notes.csv", column="back_mm", row=1,
                             edits=notes("back_mm", "remark")),
    "column-twice": Broken(what="There are two columns of speaking lengths, mm and inches.", file="notes.csv",
                           column="speaking_in", row=1, edits=notes("bridge_rear_mm", "speaking_in"),
                           also=("heights-incomplete",)),
    "column-unknown": Broken(what="A header is misspelt: speeking_mm.", file="notes.csv", column="speeking_mm", row=1,
                             edits=notes("speaking_mm", "speeking_mm")),
    "unit-missing": Broken(what="The header of the back lengths has no unit.", file="notes.csv", column="back", row=1,
                           edits=notes("back_mm", "back")),
    "unit-wrong": Broken(what="The back lengths are said to be in degrees.", file="notes.csv", column="back_deg",
                         row=1, edits=notes("back_mm", "back_deg")),
    "cell-empty": Broken(what="Note 49 has no speaking length.", file="notes.csv", column="speaking_mm", row=3,
                         edits=notes("390.0", "")),
    "cell-without-column": Broken(what="A decimal comma between commas: 390,0.", file="notes.csv", row=3,
                                  edits=notes("390.0", "390,0")),
    "not-a-number": Broken(what="A speaking length is NaN.", file="notes.csv", column="speaking_mm", row=3,
                           edits=notes("390.0", "NaN")),
    "number-doubtful": Broken(what="A speaking length is written \"1,390\", in quotes between commas.",
                              file="notes.csv", column="speaking_mm", row=3, edits=notes("390.0", '"1,390"')),
    "out-of-range": Broken(what="A speaking length is negative.", file="notes.csv", column="speaking_mm", row=3,
                           edits=notes("390.0", "-390.0")),
    "note-unknown": Broken(what="A note is called H4.", file="notes.csv", column="note", row=3,
                           edits=notes("\n49,", "\nH4,")),
    "date-unreadable": Broken(what="A date is written 4.5.2026.", file="readings.csv", column="date", row=2,
                              files=WITH["readings"], edits=(("readings.csv", "2026-05-04", "4.5.2026"),)),
    "word-unknown": Broken(what="A state is called bair.", file="readings.csv", column="state", row=2,
                           files=WITH["readings"], edits=(("readings.csv", "bare", "bair"),)),
    "word-too-long": Broken(what="A section has a name of 4 000 letters.", file="notes.csv", column="section", row=3,
                            edits=notes("\n49,middle", "\n49," + "m" * 4000)),
    "table-untouched": Broken(what="The notes are still those of the starter folder.", file="notes.csv", files=(),
                              texts={"notes.csv": (STARTERS / "notes.csv").read_text(encoding="utf-8"),
                                     "board.toml": TEXTS["board.toml"]}),
    # ways of reading
    "heights-incomplete": Broken(what="Note 49 has no height of its rear rest.", file="notes.csv",
                                 column="rear_height_mm", row=3, edits=notes("36.9,42.0,42.0,40.8", "36.9,42.0,42.0,")),
    "heights-twice": Broken(what="Note 49 has heights and a block.", file="notes.csv", column="block_mm", row=3,
                            edits=(*notes("rear_height_mm\n", "rear_height_mm,block_mm\n"),
                                   *notes("36.9,42.0,42.0,40.8", "36.9,42.0,42.0,40.8,2.5"))),
    "wire-needed": Broken(what="A capo bar was measured, and no wire is given.", file="notes.csv", column="front",
                          row=4, edits=(*notes("rear_height_mm\n", "rear_height_mm,front\n"),
                                        *notes("39.1,42.0,42.0,40.8", "39.1,42.0,42.0,40.8,capo"))),
    "dial-impossible": Broken(what="The dial's span is less than the pin rows.", file="notes.csv",
                              column="dial_span_mm", row=2, texts={"notes.csv":
                              "note,section,bridge,speaking_mm,rows_mm,back_mm,dial_mm,dial_span_mm\n"
                              "40,middle,long,640,16,90,0.2,15\n49,middle,long,390,16,90,0.2,50\n"}),
    "heights-read-down": Broken(what="The heights were read down from a straightedge.", file="notes.csv",
                                column="bridge_front", edits=(*notes("33.6,42.0,42.0,40.8", "66.4,58.0,58.0,59.2"),
                                                              *notes("36.9,42.0,42.0,40.8", "63.1,58.0,58.0,59.2"),
                                                              *notes("39.1,42.0,42.0,40.8", "60.9,58.0,58.0,59.2"))),
    "heights-small": Broken(what="The heights are in cm under headers in mm.", file="notes.csv", column="bridge_front",
                            edits=(*notes("33.6,42.0,42.0,40.8", "3.36,4.20,4.20,4.08"),
                                   *notes("36.9,42.0,42.0,40.8", "3.69,4.20,4.20,4.08"),
                                   *notes("39.1,42.0,42.0,40.8", "3.91,4.20,4.20,4.08"))),
    "height-out-of-family": Broken(what="The bridge top is 1 mm too high at one note of twelve.", file="notes.csv",
                                   column="bridge_front", texts={"notes.csv": RUN}),
    "wire-form": Broken(what="Note 49 has no wire.", file="scale.csv", column="wire_mm", row=3, files=WITH["scale"],
                        edits=(("scale.csv", "49,3,0.975", "49,3,"),)),
    "gauge-missing": Broken(what="Wires are numbers of no gauge.", file="scale.csv", column="wire_number", row=2,
                            files=WITH["scale"], texts={"scale.csv":
                            "note,unisons,wire_number\n40,3,18 1/2\n49,3,17\n60,3,15.5\n"}),
    "gauge-unknown": Broken(what="A wire is number 39.", file="scale.csv", column="wire_number", row=2,
                            files=WITH["scale"], edits=toml("[measured]", '[scale]\ngauge = "metric"\n\n[measured]'),
                            texts={"scale.csv": "note,unisons,wire_number\n40,3,39\n49,3,17\n60,3,15.5\n"}),
    "tension-jump": Broken(what="The wires change from 1.05 to 0.75 mm between two notes.", file="scale.csv",
                           column="wire", files=WITH["scale"], texts={"scale.csv":
                           "note,unisons,wire_mm\n40,3,1.05\n48,3,1.0\n49,3,0.75\n60,3,0.9\n"}),
    "unison-wide": Broken(what="A unison of 36 mm, where the notes stand 17 mm apart.", file="scale.csv",
                          column="spread", files=ALL_STRINGS, texts={"scale.csv":
                          "note,unisons,wire_mm,spread_mm\n40,3,1.05,36\n49,3,0.975,36\n60,3,0.9,36\n"}),
    "shop-unreadable": Broken(what="The file with the shop's memory is not where board.toml says.", file="board.toml",
                              column="shop.file", edits=toml("[rim]", '[shop]\nfile = "../shop.toml"\n\n[rim]')),
    "bridges-overlap": Broken(what="Two bridges cross.", file="bridges.csv", column="x", files=BODY, edits=(
        ("bridges.csv", "long,200,400", "bass,450,150,32,22,12,2.5,sugar_maple,\nbass,450,500,32,22,12,2.5,sugar_maple,"
         "\nlong,200,400"),)),
    "rib-flat": Broken(what="Width and height of a rib have changed places.", file="ribs.csv", column="width",
                       files=BODY, edits=(("ribs.csv", "2,600,0,600,600,25,22", "2,600,0,600,600,60,12"),)),
    # the short way of typing
    "plan-half": Broken(what="A rear pin has x and no y.", file="string_plan.csv", column="rear_pin_x_mm", row=3,
                        files=ALL_STRINGS, texts={"string_plan.csv":
                        "note,front_x_mm,front_y_mm,front_pin_x_mm,rear_pin_x_mm,rear_pin_y_mm\n"
                        "40,300,-200,320,,\n49,400,0,410,410,\n60,500,100,505,,\n"}),
    "plan-without-lengths": Broken(what="A note of the plan is not in notes.csv, and its pins follow from nothing.",
                                   file="string_plan.csv", column="front_pin_y", row=4, files=ALL_STRINGS,
                                   also=("note-strange", "note-unreached"), texts={"string_plan.csv":
                                   "note,front_x_mm,front_y_mm,front_pin_x_mm\n40,300,-200,320\n49,400,0,410\n"
                                   "61,500,100,505\n"}),
    "plan-too-far": Broken(what="A front pin stands farther aside than its string is long.", file="string_plan.csv",
                           column="front_pin_x_mm", row=4, files=ALL_STRINGS, texts={"string_plan.csv":
                           "note,front_x_mm,front_y_mm,front_pin_x_mm\n40,300,-200,320\n49,400,0,410\n"
                           "60,500,100,1505\n"}),
    "bridge-without-pins": Broken(what="A bridge is given at notes, and no strings in plan.", file="bridges.csv",
                                  column="note", row=2, files=BODY, texts={"bridges.csv":
                                  "bridge,note,width_mm,root_mm,cap_mm,wood\nlong,40,32,22,12,sugar_maple\n"
                                  ",60,,,,\n"}),
    "bridge-place": Broken(what="A bridge has a point and a note.", file="bridges.csv", column="x_mm", row=3,
                           files=BODY, texts={"bridges.csv": "bridge,x_mm,y_mm,note,width_mm,root_mm,cap_mm,wood\n"
                                  "long,200,400,,32,22,12,sugar_maple\n,,,60,,,,\n"}),
    "rib-end-missing": Broken(what="A rib has one end, and no direction is given.", file="ribs.csv", column="end_x_mm",
                              row=3, files=BODY, edits=(("ribs.csv", "2,600,0,600,600", "2,600,0,,"),)),
    # board.toml
    "key-unknown": Broken(what="A key of [measured] is misspelt: stat.", file="board.toml", column="measured.stat",
                          edits=toml("state =", "stat =")),
    "key-missing": Broken(what="The direction of the grain is not given.", file="board.toml", files=BODY,
                          column="panel.grain_deg", edits=toml("grain_deg = 0\n", "")),
    "key-twice": Broken(what="The temperature is given in °C and in °F.", file="board.toml",
                        column="measured.temperature_F",
                        edits=toml("temperature_C = 20", "temperature_C = 20\ntemperature_F = 68")),
    "not-a-section": Broken(what="[measured] is a word.", file="board.toml", column="measured",
                            texts={"board.toml": 'name = "Broken"\nmeasured = "bare"\n'}),
    "not-a-word": Broken(what="The name of the board is a number.", file="board.toml", column="name",
                         edits=toml('"Three notes, invented"', "3")),
    "wood-unknown": Broken(what="A wood is misspelt: sitka_sprruce.", file="board.toml", column="panel.wood",
                           edits=toml("sitka_spruce", "sitka_sprruce")),
    "wood-incomplete": Broken(what="A wood of one's own has only one elastic constant.", file="board.toml",
                              column="woods.mine", edits=toml("[rim]", "[woods.mine]\nE_L_GPa = 11\n\n[rim]")),
    "wood-impossible": Broken(what="A wood of one's own has a Poisson's ratio that no wood can have.",
                              file="board.toml", column="woods.mine",
                              edits=toml("[rim]", '[woods.mine]\nlike = "sitka_spruce"\nnu_RT = 2.5\n\n[rim]')),
    "rim-unknown": Broken(what="A rim support is called glewed.", file="board.toml", column="rim.support",
                          edits=toml('"glued"', '"glewed"')),
    "thickness-twice": Broken(what="The panel's thickness stands in board.toml and in a table.", file="board.toml",
                              column="panel.thickness_mm", files=BODY,
                              texts={"thickness.csv": "x_mm,y_mm,thickness_mm\n450,300,8.0\n"}),
    # notes and strings
    "note-twice": Broken(what="Note 49 stands twice.", file="notes.csv", column="note", row=4,
                         edits=notes("\n60,", "\n49,")),
    "note-missing": Broken(what="Note 43 was forgotten: the notes round it are there.", file="notes.csv", column="note",
                           texts={"notes.csv": DENSE}),
    "note-strange": Broken(what="sink.csv has a note that notes.csv has not.", file="sink.csv", column="note", row=4,
                           files=WITH["sink"], edits=(("sink.csv", "\n60,", "\n61,"),)),
    "note-unreached": Broken(what="scale.csv ends before the last note of the bridge.", file="scale.csv", column="note",
                             files=WITH["scale"], edits=(("scale.csv", "60,3,0.900,,\n", ""),)),
    "notes-missing": Broken(what="There is a scale, but no notes.", file="scale.csv", files=(*BODY, "scale.csv")),
    "columns-swapped": Broken(what="Speaking and back lengths have changed places.", file="notes.csv",
                              column="speaking_mm", row=2,
                              edits=notes("speaking_mm,rows_mm,back_mm", "back_mm,rows_mm,speaking_mm")),
    "length-uneven": Broken(what="A speaking length was misread: 239 for 390.", file="notes.csv", column="speaking",
                            edits=notes("390.0", "239.0")),
    "lift-off": Broken(what="A rear rest stands higher than the bridge.", file="notes.csv",
                       edits=notes("225.0,16.0,90.0,39.1,42.0,42.0,40.8", "225.0,16.0,90.0,39.1,42.0,42.0,44.8")),
    "tilted-top": Broken(what="The bridge top falls towards the rear more than the string does.", file="notes.csv",
                         edits=notes("39.1,42.0,42.0,40.8", "39.1,42.0,41.4,40.8")),
    "wire-over-strength": Broken(what="A wire of 0.9 mm would have to sound C4 on 1.1 m.", file="scale.csv",
                                 files=WITH["scale"], edits=notes("640.0", "1100.0"), also=("length-uneven",)),
    "wrap-incomplete": Broken(what="A wound string without what it is wound with.", file="scale.csv", column="outer_mm",
                              row=2, files=WITH["scale"], edits=(("scale.csv", "1.050,,", "1.050,2.0,"),)),
    "wrap-unknown": Broken(what="A string is wound with coper.", file="scale.csv", column="wrap", row=2,
                           files=WITH["scale"], edits=(("scale.csv", "1.050,,", "1.050,2.0,coper"),)),
    "plan-disagrees": Broken(what="A speaking length is 5 mm longer than in plan.", file="notes.csv",
                             column="speaking", files=ALL_STRINGS, edits=notes("390.0", "395.0")),
    # targets, sink, preload, readings
    "target-form": Broken(what="A target is given as an angle and as a block.", file="targets.csv", column="block_mm",
                          row=2, files=WITH["targets"], edits=(("targets.csv", "1.2,,", "1.2,1.5,"),)),
    "target-place": Broken(what="A target is for a section and for a note.", file="targets.csv", column="section",
                           row=2, files=WITH["targets"], edits=(("targets.csv", "middle,,", "middle,49,"),)),
    "target-strange": Broken(what="A target is for a section that no note is in.", file="targets.csv",
                             column="section", row=2, files=WITH["targets"],
                             edits=(("targets.csv", "middle", "midle"),)),
    "target-states": Broken(what="One target is for the bare board, the others for the strung one.", file="targets.csv",
                            column="state", row=3, files=WITH["targets"],
                            texts={"targets.csv": "section,note,net_deg,state\n,40,1.2,bare\n,60,1,\n"}),
    "target-twice": Broken(what="A section has two targets.", file="targets.csv", column="section", row=3,
                           files=WITH["targets"],
                           edits=(("targets.csv", "1.2,,,,0.5\n", "1.2,,,,0.5\nmiddle,,1.4,,,,0.5\n"),)),
    "strung-notes": Broken(what="The heights are of a part-strung board, and the range of notes runs downwards.",
                           file="board.toml", column="measured.strung",
                           edits=toml('state = "bare"', 'state = "part-strung"\nstrung = "44-1"')),
    "push-form": Broken(what="A push has a force and a sink.", file="preload.csv", column="force_N", row=2,
                        files=(*ALL_STRINGS, "preload.csv"), edits=(("preload.csv", "200,", "200,0.5"),)),
    "push-place": Broken(what="A push has no place.", file="preload.csv", column="x_mm", row=2,
                         files=(*ALL_STRINGS, "preload.csv"), edits=(("preload.csv", ",49,", ",,"),)),
    "note-without-place": Broken(what="A push at a note, but no string plan says where that is.", file="preload.csv",
                                 column="note", row=2, files=(*STRINGS, "preload.csv")),
    "trial-form": Broken(what="A load of a press trial has no place.", file="trials.csv", column="force_N", row=2,
                         files=BODY, texts={"trials.csv": TRIALS.replace("300,200,100,", ",,100,")}),
    "trial-rises": Broken(what="A dial under a load reads a change of height instead of the sink.", file="trials.csv",
                          column="sink_mm", row=2, files=BODY, texts={"trials.csv": TRIALS.replace("0.2", "-0.2")}),
    "trial-outside": Broken(what="A dial stands beside the board.", file="trials.csv", column="read_x_mm", row=2,
                            files=BODY, texts={"trials.csv": TRIALS.replace("300,200,0.2", "300,2000,0.2")}),
    "scan-point-place": Broken(what="A point of a scan has no place on the board.", file="scan_points.csv", row=3,
                               column="x_mm", files=BODY,
                               texts={"scan_points.csv": SCAN_POINTS.replace(",500,100", ",,")}),
    "scan-points-few": Broken(what="Two points are named, which cannot lay a scan.", file="scan_points.csv", row=2,
                              files=BODY, texts={"scan_points.csv": SCAN_POINTS.rpartition("3,4")[0]}),
    "reading-form": Broken(what="An angle stands in the column of lengths.", file="readings.csv", column="angle_deg",
                           row=3, files=WITH["readings"],
                           edits=(("readings.csv", "front_deg,49,,,,0.7", "front_deg,49,,,0.7,"),)),
    "sink-rises": Broken(what="The change of height was typed instead of the sink.", file="sink.csv", column="strung",
                         files=WITH["sink"], edits=(("sink.csv", "0.5,1.1", "0.5,-1.1"),)),
    "sink-large": Broken(what="Millimetres were typed under a header in inches.", file="sink.csv", column="strung",
                         files=WITH["sink"], edits=(("sink.csv", "strung_mm", "strung_in"),)),
    # the plate
    "limits-reversed": Broken(what="The lowest and the highest move of a support have changed places.",
                              file="supports.csv", column="lowest_move_mm", row=2, files=WITH["supports"],
                              edits=(("supports.csv", "-3,3\n2", "3,-3\n2"),)),
    "name-twice": Broken(what="Two supports have one name.", file="supports.csv", column="support", row=3,
                         files=WITH["supports"], edits=(("supports.csv", "\n2,", "\n1,"),)),
    "strut-without-length": Broken(what="A strut ends where it starts.", file="struts.csv", column="end_x_mm", row=2,
                                   files=WITH["struts"], edits=(("struts.csv", "520,600", "520,0"),)),
    # the body
    "outline-missing": Broken(what="There are ribs, but no outline.", file="ribs.csv", files=(*STRINGS, "ribs.csv")),
    "outline-open": Broken(what="The outline has two corners.", file="outline.csv", files=BODY,
                           texts={"outline.csv": "x_mm,y_mm\n0,0\n900,0\n"}),
    "outline-crossing": Broken(what="Two corners have changed places, so that sides cross.", file="outline.csv",
                               files=BODY, texts={"outline.csv": "x_mm,y_mm\n0,0\n900,600\n900,0\n0,700\n"}),
    "point-twice": Broken(what="A corner of the outline stands twice.", file="outline.csv", column="x_mm", row=4,
                          files=BODY, edits=(("outline.csv", "900,0,\n", "900,0,\n900,0,\n"),)),
    "point-outside": Broken(what="The crown was measured outside the outline.", file="crown.csv", column="x",
                            files=BODY, texts={"crown.csv": "x_mm,y_mm,rise_mm\n300,300,2.0\n1600,300,2.0\n"}),
    "points-contradict": Broken(what="The thickness at one place is 1 mm in one row and 50 mm in another.",
                                file="thickness.csv", column="thickness_mm", row=3, files=BODY,
                                edits=toml("thickness_mm = 8.0\n", ""),
                                texts={"thickness.csv": "x_mm,y_mm,thickness_mm\n300,300,1\n300,300,50\n0,0,8\n"}),
    "outline-size": Broken(what="The outline was typed in mm under a header in cm.", file="outline.csv", files=BODY,
                           texts={"outline.csv": "x_cm,y_cm\n0,0\n490,0\n490,400\n0,400\n"}),
    "rib-off-board": Broken(what="A rib lies wholly beside the board.", file="ribs.csv", files=BODY,
                            edits=(("ribs.csv", "2,600,0,600,600", "2,1200,0,1200,600"),)),
    "rib-outside": Broken(what="A rib runs 150 mm beyond the outline.", file="ribs.csv", column="end_x", files=BODY,
                          edits=(("ribs.csv", "2,600,0,600,600", "2,600,0,600,750"),)),
    "rib-along-grain": Broken(what="The grain is counted from y instead of x, so that the ribs lie along it.",
                              file="board.toml", column="panel.grain_deg", files=BODY,
                              edits=toml("grain_deg = 0", "grain_deg = 90")),
    "rib-without-length": Broken(what="A rib ends where it starts.", file="ribs.csv", column="end_x_mm", row=2,
                                 files=BODY, edits=(("ribs.csv", "300,0,300,600", "300,0,300,0"),)),
    "feather-too-long": Broken(what="The feathers are longer than the rib.", file="ribs.csv", column="start_feather_mm",
                               row=2, files=BODY,
                               edits=(("ribs.csv", "120,120,,sugar_pine\n2", "400,400,,sugar_pine\n2"),)),
    "end-too-high": Broken(what="A rib is higher at its end than in its middle.", file="ribs.csv",
                           column="start_height_mm", row=2, files=BODY,
                           edits=(("ribs.csv", "1,300,0,300,600,25,22,6,6", "1,300,0,300,600,25,22,26,6"),)),
    "radius-too-small": Broken(what="The crown radius is 1.8 m for 18 m, on a rib of 4 m.", file="ribs.csv",
                               column="radius_mm", row=2, files=BODY,
                               edits=(("ribs.csv", "1,300,0,300,600", "1,300,-3400,300,600"),
                                      ("ribs.csv", "120,120,,sugar_pine\n2", "120,120,1800,sugar_pine\n2"))),
    "bridge-one-point": Broken(what="A bridge has one point.", file="bridges.csv", column="bridge", row=3, files=BODY,
                               edits=(("bridges.csv", "\nlong,700", "\nbass,700"),), also=()),
    "bridge-of-two-woods": Broken(what="A bridge has two woods.", file="bridges.csv", column="wood", row=3, files=BODY,
                                  edits=(("bridges.csv", "700,400,32,22,12,2.5,sugar_maple",
                                          "700,400,32,22,12,2.5,european_beech"),)),
    "notch-too-deep": Broken(what="A notch is deeper than root and cap.", file="bridges.csv", column="notch_mm", row=2,
                             files=BODY, edits=(("bridges.csv", "200,400,32,22,12,2.5", "200,400,32,10,2,25"),)),
    "bridge-outside": Broken(what="A bridge runs off the board.", file="bridges.csv", column="x", files=BODY,
                             edits=(("bridges.csv", "long,700,400", "long,1700,400"),)),
    "bridge-unknown": Broken(what="notes.csv calls the bridge log, bridges.csv calls it long.", file="notes.csv",
                             column="bridge", files=(*BODY, "notes.csv"),
                             edits=notes("middle,long,390", "middle,log,390")),
    "pins-off-bridge": Broken(what="The bridge stands 60 mm in front of its pins.", file="string_plan.csv",
                              column="front_pin_x", files=(*BODY, *ALL_STRINGS),
                              edits=(("bridges.csv", "long,200,400", "long,200,340"),
                                     ("bridges.csv", "long,700,400", "long,700,340"))),
    "pin-outside": Broken(what="Two front pins stand beyond the tail, on a board without bridges.",
                          file="string_plan.csv", column="front_pin_x",
                          files=("board.toml", "outline.csv", *ALL_STRINGS), also=("plan-disagrees",),
                          edits=(("string_plan.csv", "450,392,450,408", "450,692,450,708"),
                                 ("string_plan.csv", "600,392,600,408", "600,692,600,708"))),
    "bridge-height-disagrees": Broken(what="Heights were measured from the key bed, not from the glue line.",
                                      file="notes.csv", column="bridge_front", files=(*BODY, *ALL_STRINGS),
                                      edits=notes("33.6,42.0,42.0,40.8", "183.6,192.0,192.0,190.8")),
}  # fmt: skip


def written(home: Path, code: str) -> Path:
    """Write one of the folders."""
    case, folder = BROKEN[code], home / code
    texts = {name: TEXTS[name] for name in case.files if name not in case.without}
    for name, old, new in case.edits:
        if old not in texts[name]:
            raise ValueError(f"{code}: {name} holds no {old!r}.")
        texts[name] = texts[name].replace(old, new)
    texts |= case.texts | {"README.md": f"{case.what} `bellywork check` finds `{code}`.\n"}
    for name, text in texts.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
    if code in ("formula-without-value", "table-twice"):
        _workbook(folder / "scale.xlsx", "=2*0.525" if code == "formula-without-value" else 1.05)
    if code == "cell-far-out":
        _workbook(folder / "scale.xlsx", 1.05, far=True)
    return folder


def _workbook(path: Path, cell: object, *, far: bool = False) -> None:
    from openpyxl import Workbook

    book = Workbook()
    for row in (("note", "unisons", "wire_mm"), (40, 3, cell), (49, 3, 0.975), (60, 3, 0.9)):
        book.active.append(row)
    if far:
        book.active["A1048576"] = 60
    book.save(path)


if __name__ == "__main__":
    shutil.rmtree(HOME, ignore_errors=True)
    for each in BROKEN:
        written(HOME, each)
