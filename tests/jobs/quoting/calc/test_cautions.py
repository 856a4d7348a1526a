import re

import pytest

from jobs.quoting.calc.cautions import client_cautions


@pytest.mark.parametrize(
    ("trade", "word"),
    [
        ("Lead dust: wet methods, mask, wash", "lead"),
        ("Keep every piece; dealing in ivory is restricted by law", "ivory"),
        ("Tipping a grand: trained crew, skid board", "move, tip or lift"),
        ("Eye protection; no one leans over the strings", "strings pull"),
        ("Flammable spirit; oily rags can self-heat", "vapours"),
        ("Old coverings may be ivory or cellulose nitrate", "flammable"),
        ("Vapour and skin bonding; not reversible: client must agree", "cannot be undone"),
    ],
)
def test_the_trades_caution_becomes_a_sentence_an_owner_understands(trade, word):
    assert any(word in sentence for sentence in client_cautions([trade]))


@pytest.mark.parametrize("trade", ["", "Work to the recorded heights", "The leader of the choir", "misleading result"])
def test_what_is_no_danger_to_the_owner_raises_nothing(trade):
    assert client_cautions([trade]) == ()


def test_a_caution_is_said_once_however_many_operations_raise_it():
    sentences = client_cautions(["Lead dust", "swarf is lead too", "Old frame paint may hold lead"])
    assert len(sentences) == 1


def test_the_law_is_left_to_the_law():
    for sentence in client_cautions(["ivory", "Listed timbers: keep origin papers", "Lead dust"]):
        assert re.search(r"the rules (where you live|that hold here)|law", sentence)
