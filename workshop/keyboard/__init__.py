"""The keyboard of an instrument: key numbers, note names, key geometry and the note strip drawn from them."""
