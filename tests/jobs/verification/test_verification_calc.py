"""Pairs of readings against a target, and the sentences about them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.verification.calc import MeasureProof, figure, meets, pair_up, proof_sentence, totals

readings = st.dictionaries(st.integers(1, 97), st.floats(-100, 100).map(lambda value: round(value, 3)))
limits = st.one_of(st.none(), st.floats(-50, 50).map(lambda value: round(value, 3)))


def proof(before, after, low=46.0, high=54.0, *, because=None, code="down-weight", name="Down weight", unit="g"):
    pairs = pair_up(before, after, because or {}, low=low, high=high)
    return MeasureProof(code, name, unit, low, high, pairs)


@pytest.mark.parametrize(
    ("value", "low", "high", "holds"),
    [
        (46, 46, 54, True),  # both ends belong to it
        (54, 46, 54, True),
        (45.999, 46, 54, False),
        (54.001, 46, 54, False),
        (0, None, 0.5, True),
        (0.501, None, 0.5, False),
        (20, 20, None, True),
        (19.9, 20, None, False),
        (1e9, None, None, True),
    ],
)
def test_a_reading_meets_a_target_with_its_ends(value, low, high, holds):
    assert meets(value, low, high) is holds


def test_pairs_hold_every_note_that_was_read_or_spoken_of():
    pairs = pair_up({1: 60, 2: 50}, {1: 52, 3: 70}, {2: "string broken"}, low=46, high=54)
    assert [(one.key, one.before, one.after, one.met, one.because) for one in pairs] == [
        (1, 60, 52, True, ""),
        (2, 50, None, None, "string broken"),
        (3, None, 70, False, ""),
    ]


@given(before=readings, after=readings, low=limits, high=limits)
def test_what_is_met_what_fails_and_what_is_open_are_all_the_notes(before, after, low, high):
    one = proof(before, after, low, high)
    assert [pair.key for pair in one.pairs] == sorted({*before, *after})
    assert one.met + len(one.failing) == len(one.read) == len(after)
    assert set(one.open_keys) == before.keys() - after.keys()
    assert one.read_before == len(before)
    assert one.met == sum(meets(value, low, high) for value in after.values())
    assert one.met_before == sum(meets(value, low, high) for value in before.values())
    assert totals([one, one]) == (2 * one.met, 2 * len(after))


def test_85_keys_of_which_83_weigh_what_was_agreed():
    before = {key: 50 if key <= 42 else 62 for key in range(1, 86)}
    after = {key: 50 if key <= 83 else 55.5 for key in range(1, 86)}
    words = "83 of 85 keys now weigh between 46 and 54 g; before it was 42."
    assert proof(before, after).sentence == words
    assert proof_sentence([proof(before, after)]) == words


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (proof({}, {}), "Not read again yet."),
        (proof({}, {1: 50}), "1 of 1 keys now weighs between 46 and 54 g."),
        (proof({1: 60, 2: 60}, {1: 60}), "None of 1 keys now weigh between 46 and 54 g; before it was none of 2."),
        (
            proof({1: -62}, {1: 0}, -5, 5, code="pitch-off", name="Pitch", unit="cent"),
            "1 of 1 notes now lies between −5 and 5 cents; before it was none.",
        ),
        (
            proof({1: 9.5}, {1: 10.25}, None, 10.25, code="other", name="Other", unit="mm"),
            "1 of 1 notes now reads at most 10.25 mm; before it was 1.",
        ),
        (proof({}, {1: 3, 2: 4}, 3, None, code="other", unit=""), "2 of 2 notes now read at least 3."),
        (proof({}, {1: 3}, 3, 3, code="other", unit="s"), "1 of 1 notes now reads at 3 s."),
    ],
)
def test_the_sentence_of_a_measure(one, words):
    assert one.sentence == words


def test_the_sentence_of_more_than_one_measure():
    down, groove = proof({1: 60, 2: 50}, {1: 52, 2: 60}), proof({1: 1}, {1: 50}, code="groove")
    assert proof_sentence([down, groove]) == (
        "2 of 3 final readings meet what was agreed; one does not. Before the work it was 1 of 3."
    )
    assert proof_sentence([groove, groove]) == (
        "2 of 2 final readings meet what was agreed; all of them. Before the work it was none of 2."
    )
    assert proof_sentence([proof({1: 60}, {}), proof({}, {})]) == "Nothing has been read again yet."
    assert proof_sentence([]) == "Nothing has been read again yet."


@pytest.mark.parametrize(
    ("value", "words"), [(46.0, "46"), (-5.0, "−5"), (0.25, "0.25"), (0.125, "0.125"), (10.0, "10"), (0.0, "0")]
)
def test_figures_keep_what_was_read_and_no_noughts(value, words):
    assert figure(value) == words
