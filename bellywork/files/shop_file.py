"""The file of a shop's memory: written by `learn`, named in board.toml."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from bellywork.board.shop import Shop
from bellywork.errors import BoardError
from bellywork.files.columns import TOML
from bellywork.files.settings import document_of
from bellywork.files.sources import Sources
from bellywork.files.write import MARK
from bellywork.findings import Place

FORMAT = "bellywork-shop/1"
MOST_BOARDS = 1000


def shop_text(shop: Shop) -> str:
    """The file of a shop's memory, TOML."""
    rows = ",\n".join(f"  {row}" for row in shop.covariance.tolist())
    return (
        f"{MARK} {FORMAT}, made by 'bellywork learn' and made anew by it: nothing here is typed by hand.\n"
        f'format = "{FORMAT}"\n'
        f"boards = {_words(shop.boards)}\n"
        f"woods = {_words(shop.woods)}\n"
        "# natural logarithms of the factors on a described board's moduli and rim; how far the next may differ\n"
        f"unknowns = {_words(shop.keys)}\n"
        f"mean = {shop.mean.tolist()}\n"
        f"covariance = [\n{rows},\n]\n"
    )


def _words(words: tuple[str, ...]) -> str:
    return json.dumps(list(words), ensure_ascii=False)  # TOML's basic strings are JSON's, but for what names never hold


def shop_beside(sources: Sources, name: str) -> tuple[Shop | None, Sources]:
    """The shop's memory in a file that a board's folder names, and the source that was read for it; None, with a
    finding, where it is no such file.
    """
    path, gathered = sources.folder / name, sources.gathered
    its = Sources(path.parent, gathered)
    place = Place(file=TOML, column="shop.file")
    if not path.is_file():
        gathered.add("shop-unreadable", place, f"no file '{name}'", "a file that 'bellywork learn' wrote",
                     "It counts from the board's folder: check it, or make it with 'bellywork learn'.")  # fmt: skip
        return None, its
    document = document_of(its, path.name)
    if document is None:
        return None, its
    try:
        return _shop(document), its
    except (BoardError, KeyError, TypeError, ValueError) as error:
        gathered.add("shop-unreadable", place, f"'{name}', in which something is amiss ({_said(error)})",
                     "a file that 'bellywork learn' wrote", "Make it anew with 'bellywork learn'.")  # fmt: skip
        return None, its


def _said(error: Exception) -> str:
    return f"no {error}" if isinstance(error, KeyError) else str(error).rstrip(".")


def _shop(document: dict[str, Any]) -> Shop:
    if document.get("format") != FORMAT:
        raise ValueError(f"format {document.get('format')!r} where {FORMAT!r} stands")
    shop = Shop(
        mean=np.array(document["mean"], dtype=float),
        covariance=np.array(document["covariance"], dtype=float),
        **{name: tuple(str(word) for word in document[field]) for name, field in _LISTS.items()},
    )
    spread = shop.covariance
    if not 0 < len(shop.boards) <= MOST_BOARDS:
        raise ValueError(f"{len(shop.boards)} boards")
    if not (np.all(np.isfinite(spread)) and np.all(np.abs(shop.mean) < 3.0) and np.allclose(spread, spread.T)):
        raise ValueError("numbers that no boards teach")
    if np.linalg.eigvalsh(spread).min() <= 0.0 or len(set(shop.keys)) < len(shop.keys):
        raise ValueError("a covariance that is none")
    return shop


_LISTS = {"boards": "boards", "woods": "woods", "keys": "unknowns"}
