"""Cautions a client should read, in ordinary words, found from the trade's own words on the operations."""

import re
from collections.abc import Iterable

# Topic, the words that raise it (in an operation's cautions or the instrument's own), what the client reads.
# Wording: our own; every one defers to local rules and to trained or licensed people.
_TOPICS = (
    (
        r"\bivory\b",
        "Some parts are or may be ivory. Selling ivory or taking it abroad is governed by law, and the rules where "
        "you live come before anything we say.",
    ),
    (
        r"\blisted timbers?\b|\brosewood\b",
        "Some of the wood may be a protected kind. Selling it or taking it abroad may need papers; the rules where "
        "you live come first.",
    ),
    (
        r"\blead\b",
        "Old key weights, old paint and old dust may hold lead. Please do not take keys out, sand or scrape "
        "anything, and keep children away from loose dust. We handle it under the rules that hold here.",
    ),
    (
        r"\bnitrate\b",
        "Old white key coverings can be very flammable. Please keep flames and hot lamps away from the keyboard.",
    ),
    (
        r"\btipping\b|\blifting\b|\bjack or stand\b|\bsuspended\b|\bloose legs?\b|\bleg plate\b",
        "Please do not move, tip or lift the piano yourself: it weighs more than it seems and can crush. Trained "
        "movers will come with the right gear.",
    ),
    (
        r"\bleans over the strings\b|\bbreakage\b|\bbreaking load\b|\bpulling up\b|\bwire ends\b",
        "The strings pull with very great force and an old one can break. Please leave strings and pins to people "
        "trained for it; we agree with you beforehand how far an old string is raised.",
    ),
    (
        r"\bflammable spirit\b|\bstyrene\b|\bspray\b|\bvapour\b",
        "Polishes, lacquers and hardeners give off vapours while they are fresh. That work is done in our own "
        "rooms under the rules that hold here, and the piano comes home only when it is hard.",
    ),
    (
        r"\bmoth\b|\bmould\b",
        "Old felt and dust may hold moth treatment or mould. Please do not brush or blow out the inside.",
    ),
    (
        r"\bnot reversible\b",
        "One of the treatments cannot be undone later. We do it only with your clear agreement.",
    ),
)


def client_cautions(texts: Iterable[str]) -> tuple[str, ...]:
    """Return the sentences a client should read, given the cautions of the operations and of the instrument."""
    everything = " ; ".join(texts)
    return tuple(sentence for words, sentence in _TOPICS if re.search(words, everything, re.IGNORECASE))
