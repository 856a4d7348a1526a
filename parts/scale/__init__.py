"""The string scale: wire sizes and the physics of strings."""
