"""Notes in words, for sentences in results."""

from __future__ import annotations

from collections.abc import Sequence

from bellywork.conventions import note_name


def notes_in_words(notes: Sequence[int]) -> str:
    """Notes in words, each unbroken run by its first and last.

    >>> notes_in_words([1, 2, 3, 40])
    'notes 1 to 3 (A0 to B0) and note 40 (C4)'
    """
    runs: list[list[int]] = []
    for note in notes:
        if runs and note == runs[-1][-1] + 1:
            runs[-1].append(note)
        else:
            runs.append([note])
    words = [
        f"note {run[0]} ({note_name(run[0])})"
        if len(run) == 1
        else f"notes {run[0]} to {run[-1]} ({note_name(run[0])} to {note_name(run[-1])})"
        for run in runs
    ]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)
