"""The set of all ribs as one field. Kinds of expected numbers: Monte Carlo with sets of shapes that are not the field's
own (a half sine, a beam's shape under an even load, dishes, an S), seeds fixed before the result was seen; another path
to the same normal law; invariants."""

from dataclasses import replace

import numpy as np
import pytest

from bellywork.estimate.inference import SIGMAS
from bellywork.survey.set_field import Lacking, RibLine, SetField

SHARES = np.array([0.0, 0.14, 0.3, 0.45, 0.58, 0.72, 0.86, 1.0])
LENGTHS = np.array([476.0, 638.0, 791.0, 957.0, 1138.0, 1044.0])
MADE = LENGTHS**2 / 8.0 / 14_000.0
RIBS = tuple(
    RibLine(
        name=str(k), middle_mm=np.array([130.0 * k, 300.0 + 20.0 * k]), way=np.array([0.0, 1.0]), length_mm=length,
        made_mm=made,
    )
    for k, (length, made) in enumerate(zip(LENGTHS, MADE))
)  # fmt: skip


def dish(width: float):
    """A hollow about 0.55 of the span, e-fold half width as a share of it; 1 in the middle, 0 at the ends."""

    def hollow(x):
        return np.exp(-(((x - 0.55) / width) ** 2))

    def over(x):
        return hollow(x) - (1.0 - x) * hollow(0.0) - x * hollow(1.0)

    return lambda x: over(x) / over(0.5)


SHAPES = {
    "arc": lambda x: 4.0 * x * (1.0 - x),
    "half sine": lambda x: np.sin(np.pi * x),
    "even load": lambda x: 3.2 * x * (1.0 - 2.0 * x**2 + x**3),
    "wide dish": dish(0.20),
    "narrow dish": dish(0.14),
    "S": lambda x: 4.0 * x * (1.0 - x) + 1.2 * np.sin(2.0 * np.pi * x),
}


def survey(
    random: np.random.Generator,
    shape,
    *,
    told: float = 0.25,
    real: float = 0.25,
    states: int = 2,
    read=range(6),
    misread: int = 0,
) -> tuple[np.ndarray, Lacking, np.ndarray]:
    """Set of each rib, what was read of it, and which readings are 2 mm off."""  # fmt: skip
    lost = random.uniform(0.05, 0.7) * MADE * np.exp(random.normal(0.0, 0.6, len(MADE)))
    rib = np.tile(np.repeat(np.array(read), len(SHARES)), states)
    thread = np.repeat(np.arange(states * len(read)), len(SHARES))
    share = np.tile(SHARES, states * len(read))
    gone = lost[rib] * shape(share) + random.normal(0.0, real / SIGMAS, len(rib))
    wrong = np.zeros(len(rib), bool)
    wrong[random.choice(len(rib), misread, replace=False)] = True
    gone[wrong] += 2.0 * random.choice([-1.0, 1.0], misread)
    return lost, lacking(rib, thread, share, gone, told), wrong


def lacking(rib, thread, share, gone, told: float = 0.25) -> Lacking:
    made = 4.0 * share * (1.0 - share) * MADE[rib]
    return Lacking(
        rib=rib, thread=thread, at=2.0 * share - 1.0, ends=np.tile([-1.0, 1.0], (thread.max() + 1, 1)), share=share,
        free=np.ones(thread.max() + 1, bool), gone_mm=gone, read_mm=made - gone,
        scatter_mm=np.full(len(rib), told / SIGMAS), doubt_mm=np.zeros((len(rib), 1)), covariance=np.zeros((1, 1)),
        shared=np.zeros((1, len(rib))),
    )  # fmt: skip


def middles(field: SetField) -> tuple[np.ndarray, np.ndarray]:
    """Set of every rib's middle and its 95 % half width."""
    lost, sure, _ = field.told(np.arange(6), np.zeros(6), np.eye(6))
    return lost, SIGMAS * sure


def held(name: str, boards: int, seed: int, **how) -> dict[str, float]:
    """Shares of many surveys: of ribs in their bands, read and unread, of good readings set aside, of wrong found."""
    random, inside, thrown, found = np.random.default_rng(seed), [], [], []
    for _ in range(boards):
        lost, read, wrong = survey(random, SHAPES[name], **how)
        field = SetField.of(RIBS, read)
        told, wide = middles(field)
        inside.append(np.abs(told - lost) <= wide)
        thrown.append(~field.kept[~wrong])
        found.append(~field.kept[wrong])
    seen = np.isin(np.arange(6), list(how.get("read", range(6))))
    return {
        "read": float(np.mean(np.array(inside)[:, seen])),
        "unread": float(np.mean(np.array(inside)[:, ~seen])) if not seen.all() else np.nan,
        "thrown": float(np.mean(np.concatenate(thrown))),
        "found": float(np.mean(np.concatenate(found))) if how.get("misread") else np.nan,
    }


@pytest.mark.parametrize("name", SHAPES)
def test_the_band_holds_a_set_of_any_shape_and_no_good_reading_is_set_aside(name: str) -> None:
    """The narrow dish is a fifth of the span wide, read every seventh of it: it is deepest between two readings."""
    share = held(name, 16, 20261203)
    assert share["read"] >= 0.90
    assert share["thrown"] <= 0.002


def test_misreadings_are_found_where_two_states_were_read() -> None:
    """Where a dish is as narrow as the places are apart, nothing may tell which of two states is wrong: then as many
    good readings may go as wrong ones, three of ninety-six."""
    for name, thrown in (("even load", 0.01), ("narrow dish", 0.03)):
        share = held(name, 16, 20261204, misread=3)
        assert share["found"] >= 0.85
        assert share["thrown"] <= thrown
        assert share["read"] >= 0.90


def test_of_ribs_that_nobody_read_the_band_says_how_little_is_known() -> None:
    share = held("even load", 40, 20261205, read=(1, 3))
    assert 0.85 <= share["unread"] < 1.0
    _, read, _ = survey(np.random.default_rng(3), SHAPES["arc"], read=(1, 3))
    _, wide = middles(SetField.of(RIBS, read))
    assert np.all(wide[[0, 2, 4, 5]] > 2.0 * wide[[1, 3, 1, 3]])


def test_a_reader_who_scatters_twice_as_much_as_he_says_is_found_out() -> None:
    random = np.random.default_rng(20261206)
    loose, calm = (
        [SetField.of(RIBS, survey(random, SHAPES["half sine"], real=real)[1]) for _ in range(8)] for real in (0.5, 0.25)
    )
    assert 1.6 < np.median([field.looser for field in loose]) < 2.4
    assert np.mean([field.looser > 1.0 for field in calm]) <= 0.25
    assert np.mean([(~field.kept).sum() for field in loose]) < 1.0


def test_a_slanted_or_lifted_thread_and_another_order_change_nothing() -> None:
    lost, read, _ = survey(np.random.default_rng(5), SHAPES["S"], misread=1)
    slanted = read.gone_mm + np.where(read.thread == 2, 1.5 - 4.0 * read.share, 0.0)
    order = np.random.default_rng(1).permutation(len(read.rib))
    mixed = replace(
        read,
        **{name: getattr(read, name)[order] for name in ("rib", "thread", "at", "share", "gone_mm", "read_mm",
                                                         "scatter_mm", "doubt_mm")},
    )  # fmt: skip
    for other in (replace(read, gone_mm=slanted), mixed):
        np.testing.assert_allclose(middles(SetField.of(RIBS, other)), middles(SetField.of(RIBS, read)), atol=2e-3)
    assert np.all(np.abs(middles(SetField.of(RIBS, read))[0] - lost) < 1.0)


def doubted(read: Lacking, random: np.random.Generator) -> Lacking:
    """Threads that do not reach the rims; load and air known to a tenth, in shapes of their own, half of the threads
    bare, and known from these very readings; some threads held by their ends."""
    load = np.where(read.thread < 6, 0.0, 1.0) * np.sin(np.pi * read.share)
    return replace(
        read,
        at=-0.8 + 1.5 * read.share,
        ends=np.tile([-0.8, 0.7], (12, 1)),
        doubt_mm=np.column_stack([load, 4.0 * read.share * (1.0 - read.share) * (read.thread % 2)]),
        covariance=np.array([[0.04, 0.01], [0.01, 0.09]]),
        shared=random.normal(0.0, 3e-3, (2, len(read.rib))),
        free=np.arange(12) % 3 > 0,
    )


def test_set_and_band_are_those_of_the_whole_normal_law() -> None:
    """Another path: set at every place read and asked and at every thread's ends, where these lie, load, air and the
    readings' errors as unknowns of one normal law. The estimate is that law's, load and air taken to be known apart
    from the readings; its error is that of this estimate where they are not."""
    random = np.random.default_rng(7)
    read = doubted(survey(random, SHAPES["wide dish"])[1], random)
    field = SetField.of(RIBS, read)
    n, asked, kept = len(read.rib), (np.array([1, 4, 4]), np.array([0.1, -0.3, 0.0])), field.kept
    rib_of = np.array([read.rib[read.thread == k][0] for k in range(12)])
    places = (
        np.concatenate([read.rib, asked[0], np.repeat(rib_of, 2)]),
        np.concatenate([read.at, asked[1], read.ends.ravel()]),
    )
    sets, ends, laid, doubt = n + 3 + 24, n + 3 + 2 * read.thread, n + 27 + 2 * read.thread, n + 51
    prior = np.zeros((doubt + 2, doubt + 2))
    prior[:sets, :sets] = field._between(*places, *places)
    free = np.where(np.repeat(read.free, 2), 50.0, field.looser * read.scatter_mm[0])
    prior[sets:doubt, sets:doubt] = np.diag(free**2)
    prior[doubt:, doubt:] = read.covariance
    rows, row = np.zeros((n, len(prior))), np.arange(n)
    rows[row, row] = 1.0
    for part, sign in ((ends, -1.0), (laid, 1.0)):
        rows[row, part] += sign * (1.0 - read.share)
        rows[row, part + 1] += sign * read.share
    rows[:, doubt:] = -read.doubt_mm
    error = np.diag((field.looser * read.scatter_mm) ** 2)
    gain = np.linalg.solve(rows[kept] @ prior @ rows[kept].T + error[np.ix_(kept, kept)], rows[kept] @ prior)[
        :, n : n + 3
    ].T
    told, sure, alone = field.told(*asked, np.eye(3))
    np.testing.assert_allclose(told, gain @ read.gone_mm[kept], atol=1e-6)

    def wide(covariance: np.ndarray, shared: np.ndarray) -> np.ndarray:
        whole = np.zeros((len(prior) + n, len(prior) + n))
        whole[: len(prior), : len(prior)] = prior
        whole[doubt : doubt + 2, doubt : doubt + 2] = covariance
        whole[len(prior) :, len(prior) :] = error
        whole[doubt : doubt + 2, len(prior) :] = shared
        whole[len(prior) :, doubt : doubt + 2] = shared.T
        missed = np.zeros((3, len(whole)))
        missed[:, n : n + 3] = np.eye(3)
        missed[:, : len(prior)] -= gain @ rows[kept]
        missed[:, len(prior) + np.flatnonzero(kept)] += gain
        return np.sqrt(np.diag(missed @ whole @ missed.T))

    np.testing.assert_allclose(sure, wide(read.covariance, read.shared), rtol=1e-6)
    np.testing.assert_allclose(alone, wide(0.0 * read.covariance, 0.0 * read.shared), rtol=1e-6)
    assert np.max(np.abs(sure / wide(read.covariance, 0.0 * read.shared) - 1.0)) > 0.01


@pytest.mark.parametrize("damp", ["strung", "bare"])
def test_the_band_holds_where_the_same_threads_told_how_soft_the_board_is(damp: str) -> None:
    """Monte Carlo: softness and weather drawn as they are in doubt, estimated from bare less strung middles of the same
    ribs, and then used to free those threads of their load. Seed fixed beforehand."""
    random, sigma = np.random.default_rng(20261201), np.array([0.15, 0.2])
    bow = 4.0 * SHARES * (1.0 - SHARES)
    load, air = np.linspace(0.5, 1.8, 6), np.linspace(1.0, 2.2, 6) * (1.0 if damp == "bare" else -1.0)
    middle = np.linalg.pinv(np.column_stack([1.0 - SHARES, SHARES, bow]))[2]  # the bow of a thread, ends free
    back = np.column_stack([load, air])
    wide, inside = 0.25 / SIGMAS, []
    for _ in range(60):
        lost, read, _ = survey(random, SHAPES["arc"])
        noise = read.gone_mm - lost[read.rib] * SHAPES["arc"](read.share)
        truth = sigma * random.normal(size=2)
        by_thread = -noise.reshape(12, 8)  # of what was read
        seen = back @ truth + (by_thread[:6] - by_thread[6:]) @ middle
        spread = 2.0 * wide**2 * middle @ middle
        covariance = np.linalg.inv(back.T @ back / spread + np.diag(sigma**-2.0))
        gain = covariance @ back.T / spread
        found = gain @ seen
        of_thread = np.zeros((12, 2))  # load less damp of each thread for a unit of softness and of weather
        of_thread[6:, 0] = load
        of_thread[(slice(0, 6) if damp == "bare" else slice(6, 12)), 1] = -np.abs(air)
        doubt = bow[None, :, None] * of_thread[:, None, :]
        shared = np.concatenate([np.einsum("kr,p->krp", gain, middle), np.einsum("kr,p->krp", -gain, middle)], axis=1)
        read = replace(
            read,
            gone_mm=read.gone_mm - (doubt @ (found - truth)).ravel(),
            doubt_mm=doubt.reshape(96, 2),
            covariance=covariance,
            shared=shared.reshape(2, 96) * wide**2,
        )
        told, band = middles(SetField.of(RIBS, read))
        inside += (np.abs(told - lost) <= band).tolist()
    assert 0.92 <= np.mean(inside) <= 0.99


def test_one_of_two_states_that_was_misread_is_told_from_the_other() -> None:
    _, read, _ = survey(np.random.default_rng(9), SHAPES["half sine"])
    gone = read.gone_mm.copy()
    gone[2 * 8 + 3] -= 2.0  # rib 2, bare, its fourth reading: read too high
    field = SetField.of(RIBS, replace(read, gone_mm=gone))
    assert np.flatnonzero(~field.kept).tolist() == [2 * 8 + 3]
    assert field.off_mm[2 * 8 + 3] == pytest.approx(2.0, abs=0.5)


def test_a_reading_that_counts_is_said_to_lie_as_it_lies() -> None:
    _, read, _ = survey(np.random.default_rng(9), SHAPES["half sine"], real=0.02)
    gone = read.gone_mm.copy()
    gone[[19, 43]] += [-0.3, 0.3]  # read too high, and too low, within what may be
    field = SetField.of(RIBS, replace(read, gone_mm=gone))
    assert field.kept.all()
    assert field.off_mm[[19, 43]] == pytest.approx([0.3, -0.3], abs=0.12)


def test_where_nothing_tells_which_of_two_readings_is_wrong_neither_counts() -> None:
    """Three readings a thread; the middles of one rib differ by 3 mm, evenly about what the others would have it be."""
    rib, share = np.tile(np.repeat(np.arange(6), 3), 2), np.tile([0.0, 0.5, 1.0], 12)
    gone = np.where(share == 0.5, 0.3 * MADE[rib], 0.0)
    bare, strung = 2 * 3 + 1, 18 + 2 * 3 + 1
    gone[[bare, strung]] += [1.5, -1.5]
    field = SetField.of(RIBS, lacking(rib, np.repeat(np.arange(12), 3), share, gone))
    assert np.flatnonzero(~field.kept).tolist() == [bare, strung]


def test_what_one_more_reading_brings_is_what_it_brings() -> None:
    """Another path: the field with that reading in it, on a thread whose ends touch the panel without doubt."""
    _, read, _ = survey(np.random.default_rng(4), SHAPES["arc"], read=(0, 2, 3, 5))
    field = SetField.of(RIBS, read)
    gain = field.narrowed([1, 4], [0.0, 0.2], np.eye(2), ([1, 2], [0.0, 0.4]), 0.1)
    _, before, _ = field.told([1, 4], [0.0, 0.2], np.eye(2))
    for k, (rib, at) in enumerate(((1, 0.0), (2, 0.4))):
        places = (
            np.concatenate([[1, 4], read.rib[field.kept], [rib]]),
            np.concatenate([[0.0, 0.2], read.at[field.kept], [at]]),
        )
        prior = field._between(*places, *places)
        whole = field._whole[np.ix_(field.kept, field.kept)]
        seen = prior[2:, 2:].copy()
        seen[:-1, :-1] = whole
        seen[-1, -1] += 0.01
        after = prior[:2, :2] - prior[:2, 2:] @ np.linalg.solve(seen, prior[2:, :2])
        np.testing.assert_allclose(before**2 - np.diag(after), gain[:, k], rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize(
    ("factor", "said"),
    [
        (1.0, ""),
        (-1.0, "with their sign turned"),
        (1.0 / 25.4, "in inches"),
        (1000.0 / 25.4, "in thousandths of an inch"),
    ],
)
def test_a_table_with_its_sign_turned_or_in_another_unit_is_known(factor: float, said: str) -> None:
    _, read, _ = survey(np.random.default_rng(12), SHAPES["wide dish"])
    made = read.gone_mm + read.read_mm
    kept = made - 0.3 * read.gone_mm  # a healthier board
    assert SetField.of(RIBS, replace(read, read_mm=factor * kept, gone_mm=made - factor * kept)).written == said


def test_a_board_that_lost_all_its_crown_is_not_taken_for_one_in_inches() -> None:
    random = np.random.default_rng(13)
    _, read, _ = survey(random, SHAPES["arc"])
    made = read.gone_mm + read.read_mm
    flat = 0.02 * made + random.normal(0.0, 0.25 / SIGMAS, len(made))
    assert SetField.of(RIBS, replace(read, read_mm=flat, gone_mm=made - flat)).written == ""
