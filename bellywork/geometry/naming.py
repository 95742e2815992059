"""Notes in words, for sentences in results."""

from __future__ import annotations

from collections.abc import Sequence

from bellywork.conventions import note_name


def notes_in_words(notes: Sequence[int]) -> str:
    """Notes in words, each unbroken run by its first and last.

    >>> notes_in_words([1, 2, 3, 40])
    'notes 1 to 3 (A0 to B0) and note 40 (C4)'
    """
    words = [
        f"note {first} ({note_name(first)})"
        if first == last
        else f"notes {first} to {last} ({note_name(first)} to {note_name(last)})"
        for first, last in runs_of(notes)
    ]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def runs_of(notes: Sequence[int]) -> list[tuple[int, int]]:
    """First and last note of each unbroken run.

    >>> runs_of([1, 2, 3, 40])
    [(1, 3), (40, 40)]
    """
    runs: list[tuple[int, int]] = []
    for note in notes:
        if runs and note == runs[-1][1] + 1:
            runs[-1] = runs[-1][0], note
        else:
            runs.append((note, note))
    return runs
