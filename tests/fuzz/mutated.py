"""Board folders spoiled at random, and what the commands say of them: python tests/fuzz/mutated.py --folders 10000

No spoiled folder may bring a traceback, an exit code outside 0, 1 and 2, a NaN or infinity in the answer, or a control
character on its way to the terminal. Each folder follows from a seed alone, which is printed where it fails.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import random
import re
import sys
import tempfile
import time
import traceback
import warnings
import zipfile
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path

from openpyxl import Workbook

from bellywork.cli.main import main

SAMPLES = Path(__file__).resolve().parents[2] / "sample_boards"
SMALL = Path(__file__).resolve().parents[1] / "files" / "small_board"
# The small board has every table but four; the others bring inches, the rest of the tables, and a body alone
BOARDS = (SMALL, SMALL, SMALL, SAMPLES / "string_line_inches", SAMPLES / "press_trial", SAMPLES / "lopsided_board")
SAVED = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
NUMBERS = (
    "", " ", "0", "-1", "1e308", "-1e308", "1e-320", "nan", "inf", "-inf", "NaN", "1,5", "1.234.567", "1,234", "3/8",
    "5 1/0", "9" * 400, "9" * 400 + "/7", "0x10", "1_000", "½", "١٢", "−3", "true", "2026-02-30",
)  # fmt: skip
ODD = (
    *NUMBERS, "=1+1", "@x", "+x", "'", '"', '""', "a\x1b[31mb", "\x00", "\x07", "\u202e", "\ufeff", "𝒳", "C♯4", "Cb1",
    "A0", "C8", "C9", "88", "89", "../..", "<script>", "{{data}}", "x" * 5000, "a.b" * 50, "\n", "\r", "\t", ";", "|",
)  # fmt: skip
RAW = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
Texts = dict[str, str]
Draw = random.Random


def lines_of(texts: Texts, draw: Draw, ending: str) -> tuple[str, list[str]] | None:
    names = [name for name in texts if name.endswith(ending)]
    if not names:
        return None
    name = draw.choice(names)
    return name, texts[name].split("\n")


def spoil_cell(texts: Texts, draw: Draw) -> None:
    """Another content for one cell, or two cells of a row changed round."""
    found = lines_of(texts, draw, ".csv")
    if found:
        name, lines = found
        k = draw.randrange(len(lines))
        cells = lines[k].split(",")
        i, j = draw.randrange(len(cells)), draw.randrange(len(cells))
        if draw.random() < 0.3:
            cells[i], cells[j] = cells[j], cells[i]
        else:
            cells[i] = draw.choice(ODD)
        lines[k] = ",".join(cells)
        texts[name] = "\n".join(lines)


def spoil_number(texts: Texts, draw: Draw) -> None:
    """A number of another size, sign or kind, in a table or in board.toml."""
    name = draw.choice(list(texts))
    places = list(NUMBER.finditer(texts[name]))
    if places:
        place = draw.choice(places)
        value = float(place[0])
        new = draw.choice([f"{value * draw.choice([-1, 0, 0.001, 0.1, 10, 25.4, 1000, 1e9]):.9g}", draw.choice(ODD)])
        texts[name] = texts[name][: place.start()] + new + texts[name][place.end() :]


def spoil_column(texts: Texts, draw: Draw) -> None:
    """A column scaled, shifted, emptied or taken away, header and all."""
    found = lines_of(texts, draw, ".csv")
    if found:
        name, lines = found
        k = draw.randrange(len(lines[0].split(",")))
        how = draw.choice(("scale", "shift", "empty", "drop"))
        by = draw.choice([-1, 0, 0.001, 0.04, 0.5, 2, 25.4, 1000])
        for row in range(0 if how == "drop" else 1, len(lines)):
            cells = lines[row].split(",")
            if k >= len(cells):
                continue
            if how == "drop":
                del cells[k]
            elif how == "empty":
                cells[k] = ""
            else:
                with contextlib.suppress(ValueError):
                    cells[k] = f"{float(cells[k]) * by if how == 'scale' else float(cells[k]) + 50 * by:.9g}"
            lines[row] = ",".join(cells)
        texts[name] = "\n".join(lines)


def spoil_header(texts: Texts, draw: Draw) -> None:
    """A header misspelt, without its unit, in another unit, twice, or odd."""
    found = lines_of(texts, draw, ".csv")
    if found:
        name, lines = found
        names = lines[0].split(",")
        k = draw.randrange(len(names))
        stem, _, _ = names[k].rpartition("_")
        names[k] = draw.choice([names[k].upper(), names[k][1:], stem, f"{stem}_in", f"{stem}_deg", f"{stem}_furlong",
                                draw.choice(names), "remark", draw.choice(ODD)])  # fmt: skip
        texts[name] = "\n".join([",".join(names), *lines[1:]])


def spoil_rows(texts: Texts, draw: Draw) -> None:
    """A row twice, away or moved; the header away; all rows away."""
    found = lines_of(texts, draw, ".csv")
    if found:
        name, lines = found
        k = draw.randrange(len(lines))
        how = draw.choice(("twice", "away", "shuffle", "header", "none"))
        if how == "twice":
            lines.insert(k, lines[k])
        elif how == "away":
            del lines[k]
        elif how == "shuffle":
            draw.shuffle(lines)
        elif how == "header":
            del lines[0]
        else:
            del lines[1:]
        texts[name] = "\n".join(lines)


def spoil_file(texts: Texts, draw: Draw) -> None:
    """A file away, empty, another's content, or with other separators, line ends or leading bytes."""
    name = draw.choice(list(texts))
    how = draw.choice(("away", "empty", "other", "separator", "ends", "start", "half"))
    if how == "away" and len(texts) > 1:
        del texts[name]
    elif how == "empty":
        texts[name] = ""
    elif how == "other":
        texts[name] = texts[draw.choice(list(texts))]
    elif how == "separator":
        texts[name] = texts[name].replace(",", draw.choice([";", "\t", "|", ", "]))
    elif how == "ends":
        texts[name] = texts[name].replace("\n", draw.choice(["\r\n", "\r", "\n\n", ""]))
    elif how == "start":
        texts[name] = draw.choice(ODD) + texts[name]
    else:
        texts[name] = texts[name][: draw.randrange(len(texts[name]) + 1)]


def spoil_toml(texts: Texts, draw: Draw) -> None:
    """A key of board.toml misspelt, away, twice, or with another value; a section more."""
    lines = texts.get("board.toml", "").split("\n")
    k = draw.randrange(len(lines))
    key, sign, _ = lines[k].partition(" = ")
    word = json.dumps(draw.choice(ODD), ensure_ascii=draw.random() < 0.5)
    value = draw.choice([word, draw.choice(ODD), "[1, 2]", "{a = 1}", "2026-01-01", "-5", "1e999", "true"])
    new = [
        f"{key[:-1]}{sign}1",
        "",
        f"{lines[k]}\n{lines[k]}",
        f"{key} = {value}",
        f"[{key.strip('[]')}.x]",
        f"{key}_in = 3",
    ]
    lines[k] = draw.choice(new)
    if draw.random() < 0.2:
        lines.append(
            draw.choice([f"[woods.{draw.choice(['mine', word])}]", "[rim.kinds.mine]", "[making]", "[planing]"])
        )
        lines.append(
            draw.choice(["E_L_GPa = 11", 'like = "sitka_spruce"', "vertical_N_mm2 = inf", 'crown = "ribs"', ""])
        )
    texts["board.toml"] = "\n".join(lines)


SPOILERS: tuple[Callable[[Texts, Draw], None], ...] = (
    spoil_cell, spoil_number, spoil_column, spoil_header, spoil_rows, spoil_file, spoil_toml,
)  # fmt: skip


def written(folder: Path, seed: int) -> Path:
    """The spoiled folder of a seed: one to three things wrong with it, some of its tables as workbooks."""
    draw = random.Random(seed)
    home = draw.choice(BOARDS)
    texts = {
        path.name: path.read_text(encoding="utf-8")
        for path in sorted(home.iterdir())
        if path.suffix in (".toml", ".csv")
    }
    for _ in range(draw.choice((1, 1, 2, 3))):
        draw.choice(SPOILERS)(texts, draw)
    folder.mkdir()
    tables = [name for name in texts if name.endswith(".csv")]
    if tables and draw.random() < 0.1:
        for name in tables if draw.random() < 0.3 else [draw.choice(tables)]:
            workbook(folder / f"{name[:-4]}.xlsx", texts.pop(name), draw)
    for name, text in texts.items():
        data = text.encode("utf-8", errors="surrogatepass")
        if draw.random() < 0.01:
            data = bytes(draw.randrange(256) if draw.random() < 0.02 else each for each in data)
        (folder / name).write_bytes(data)
    return folder


def workbook(path: Path, text: str, draw: Draw) -> None:
    """A table as a workbook: numbers as numbers, some cells far out, some bytes wrong."""
    book = Workbook()
    for number, line in enumerate(text.split("\n"), start=1):
        for column, cell in enumerate(line.split(",")[:60], start=1):
            if cell:
                with contextlib.suppress(Exception):  # what no workbook can hold, none will bring
                    book.active.cell(number, column, float(cell) if NUMBER.fullmatch(cell) else cell)
    if draw.random() < 0.1:
        book.active.cell(draw.choice([10, 5000, 1_048_576]), draw.choice([1, 60, 16_384]), draw.choice(NUMBERS))
    book.save(path)
    _undated(path)
    if draw.random() < 0.2:
        data = bytearray(path.read_bytes())
        for _ in range(draw.choice((1, 20, 400))):
            data[draw.randrange(len(data))] = draw.randrange(256)
        path.write_bytes(data[: draw.randrange(len(data))] if draw.random() < 0.3 else data)


def _undated(path: Path) -> None:
    """Take the time of saving out of a workbook: a folder follows from its seed alone."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: SAVED.sub(b"2026-01-01T00:00:00Z", archive.read(name)) for name in archive.namelist()}
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)


def amiss(words: Sequence[str]) -> tuple[int | None, str]:
    """The exit code of a command run in this process, and what it does that it must not; empty where nothing is."""
    out, err = io.StringIO(), io.StringIO()
    code: int | None = None
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), warnings.catch_warnings():
            warnings.simplefilter("error")
            code = main(words)
    except BaseException:
        return code, traceback.format_exc()
    told = out.getvalue() + err.getvalue()
    if code not in (0, 1, 2):
        return code, f"exit code {code}"
    if code == 2 and not err.getvalue().strip() and not out.getvalue().strip():
        return code, "unusable, and nothing is said"
    if raw := RAW.search(told):
        return code, f"a raw {raw[0]!r} in {told[max(raw.start() - 60, 0) : raw.end() + 20]!r}"
    if "--json" in words and code < 2:
        try:
            json.loads(out.getvalue(), parse_constant=_no_constant)
        except ValueError as error:
            return code, f"no JSON: {error}"
    elif words[0] != "check" and re.search(r"\b(nan|inf)\b", out.getvalue()):
        return code, f"a NaN or infinity in the answer: {re.search(r'.*(nan|inf).*', out.getvalue())}"
    return code, ""


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no JSON")


def commands(folder: Path, seed: int) -> list[list[str]]:
    """What is asked of each folder: always to check it, and one answer in two ways."""
    asked = ["bearing", str(folder), "--all", *(["--units", "in"] if seed % 3 == 0 else [])]
    return [["check", str(folder), *(["--json"] if seed % 2 else [])], [*asked, *(["--json"] if seed % 4 == 0 else [])]]


def run(first: int, folders: int) -> tuple[Counter[str], list[str]]:
    """Spoil and ask so many folders from a seed on; how often each exit code came, and what was amiss."""
    codes: Counter[str] = Counter()
    bad = []
    with tempfile.TemporaryDirectory() as home:
        for seed in range(first, first + folders):
            folder = written(Path(home) / str(seed), seed)
            for words in commands(folder, seed):
                start = time.perf_counter()
                code, what = amiss(words)
                codes[f"{words[0]} {code}"] += 1
                if not what and time.perf_counter() - start > LONGEST_S:
                    what = f"it took {time.perf_counter() - start:.1f} s"
                if what:
                    bad.append(f"seed {seed}, {words[0]}: {what}")
            for path in folder.iterdir():
                path.unlink()
            folder.rmdir()
    return codes, bad


LONGEST_S = 20.0

if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folders", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=0)
    asked = parser.parse_args()
    codes, bad = run(asked.seed, asked.folders)
    print("\n\n".join(bad))
    print(f"{asked.folders} folders from seed {asked.seed}: {dict(sorted(codes.items()))}; {len(bad)} amiss")
    sys.exit(bool(bad))
