"""The scopes the demo shop sells: chosen operations by name; what they imply comes by itself."""

from collections.abc import Mapping
from dataclasses import dataclass, field


def _codes(text: str) -> frozenset[str]:
    return frozenset(text.split())


HOUSE = frozenset(
    [
        "mv-collect",
        "in-book",
        "dm-action",
        "fn-update",
        "fn-final",
        "fn-accept",
        "mv-deliver",
        "tn-settle",
        "tn-fine",
        "vc-fit",
        "vc-final",
        "rg-after",
        "pd-reg",
    ]
)
ASSESSED = _codes("in-enq in-bench in-report")
TOUCH = _codes("ac-clean ky-frame ky-bush ky-weigh rg-key rg-rough rg-fine rg-verify")
ACTION = _codes("ac-clean ac-shank ac-hang ac-spring ac-check ac-letoff ky-frame ky-bush ky-weigh da-felt")


@dataclass(frozen=True)
class Package:
    """One scope: its title, what the owner notices, what stays open, and the operations chosen."""

    title: str
    notice: str
    stays_open: str
    codes: frozenset[str]
    counts: Mapping[str, int] = field(default_factory=dict)


PLAYABLE = Package(
    "Make it playable",
    "An even, lighter touch; the tone stays as it is.",
    "The hammers last perhaps five more years.",
    HOUSE | ASSESSED | TOUCH | {"ac-shape", "tn-raise"},
    {"tn-settle": 2, "tn-raise": 1, "fn-update": 2},
)
RENEW_ACTION = Package(
    "Renew the action and keys",
    "A touch like new, a rounder tone, quick repetition.",
    "The bass stays duller than the treble.",
    HOUSE | ASSESSED | ACTION,
    {"tn-settle": 2, "fn-update": 3},
)
RENEW_AND_BASS = Package(
    "Renew the action, and new bass strings",
    "As the second way, and a bass that matches the rest.",
    "Nothing we know of today.",
    HOUSE | ASSESSED | ACTION | {"st-bass"},
    {"tn-settle": 3, "fn-update": 3},
)
RESTRING = Package(
    "New strings on the old plank",
    "It holds its pitch, and the bass is clear again.",
    "The action stays as it is.",
    HOUSE | ASSESSED | {"pl-test", "pl-ream", "st-treble", "st-bass", "dm-clean", "da-felt"},
    {"tn-settle": 3, "fn-update": 3},
)
CASE_TOO = Package(
    "New polish as well",
    "As before, and the case shines as it did when new.",
    "Nothing we know of today.",
    HOUSE | ASSESSED | TOUCH | {"ac-shape", "cs-strip", "cs-veneer", "cs-grain", "cs-french", "cs-hardware"},
    {"tn-settle": 2, "fn-update": 3},
)
REVIVED = Package(
    "Playable, and the case revived",
    "An even touch and a case that is cared for.",
    "The hammers last perhaps five more years.",
    HOUSE | ASSESSED | TOUCH | {"ac-shape", "cs-revive", "cs-castor"},
    {"tn-settle": 2, "fn-update": 2},
)
TUNE_ONLY = Package(
    "Bring it up to pitch",
    "It plays at standard pitch again.",
    "Touch and tone stay as they are.",
    _codes("in-enq in-report tn-raise tn-settle tn-fine tn-check") | {"mv-collect", "mv-deliver", "in-book"},
    {"tn-settle": 1, "tn-raise": 2},
)
UPRIGHT_ACTION = Package(
    "Renew the upright action",
    "Every note speaks and repeats; a warmer tone.",
    "The strings stay.",
    HOUSE | ASSESSED | _codes("ac-clean ac-hang ac-ubutt ac-check ac-letoff ky-frame ky-bush da-felt"),
    {"tn-settle": 2, "fn-update": 3},
)
SOLD_BEFORE: tuple[tuple[Package, str, int], ...] = (  # package, kind, how often in the two years before
    (PLAYABLE, "grand", 11),
    (PLAYABLE, "upright", 14),
    (TUNE_ONLY, "upright", 9),
    (REVIVED, "upright", 9),
    (RENEW_ACTION, "grand", 7),
    (UPRIGHT_ACTION, "upright", 6),
    (RESTRING, "grand", 4),
    (RENEW_AND_BASS, "grand", 2),
    (CASE_TOO, "grand", 2),
)
