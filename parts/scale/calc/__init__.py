"""Tension, share of breaking load, inharmonicity, wrapping and total load: SI units in and out."""
