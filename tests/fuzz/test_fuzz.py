"""A short run over spoiled folders; the long one is run by hand: python tests/fuzz/mutated.py --folders 10000"""

from mutated import run, written


def test_no_spoiled_folder_brings_a_traceback_or_a_wrong_word():
    """The seeds are drawn once: those after the long run's."""
    codes, bad = run(1_000_000, 60)
    assert not bad, "\n\n".join(bad)
    assert {words.split()[1] for words in codes} == {"0", "1", "2"}  # the draw reaches all of them


def test_a_folder_follows_from_its_seed(tmp_path):
    one, other = (written(tmp_path / name, 7) for name in ("one", "other"))
    assert [path.read_bytes() for path in sorted(one.iterdir())] == [
        path.read_bytes() for path in sorted(other.iterdir())
    ]
