"""Places of a reading that are not notes: sections of the scale and panels of the case."""

SECTIONS = ("bass", "tenor", "treble", "top treble")

PANELS = {
    "grand": (
        "front lid",
        "main lid",
        "fall",
        "key slip",
        "left cheek",
        "right cheek",
        "rim, left",
        "rim, tail",
        "rim, right",
        "music desk",
        "left leg",
        "right leg",
        "tail leg",
        "lyre",
    ),
    "upright": (
        "lid",
        "top door",
        "fall",
        "bottom door",
        "left side",
        "right side",
        "key slip",
        "left cheek",
        "right cheek",
        "left leg or toe",
        "right leg or toe",
        "plinth",
        "back frame",
    ),
}


def spots_of(spot_kind: str, instrument_kind: str) -> tuple[str, ...]:
    """Return the named places of a kind of spot ("section" or "panel") on a grand or an upright; () for others."""
    if spot_kind == "section":
        return SECTIONS
    return PANELS[instrument_kind] if spot_kind == "panel" else ()


def spot_name(text: str, spot_kind: str, instrument_kind: str) -> str:
    """Return a place as the house writes it ("Fall " -> "fall"); words of one's own stay as they are."""
    plain = " ".join(text.split())
    known = {name.casefold(): name for name in spots_of(spot_kind, instrument_kind)}
    return known.get(plain.casefold(), plain)
