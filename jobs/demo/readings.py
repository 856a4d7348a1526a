"""Readings as an assessment would give them: plausible curves with planted trouble, from one seed."""

import random
from collections.abc import Mapping

from workshop.keyboard.calc.notes import Compass

Series = Mapping[int, float | None]


def touch(
    compass: Compass, rng: random.Random, *, heavy_below: int, worst: Mapping[int, float]
) -> tuple[Series, Series]:
    """Return down and up weights, grams: heavy by friction below one key, ordinary above, with named outliers."""
    down: dict[int, float | None] = {}
    up: dict[int, float | None] = {}
    for key in compass:
        along = (key - compass.first) / (len(compass) - 1)
        balance = 38.5 - 3.0 * along + rng.gauss(0, 0.8)
        friction = 11.0 - 1.5 * along + rng.gauss(0, 0.9)
        if key < heavy_below:
            friction += 9.5 * (1 - 0.5 * (key - compass.first) / max(1, heavy_below - compass.first))
        if key in worst:
            friction = worst[key] - balance
        down[key] = round(balance + friction)
        up[key] = max(0, round(balance - friction))
    return down, up


def cured_touch(compass: Compass, rng: random.Random, *, still_heavy: Mapping[int, float]) -> tuple[Series, Series]:
    """Return down and up weights, grams, after the friction was cured and the keys were weighed off."""
    down: dict[int, float | None] = {}
    up: dict[int, float | None] = {}
    for key in compass:
        along = (key - compass.first) / (len(compass) - 1)
        balance = 38.0 - 2.0 * along + rng.gauss(0, 0.4)
        friction = min(13.5, 12.5 - 2.5 * along + rng.gauss(0, 0.5))
        down[key] = round(still_heavy.get(key, balance + friction))
        up[key] = round(balance - friction)
    return down, up


def grooves(compass: Compass, rng: random.Random, *, middle_mm: float) -> Series:
    """Return hammer groove depths, mm: deepest where a piano is played most."""
    values: dict[int, float | None] = {}
    for key in compass:
        away = abs(key - 44) / 40
        values[key] = round(max(0.1, middle_mm * (1 - 0.6 * away) + rng.gauss(0, 0.08)), 1)
    return values


def blows(compass: Compass, rng: random.Random, *, mean_mm: float) -> Series:
    """Return hammer blows, mm, in half-millimetre steps."""
    return {key: round(2 * (mean_mm + rng.gauss(0, 0.6))) / 2 for key in compass}


def dips(compass: Compass, rng: random.Random, *, mean_mm: float, drift_mm: float) -> Series:
    """Return key dips, mm to 0.05, drifting along the compass."""
    size = len(compass) - 1
    return {
        key: round(20 * (mean_mm + drift_mm * (key - compass.first) / size + rng.gauss(0, 0.12))) / 20
        for key in compass
    }


def torques(keys: list[int], rng: random.Random, *, mean_nm: float) -> Series:
    """Return wrest pin torques, N·m to a tenth, of some keys."""
    return {key: round(max(1.5, mean_nm + rng.gauss(0, 0.9)), 1) for key in keys}


def pitches(keys: list[int], rng: random.Random, *, mean_cents: float) -> Series:
    """Return pitch against A4 = 440 Hz, cents, of some keys."""
    return {key: round(mean_cents + rng.gauss(0, 4)) for key in keys}


def sample(compass: Compass, every: int = 6) -> list[int]:
    """Return sample keys: both ends, both sides of the break, and every so many between."""
    keys = {compass.first, compass.last, *range(compass.first, compass.last + 1, every)}
    if compass.last_wound is not None:
        keys |= {compass.last_wound, compass.last_wound + 1}
    return sorted(key for key in keys if key in compass)
